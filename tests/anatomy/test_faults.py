"""Each fault that the graph of a map decides: its code, its place, and what the sentence says."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from nervure.anatomy import map_faults
from nervure.errors import Fault
from nervure.project.records import Map

MapMaker = Callable[..., Map]

TIERS = {"root": "l4 l5", "trunk": "cord", "nerve": "femoral tibial"}
LINKS = """l4 cord level=4
           l5 cord level=4
           cord femoral level=1 fibres=l4
           cord tibial level=2 fibres=l4,l5"""
SUPPLIES = """vastus femoral fibres=l4
              soleus tibial fibres=l5"""


def told(faults: tuple[Fault, ...]) -> list[tuple[str, str, str, int | None, str | None]]:
    return [(f.level, f.code, f.place.file, f.place.row, f.place.column) for f in faults]


def test_a_sound_map_has_no_faults(small_map: MapMaker) -> None:
    assert map_faults(small_map(TIERS, LINKS, SUPPLIES)) == ()


CASES: dict[str, tuple[str, str, tuple[str, str, str, int, str], str]] = {
    "fibres that do not reach": (
        LINKS.replace("fibres=l4,l5", "fibres=l4,l5").replace("l5 cord level=4", "l5 tibial"),
        SUPPLIES,
        ("error", "fibres-do-not-reach", "map/links.csv", 5, "fibres"),
        "'l5' do not reach cord. Those that do: l4.",
    ),
    "a supply outside what reaches": (
        LINKS,
        SUPPLIES.replace("fibres=l4", "fibres=l4,l5"),
        ("error", "supply-outside-reach", "map/supplies.csv", 2, "fibres"),
        "'l5' do not reach femoral, so they cannot supply through it. Those that do: l4.",
    ),
    "main fibres that do not reach": (
        LINKS,
        SUPPLIES.replace("vastus femoral fibres=l4", "vastus femoral main=l5"),
        ("error", "supply-outside-reach", "map/supplies.csv", 2, "main_fibres"),
        "'l5' do not reach femoral",
    ),
    "a level before the one entered": (
        LINKS.replace(
            "l5 cord level=4", "l5 cord level=4 enters=1\nl5 cord level=3 enters=1"
        ).replace("femoral level=1 fibres=l4", "femoral level=1 fibres=l4,l5"),
        SUPPLIES,
        ("error", "fibres-cannot-leave", "map/links.csv", 5, "level"),
        "'l5' reach cord, but cannot leave it here ('1')",
    ),
    "a via that was not passed": (
        LINKS,
        SUPPLIES.replace("fibres=l5", "fibres=l5 via=femoral"),
        ("error", "fibres-cannot-leave", "map/supplies.csv", 3, "via"),
        "cannot leave it here ('femoral')",
    ),
    "blank fibres that cannot leave": (
        LINKS,
        SUPPLIES + "\nsoleus tibial via=femoral",
        ("error", "fibres-cannot-leave", "map/supplies.csv", 4, "via"),
        "fibres 'l4 l5' reach tibial",
    ),
    "a structure that no origin reaches": (
        "l4 cord\nl5 cord\ncord tibial",
        "soleus tibial",
        ("error", "structure-unreached", "map/structures.csv", 5, "structure"),
        "no origin reaches 'femoral'. A link with fibres of some of these must end in it: l4 l5.",
    ),
    "a target without supply": (
        LINKS,
        SUPPLIES,
        ("error", "target-unsupplied", "map/targets.csv", 2, "target"),
        "'plantaris' has no supply",
    ),
    "a cycle": (
        LINKS + "\nfemoral tibial\ntibial femoral",
        SUPPLIES,
        ("error", "cycle", "map/links.csv", 7, "to"),
        "tibial > femoral > tibial",
    ),
    "a link to itself": (
        LINKS + "\nfemoral femoral",
        SUPPLIES,
        ("error", "cycle", "map/links.csv", 6, "to"),
        "femoral > femoral",
    ),
    "a link to a more proximal tier": (
        LINKS + "\ntibial cord",
        SUPPLIES,
        ("error", "link-to-proximal", "map/links.csv", 6, "to"),
        "A link may end on these tiers: nerve.",
    ),
    "blank fibres that supply nothing": (
        LINKS.replace("femoral level=1 fibres=l4", "femoral level=1"),
        SUPPLIES,
        ("warning", "blank-fibres", "map/links.csv", 4, "fibres"),
        "'l5' reach femoral and supply nothing through it. Those that do supply something: l4.",
    ),
    "a structure that supplies nothing": (
        LINKS,
        SUPPLIES.replace("soleus tibial fibres=l5", "soleus cord level=3 fibres=l5"),
        ("warning", "structure-idle", "map/structures.csv", 6, "structure"),
        "'tibial' supplies nothing",
    ),
    "fibres that meet and part with no via": (
        LINKS + "\nfemoral tibial fibres=l4",
        SUPPLIES + "\nvastus tibial fibres=l4\nplantaris tibial fibres=l4",
        ("warning", "meet-and-part", "map/supplies.csv", 4, "via"),
        "'l4' enter tibial by two ways (cord femoral) and leave it by several (vastus plantaris)",
    ),
    "levels known for some rows only": (
        LINKS.replace("cord femoral level=1", "cord femoral"),
        SUPPLIES,
        ("warning", "level-partly-known", "map/links.csv", 4, "level"),
        "known for other rows of cord (2)",
    ),
    "no source": (
        LINKS.replace("fibres=l4,l5", "fibres=l4,l5 sources="),
        SUPPLIES,
        ("warning", "no-source", "map/links.csv", 5, "sources"),
        "no source stands here",
    ),
    "only from memory": (
        LINKS.replace("fibres=l4,l5", "fibres=l4,l5 sources=recalled"),
        SUPPLIES,
        ("warning", "from-memory", "map/links.csv", 5, "sources"),
        "('recalled') are from memory",
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_each_fault_is_told_at_its_cell(case: str, small_map: MapMaker) -> None:
    links, supplies, expected, sentence = CASES[case]
    map_ = small_map(
        TIERS,
        links,
        supplies,
        targets="plantaris" if "plantaris" in sentence and "target" in case else "",
        sources="book\nrecalled how=from-memory",
    )

    faults = map_faults(map_)

    assert expected in told(faults)
    assert any(sentence in fault.message for fault in faults)


def test_a_fault_of_map_and_variant_alike_is_told_once(small_map: MapMaker) -> None:
    supplies = SUPPLIES.replace("fibres=l4", "fibres=l4,l5")

    faults = map_faults(small_map(TIERS, LINKS, supplies, variants="high\nlow"))

    assert [fault.code for fault in faults] == ["supply-outside-reach"]


def test_what_only_a_variant_makes_wrong_names_the_variant(small_map: MapMaker) -> None:
    faults = map_faults(
        small_map(
            TIERS,
            LINKS.replace("l5 cord level=4", "l5 cord level=4 variant=-absent"),
            "vastus femoral fibres=l4\nsoleus tibial fibres=l5\nsoleus tibial fibres=l4",
            variants="absent",
        )
    )

    assert told(faults) == [
        ("error", "fibres-do-not-reach", "map/links.csv", 5, "fibres"),
        ("error", "supply-outside-reach", "map/supplies.csv", 3, "fibres"),
    ]
    assert all("with the variant 'absent'" in fault.message for fault in faults)


def test_what_belongs_to_a_variant_alone_is_no_fault_of_the_standard_map(
    small_map: MapMaker,
) -> None:
    tiers = {**TIERS, "branch": "extra"}
    faults = map_faults(
        small_map(
            tiers,
            LINKS + "\ntibial extra variant=more fibres=l5",
            SUPPLIES + "\nthird-muscle extra variant=more fibres=l5",
            variants="more",
        )
    )

    assert faults == ()


def test_opposite_links_in_different_variants_are_no_cycle(small_map: MapMaker) -> None:
    faults = map_faults(
        small_map(
            TIERS,
            LINKS + "\nfemoral tibial fibres=l4 variant=down\ntibial femoral fibres=l4 variant=up",
            SUPPLIES,
            variants="down\nup",
        )
    )

    assert "cycle" not in {fault.code for fault in faults}


def test_levels_that_keep_two_ways_apart_leave_no_doubt(small_map: MapMaker) -> None:
    # The late comers enter beyond level 1; only one row is open to both ways.
    faults = map_faults(
        small_map(
            TIERS,
            LINKS + "\nfemoral tibial fibres=l4 enters=1",
            "vastus tibial level=1 fibres=l4\nsoleus tibial level=2 fibres=l4,l5\n"
            "rectus femoral level=1 fibres=l4",
        )
    )

    assert "meet-and-part" not in {fault.code for fault in faults}


@pytest.mark.parametrize(("via", "is_doubtful"), [("", True), (" via=femoral", False)])
def test_via_on_the_rows_that_leave_settles_the_doubt(
    via: str, is_doubtful: bool, small_map: MapMaker
) -> None:
    faults = map_faults(
        small_map(
            TIERS,
            LINKS + "\nfemoral tibial fibres=l4",
            f"{SUPPLIES}\nrectus tibial fibres=l4{via}\nplantaris tibial fibres=l4{via}",
        )
    )

    assert ("meet-and-part" in {fault.code for fault in faults}) == is_doubtful


def test_too_many_pathways_are_counted_without_listing_them(small_map: MapMaker) -> None:
    tiers = {f"t{n}": " ".join(f"s{n}x{m}" for m in range(10)) for n in range(6)}
    links = "\n".join(
        f"s{n}x{a} s{n + 1}x{b}" for n in range(5) for a in range(10) for b in range(10)
    )

    # 10 origins x 10^4 choices of the four tiers between x 2 last structures.
    faults = map_faults(small_map(tiers, links, "muscle s5x0\nmuscle s5x1"))

    assert [f.value for f in faults if f.code == "too-many-pathways"] == ["200000"]


def test_more_ways_than_can_be_followed_are_a_fault_and_not_an_endless_search(
    small_map: MapMaker,
) -> None:
    # Every structure is named in via, so each of 6^6 ways is a state of its own.
    tiers = {"root": "l4"} | {f"t{n}": " ".join(f"s{n}x{m}" for m in range(6)) for n in range(6)}
    links = (
        "\n".join(f"l4 s0x{a}" for a in range(6))
        + "\n"
        + "\n".join(f"s{n}x{a} s{n + 1}x{b}" for n in range(5) for a in range(6) for b in range(6))
    )
    everything = ",".join(name for line in tiers.values() for name in line.split())

    faults = map_faults(small_map(tiers, links, f"muscle s5x0 via={everything}"))

    assert "too-many-ways" in {fault.code for fault in faults}
