"""What the map asserts beside what sources say, worked out by hand on a small map."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from nervure.anatomy import Evidence, SupplyEvidence, build, evidence, map_faults
from nervure.project.records import Map

MapMaker = Callable[..., Map]
TIERS = {"root": "l2 l3 l4 l5", "nerve": "femoral obturator sciatic", "branch": "deep"}
LINKS = (
    "\n".join(
        f"{root} {nerve}"
        for nerve in ("femoral", "obturator", "sciatic")
        for root in TIERS["root"].split()
    )
    + "\nsciatic deep"
)
SUPPLIES = """vastus femoral fibres=l2,l3,l4 main=l3,l4
              toe deep fibres=l5
              magnus obturator fibres=l2,l3
              magnus sciatic fibres=l4"""
SOURCES = "one\ntwo\nthree\nfour"


@pytest.fixture
def told(small_map: MapMaker) -> Callable[[str], Evidence]:
    def make(readings: str, targets: str = "") -> Evidence:
        map_ = small_map(
            TIERS, LINKS, SUPPLIES, readings=readings, targets=targets, sources=SOURCES
        )
        return evidence(build(map_))

    return make


def of(found: Evidence, target: str, through: str) -> SupplyEvidence:
    (one,) = [row for row in found.supplies if (row.target, row.through) == (target, through)]
    return one


def lists(found: SupplyEvidence) -> dict[str, tuple[str, ...]]:
    kinds = ("exactly", "more", "less", "other", "nothing")
    return {kind: getattr(found, kind) for kind in kinds if getattr(found, kind)}


@pytest.mark.parametrize(
    ("reading", "kind"),
    [
        ("through=femoral fibres=l2,l3,l4", "exactly"),
        ("through=femoral fibres=l2,l3,l4,l5", "more"),
        ("through=femoral fibres=l3,l4", "less"),
        ("through=femoral fibres=l4,l5", "other"),
        ("through=obturator fibres=l2,l3,l4", "other"),
        # a blank is not stated
        ("fibres=l2,l3,l4", "exactly"),
        ("through=femoral", "nothing"),
        ("through=femoral main=l3,l4", "exactly"),
        ("through=femoral main=l4", "less"),
        ("through=femoral fibres=l2,l3,l4 main=l2", "other"),
        ("through=femoral fibres=l2,l3,l4 main=l3,l4", "exactly"),
    ],
)
def test_a_reading_is_put_in_its_list(
    reading: str, kind: str, told: Callable[[str], Evidence]
) -> None:
    found = of(told(f"one vastus {reading}"), "vastus", "femoral")

    assert lists(found) == {kind: ("one",)}


def test_a_source_that_names_a_structure_on_the_way_is_compared(
    told: Callable[[str], Evidence],
) -> None:
    found = told("one toe through=sciatic fibres=l5\ntwo toe through=sciatic fibres=l4,l5")

    assert lists(of(found, "toe", "deep")) == {"exactly": ("one",), "more": ("two",)}


def test_a_source_that_does_not_say_which_is_set_beside_the_target_as_a_whole(
    told: Callable[[str], Evidence],
) -> None:
    found = told("one magnus fibres=l2,l3,l4\ntwo magnus through=obturator fibres=l2,l3")

    assert lists(of(found, "magnus", "")) == {"exactly": ("one",)}
    assert lists(of(found, "magnus", "obturator")) == {"exactly": ("two",)}
    assert lists(of(found, "magnus", "sciatic")) == {}


def test_kappa_of_a_pair_worked_by_hand(told: Callable[[str], Evidence]) -> None:
    # Both state vastus and toe; origins either names: l2 l3 l4 l5. Units (one, two):
    #   vastus l2 yes-no, l3 yes-yes, l4 yes-yes, l5 no-no; toe l2 l3 no-no, l4 no-yes, l5 yes-yes
    # yes-yes 3, yes-no 1, no-yes 1, no-no 3: observed 6/8; margins 4/8 each, so expected 1/2;
    # kappa (.75 - .5) / .5 = .5. Jaccard: vastus 2/3, toe 1/2, mean 7/12.
    found = told(
        """one vastus fibres=l2,l3,l4
           two vastus fibres=l3,l4
           one toe fibres=l5
           two toe fibres=l4,l5
           one magnus fibres=l2
           two magnus through=obturator
           three toe main=l5"""
    )

    (pair,) = found.pairs
    assert (pair.first, pair.second, pair.targets, pair.units) == ("one", "two", 2, 8)
    assert pair.agreement == pytest.approx(6 / 8)
    assert pair.kappa == pytest.approx(0.5)
    assert pair.jaccard == pytest.approx(7 / 12)


def test_kappa_is_none_where_nothing_could_differ(told: Callable[[str], Evidence]) -> None:
    (pair,) = told("one toe fibres=l5\ntwo toe fibres=l5").pairs

    assert (pair.agreement, pair.kappa) == (1.0, None)


def test_what_most_sources_share_is_offered_where_nothing_is_asserted(
    told: Callable[..., Evidence],
) -> None:
    found = told(
        """one gracilis through=obturator fibres=l2,l3
           two gracilis through=obturator fibres=l2,l3 main=l2
           three gracilis through=obturator fibres=l3,l4""",
        targets="gracilis",
    )

    (offer,) = found.offers
    assert (offer.through, offer.fibres, offer.main_fibres) == ("obturator", ("l2", "l3"), ("l2",))
    assert (offer.sources, offer.stated_by, offer.tied) == (("one", "two"), 3, False)
    assert "gracilis" not in {row.target for row in found.supplies}


def test_a_tie_among_readings_is_told(told: Callable[..., Evidence]) -> None:
    found = told("one gracilis fibres=l2\ntwo gracilis fibres=l3", targets="gracilis")

    assert found.offers[0].tied
    assert found.offers[0].fibres == ("l2",)


def test_disputed_fibres_are_those_that_some_name_and_some_leave_out(
    told: Callable[[str], Evidence],
) -> None:
    found = told(
        """one vastus fibres=l2,l3,l4
           two vastus fibres=l3,l4,l5
           three vastus through=femoral"""
    )

    assert found.disputed("vastus") == ("l2", "l5")
    l2, l5 = found.disputes["vastus"]
    assert (l2.is_asserted, l2.named_by, l2.left_out_by) == (True, ("one",), ("two",))
    assert (l5.is_asserted, l5.named_by, l5.left_out_by) == (False, ("two",), ("one",))
    assert found.disputed("toe") == ()


def test_a_strand_that_rests_on_disputed_fibres_alone_is_told(small_map: MapMaker) -> None:
    anatomy = build(
        small_map(TIERS, LINKS, SUPPLIES, readings="one vastus fibres=l2,l3", sources=SOURCES)
    )
    found = evidence(anatomy)

    assert found.deciding(anatomy, ["l4", "femoral"], "vastus") == ("l4",)
    assert found.deciding(anatomy, ["femoral"], "vastus") == ()  # l2 and l3 hold it as well
    assert found.deciding(anatomy, ["l4", "sciatic"], "vastus") == ()  # supplies nothing


def test_a_source_on_one_structure_leaves_nothing_out_of_another(
    told: Callable[[str], Evidence],
) -> None:
    found = told("one magnus through=obturator fibres=l2,l3")

    assert found.disputed("magnus") == ()


def test_a_supply_that_most_readings_contradict_is_warned_of(small_map: MapMaker) -> None:
    # Two of three sources leave out l2 (row 2); of two on the toe one agrees (row 3).
    faults = map_faults(
        small_map(
            TIERS,
            LINKS,
            SUPPLIES,
            readings="""one vastus through=femoral fibres=l3,l4
                        two vastus fibres=l3,l4
                        three vastus fibres=l2,l3,l4
                        one toe fibres=l5
                        two toe fibres=l4""",
        )
    )

    (fault,) = [fault for fault in faults if fault.code == "readings-contradict"]
    assert (fault.place.file, fault.place.row, fault.place.column) == (
        "map/supplies.csv",
        2,
        "fibres",
    )
    assert "2 of 3 do not say exactly this; in question: l2" in fault.message
