"""Cuts against a slow computation by fractions; the near misses of teaching in small."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nervure.anatomy import Anatomy, build, cut
from nervure.errors import UnknownName
from nervure.project.records import Map

MapMaker = Callable[..., Map]


# --- the slow second implementation: pathway by pathway, exact fractions


def slow_takes(anatomy: Anatomy, pathway, structure: str, n: int) -> bool:  # type: ignore[no-untyped-def]
    entered, blank = 0, 10**6
    for place, name in enumerate(pathway.structures):
        row = [*pathway.links, pathway.supply][place]
        left = blank if row.level is None else row.level
        if name == structure:
            ganglion = place == 0 and n == 1
            if ganglion and anatomy.target(pathway.target).kind == "potential":
                return False
            return entered < n <= left
        entered = getattr(row, "enters", 0)
    return False


def slow_shares(anatomy: Anatomy, sites: list[tuple[str, int]]) -> dict[str, Fraction]:
    shares = {}
    for target in anatomy.map.targets:
        pathways = anatomy.pathways(target.id)
        if not pathways:
            continue
        marked = any(pathway.supply.main_fibres for pathway in pathways)
        of_rows = []
        for row in anatomy.supplies:
            mine = [pathway for pathway in pathways if pathway.supply is row]
            total = lost = Fraction(0)
            for origin in {pathway.origin for pathway in mine}:
                portion = Fraction(2 if marked and origin in row.main_fibres else 1)
                same = [pathway for pathway in mine if pathway.origin == origin]
                for pathway in same:
                    total += portion / len(same)
                    if any(slow_takes(anatomy, pathway, *site) for site in sites):
                        lost += portion / len(same)
            if mine:
                of_rows.append((total, lost))
        losses = [lost / total for total, lost in of_rows]
        whole = sum(total for total, _ in of_rows)
        shares[target.id] = {
            "sum": Fraction(sum(lost for _, lost in of_rows)) / whole,
            "every": max(losses),
            "any": min(losses),
        }[target.needs]
    return shares


@st.composite
def drawn_maps(draw: st.DrawFn, make: MapMaker) -> Anatomy:
    roots, cords, nerves = ["r1", "r2", "r3"], ["c1", "c2"], ["n1", "n2", "n3"]
    fibres = st.one_of(
        st.just(""),
        st.lists(st.sampled_from(roots), min_size=1, max_size=3).map(
            lambda some: " fibres=" + ",".join(some)
        ),
    )
    levels = st.sampled_from(["", " level=1", " level=2", " level=3"])
    links = []
    for starts, ends in ((roots, cords), (cords, nerves), (roots, nerves)):
        for start in starts:
            for end in draw(st.lists(st.sampled_from(ends), max_size=2)):
                enters = draw(st.sampled_from(["", " enters=1"]))
                links.append(f"{start} {end}{draw(levels)}{draw(fibres)}{enters}")
    supplies = []
    for number in range(draw(st.integers(1, 7))):
        main = draw(st.sampled_from(["", " main=r1", " main=r2,r3"]))
        through = draw(st.sampled_from(cords + nerves))
        supplies.append(f"t{number % 3} {through}{draw(levels)}{draw(fibres)}{main}")
    targets = " kind=potential\n".join(
        f"t{n} needs={draw(st.sampled_from(['sum', 'every', 'any']))}" for n in range(3)
    )
    return build(
        make(
            {"root": " ".join(roots), "cord": " ".join(cords), "nerve": " ".join(nerves)},
            "\n".join(links) or "r1 c1",
            "\n".join(supplies),
            targets=targets,
        )
    )


@settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_shares_agree_with_fractions_summed_pathway_by_pathway(
    data: st.DataObject, small_map: MapMaker
) -> None:
    anatomy = data.draw(drawn_maps(small_map))
    sites = data.draw(
        st.lists(
            st.tuples(st.sampled_from(["r1", "r2", "c1", "c2", "n1"]), st.integers(1, 4)),
            min_size=1,
            max_size=2,
        )
    )

    found = cut(anatomy, [f"{name}@{level}" for name, level in sites])

    expected = slow_shares(anatomy, sites)
    assert dict(found.shares) == pytest.approx({name: float(x) for name, x in expected.items()})
    assert found.affected == tuple(name for name, x in expected.items() if x > 0)
    assert {name for name, word in found.words.items() if word == "all"} == {
        name for name, x in expected.items() if x == 1
    }


# --- weights


@pytest.fixture
def plain(small_map: MapMaker) -> Anatomy:
    return build(
        small_map(
            {"root": "l2 l3 l4", "nerve": "obturator femoral"},
            """l2 femoral
               l3 femoral
               l4 femoral
               l2 obturator
               l3 obturator
               l4 obturator""",
            """vastus femoral main=l3,l4
               gracilis obturator fibres=l2,l3
               pectineus femoral fibres=l2,l3 share=80
               pectineus obturator fibres=l3 share=20
               quadratus femoral fibres=l2 share=60
               quadratus obturator fibres=l2
               quadratus obturator level=2 fibres=l3,l4 main=l3
               adductor femoral fibres=l4
               adductor obturator fibres=l2,l3,l4""",
        )
    )


@pytest.mark.parametrize(
    ("sites", "target", "lost", "word"),
    [
        # weights 1 2 2: l2 is 1 of 5, l3 2 of 5, both 3 of 5
        (["l2"], "vastus", 1 / 5, "some"),
        (["l3"], "vastus", 2 / 5, "some"),
        (["l2", "l3"], "vastus", 3 / 5, "most"),
        (["l2", "l3", "l4"], "vastus", 1.0, "all"),
        # no main fibres are marked: 1 of 2 is most
        (["l2"], "gracilis", 1 / 2, "most"),
        (["femoral"], "gracilis", 0.0, "spared"),
        # a row stands for its share, whatever the number of its fibres
        (["femoral"], "pectineus", 0.8, "most"),
        (["obturator"], "pectineus", 0.2, "some"),
        # l3: half of the 80 and all of the 20
        (["l3"], "pectineus", 0.6, "most"),
        # rows without a share divide the other 40 by their weights, 1 and 3
        (["femoral"], "quadratus", 0.6, "most"),
        (["l2"], "quadratus", 0.7, "most"),
        (["l3"], "quadratus", 0.2, "some"),
        # without shares every portion counts once: 1 of 4, 3 of 4
        (["femoral"], "adductor", 1 / 4, "some"),
        (["obturator"], "adductor", 3 / 4, "most"),
    ],
)
def test_a_cut_takes_its_share(
    plain: Anatomy, sites: list[str], target: str, lost: float, word: str
) -> None:
    found = cut(plain, sites)

    assert found.shares[target] == pytest.approx(lost)
    assert found.words[target] == word


def test_a_portion_is_shared_evenly_among_its_pathways(small_map: MapMaker) -> None:
    # c7 reaches the median nerve by two cords; half of its portion goes either way.
    anatomy = build(
        small_map(
            {"root": "c7 c8", "cord": "lateral medial", "nerve": "median"},
            """c7 lateral
               c7 medial
               c8 medial
               lateral median
               medial median""",
            "flexor median",
        )
    )

    assert cut(anatomy, ["lateral"]).shares["flexor"] == pytest.approx(1 / 4)
    assert cut(anatomy, ["medial"]).shares["flexor"] == pytest.approx(3 / 4)


def test_several_sites_take_the_union(plain: Anatomy) -> None:
    both = cut(plain, ["femoral", "l3"])

    assert set(both.lost) == set(cut(plain, ["femoral"]).lost) | set(cut(plain, ["l3"]).lost)
    assert both.shares["gracilis"] == pytest.approx(1 / 2)


def test_fibres_limit_a_cut_to_some_origins(plain: Anatomy) -> None:
    assert cut(plain, ["femoral"], fibres=["l2"]).shares["vastus"] == pytest.approx(1 / 5)


def test_a_cut_link_spares_what_goes_another_way(plain: Anatomy) -> None:
    found = cut(plain, ["l3>obturator"])

    assert found.shares["gracilis"] == pytest.approx(1 / 2)
    assert found.shares["vastus"] == 0


# --- near misses in small


def test_cut_above_level_3_spares_what_left_at_1_and_2(small_map: MapMaker) -> None:
    anatomy = build(
        small_map(
            {"root": "c7", "nerve": "radial"},
            "c7 radial",
            """triceps radial level=1
               brachioradialis radial level=2
               wrist-extensor radial level=3
               finger-extensor radial""",
        )
    )

    assert cut(anatomy, ["radial@3"]).affected == ("wrist-extensor", "finger-extensor")
    assert cut(anatomy, ["radial"]).spared == ()


def test_fibres_that_join_distal_to_a_cut_are_spared(small_map: MapMaker) -> None:
    # A communicating branch in the forearm (Martin-Gruber): fibres for the hand leave the
    # median nerve and join the ulnar nerve beyond level 1, so a cut at the elbow spares them.
    anatomy = build(
        small_map(
            {"root": "c8", "nerve": "median ulnar"},
            """c8 ulnar
               c8 median
               median ulnar level=2 enters=1""",
            """forearm-flexor ulnar level=1
               hand-muscle ulnar level=2""",
        )
    )

    elbow, wrist = cut(anatomy, ["ulnar"]), cut(anatomy, ["ulnar@2"])

    assert elbow.words == {"forearm-flexor": "all", "hand-muscle": "most"}
    assert elbow.shares["hand-muscle"] == pytest.approx(1 / 2)
    assert wrist.words == {"forearm-flexor": "spared", "hand-muscle": "all"}
    assert cut(anatomy, ["median"]).shares["hand-muscle"] == pytest.approx(1 / 2)


@pytest.fixture
def sciatic(small_map: MapMaker) -> Anatomy:
    return build(
        small_map(
            {"root": "l5 s1", "division": "anterior posterior", "nerve": "sciatic"},
            """l5 anterior
               l5 posterior
               s1 anterior
               s1 posterior
               anterior sciatic
               posterior sciatic""",
            """calf sciatic via=anterior
               toe-extensor sciatic via=posterior""",
            lesions="""fibular-part sciatic via=posterior
                       fibular-l5 sciatic via=posterior fibres=l5""",
        )
    )


def test_a_cut_limited_by_via_takes_one_division_of_the_nerve(sciatic: Anatomy) -> None:
    assert cut(sciatic, ["sciatic"]).affected == ("calf", "toe-extensor")
    assert cut(sciatic, ["sciatic"], via=["posterior"]).affected == ("toe-extensor",)


def test_via_counts_only_what_was_passed_before_the_site(small_map: MapMaker) -> None:
    anatomy = build(
        small_map(
            {"root": "l5", "nerve": "sciatic", "branch": "tibial"},
            "l5 sciatic\nsciatic tibial",
            "calf tibial",
        )
    )

    assert cut(anatomy, ["sciatic"], via=["tibial"]).affected == ()
    assert cut(anatomy, ["tibial"], via=["sciatic"]).affected == ("calf",)


def test_a_cut_link_spares_the_way_through_a_third_structure(small_map: MapMaker) -> None:
    anatomy = build(
        small_map(
            {"root": "l4", "trunk": "cord", "nerve": "femoral"},
            "l4 cord\nl4 femoral\ncord femoral",
            "vastus femoral",
        )
    )

    assert cut(anatomy, ["l4>femoral"]).shares["vastus"] == pytest.approx(1 / 2)


def test_a_named_lesion_brings_its_limits(sciatic: Anatomy) -> None:
    assert cut(sciatic, ["fibular-part"]).shares == {"calf": 0, "toe-extensor": 1}
    assert cut(sciatic, ["fibular-l5"]).shares == {"calf": 0, "toe-extensor": 0.5}


@pytest.fixture
def root(small_map: MapMaker) -> Anatomy:
    return build(
        small_map(
            {"root": "l5", "nerve": "gluteal fibular"},
            """l5 gluteal level=4
               l5 fibular level=4""",
            """paraspinal l5 level=2
               gluteus gluteal
               toe-extensor fibular
               fibular-potential fibular""",
            targets="fibular-potential kind=potential",
        )
    )


@pytest.mark.parametrize(
    ("site", "spared"),
    [
        # The dorsal ramus leaves at the spinal nerve; the sensory ganglion lies distal to
        # an intraspinal cut and keeps the potential.
        ("l5", ("fibular-potential",)),
        ("l5@2", ()),
        ("l5@3", ("paraspinal",)),
        ("l5@4", ("paraspinal",)),
        ("fibular", ("paraspinal", "gluteus")),
    ],
)
def test_root_and_plexus_differ_by_paraspinal_and_potential(
    root: Anatomy, site: str, spared: tuple[str, ...]
) -> None:
    found = cut(root, [site])

    assert set(found.spared) == set(spared)


def test_the_ganglion_keeps_only_the_fibres_of_its_own_origin(small_map: MapMaker) -> None:
    # Fibres of l4 that run through l5 have their cells elsewhere and are cut at l5.
    anatomy = build(
        small_map(
            {"root": "l4 l5", "nerve": "sural"},
            "l4 l5\nl5 sural",
            "potential sural",
            targets="potential kind=potential",
        )
    )

    assert cut(anatomy, ["l5"]).shares["potential"] == pytest.approx(1 / 2)
    assert cut(anatomy, ["l5"]).lost[0].origin == "l4"


def test_a_reflex_is_lost_with_the_worse_of_its_two_limbs(small_map: MapMaker) -> None:
    anatomy = build(
        small_map(
            {"root": "s1 s2", "nerve": "afferent efferent"},
            "s1 afferent\ns1 efferent\ns2 efferent",
            "ankle-jerk afferent\nankle-jerk efferent",
            targets="ankle-jerk needs=every kind=reflex",
        )
    )

    assert cut(anatomy, ["afferent"]).shares["ankle-jerk"] == 1
    assert cut(anatomy, ["s2"]).shares["ankle-jerk"] == pytest.approx(1 / 2)


def test_a_collateral_keeps_its_target_fed(small_map: MapMaker) -> None:
    anatomy = build(
        small_map(
            {"trunk": "upper lower", "artery": "middle left"},
            "upper middle\nlower left",
            "colon middle\ncolon left",
            targets="colon needs=any kind=organ",
        )
    )

    assert cut(anatomy, ["middle"]).words["colon"] == "spared"
    assert cut(anatomy, ["middle", "left"]).words["colon"] == "all"


def test_an_unknown_fibre_is_refused_with_those_that_exist(plain: Anatomy) -> None:
    with pytest.raises(UnknownName, match=r"'l9' is no origin\. Accepted: l2 l3 l4\."):
        cut(plain, ["femoral"], fibres=["l9"])


def test_a_cut_as_plain_data_has_the_keys_of_the_command(plain: Anatomy) -> None:
    told = cut(plain, ["obturator"]).to_dict()

    assert told["sites"] == ["obturator"]
    assert told["affected"] == pytest.approx(
        {"gracilis": 1, "pectineus": 0.2, "quadratus": 0.4, "adductor": 0.75}
    )
    assert told["spared"] == ["vastus"]
