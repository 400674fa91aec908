"""Pathways against networkx.all_simple_paths filtered by a slow, obvious reading of the rules."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise, product

import networkx as nx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nervure.anatomy import DISTAL_END, Anatomy, build
from nervure.errors import Place, UnknownName
from nervure.project.records import Link, Map, Structure, Supply, Target, Tier

MapMaker = Callable[..., Map]


# --- the slow second implementation: every simple path, every choice of rows, then the terms


def holds(row: Link | Supply, origin: str, entered: int, before: tuple[str, ...]) -> bool:
    fibre = row.fibres is None or origin in row.fibres
    level = row.level is None or row.level > entered
    via = not row.via or any(name in before for name in row.via)
    return fibre and level and via


def slow_pathways(map_: Map, variants: tuple[str, ...] = ()) -> set[tuple[object, ...]]:
    def taken(row: Link | Supply) -> bool:
        if row.variant.startswith("-"):
            return row.variant[1:] not in variants
        return row.variant in ("", *variants)

    graph = nx.MultiDiGraph()
    graph.add_nodes_from(structure.id for structure in map_.structures)
    for link in map_.links:
        if taken(link):
            graph.add_edge(link.start, link.end, row=link)
    found: set[tuple[object, ...]] = set()
    origins = [row.id for row in map_.structures if row.tier == map_.tiers[0].id]
    for supply in map_.supplies:
        if not taken(supply):
            continue
        for origin in origins:
            if origin == supply.through:
                paths = [[origin]]
            else:
                paths = list(nx.all_simple_paths(nx.DiGraph(graph), origin, supply.through))
            for path in paths:
                choices = [
                    [edge["row"] for edge in graph.get_edge_data(*pair).values()]
                    for pair in pairwise(path)
                ]
                for links in product(*choices):
                    entered = [0, *(link.enters for link in links)]
                    rows = [*links, supply]
                    if all(
                        holds(row, origin, entered[place], tuple(path[: place + 1]))
                        for place, row in enumerate(rows)
                    ):
                        found.add((supply.target, origin, tuple(path), links, supply))
    return found


HERE = Place("random")


@st.composite
def random_maps(draw: st.DrawFn) -> Map:
    sizes = draw(st.lists(st.integers(1, 3), min_size=2, max_size=4))
    names = [[f"s{tier}-{place}" for place in range(size)] for tier, size in enumerate(sizes)]
    everyone = [name for tier in names for name in tier]
    origins = names[0]
    order = {name: place for place, name in enumerate(everyone)}

    def row(place: int) -> dict[str, object]:
        return {
            "level": draw(st.sampled_from([None, None, 1, 2, 3])),
            "via": tuple(draw(st.sampled_from([(), (), tuple(draw(some))]))),
            "fibres": draw(
                st.one_of(st.none(), st.lists(st.sampled_from(origins), max_size=3).map(tuple))
            ),
            "main_fibres": tuple(draw(st.lists(st.sampled_from(origins), max_size=1))),
            "variant": draw(st.sampled_from(["", "", "", "high", "-high"])),
            "sources": (),
            "place": Place("random", place),
        }

    some = st.lists(st.sampled_from(everyone), min_size=1, max_size=2)
    pairs = [(a, b) for a in everyone for b in everyone if order[a] < order[b]]
    links = tuple(
        Link(start=a, end=b, enters=draw(st.sampled_from([0, 0, 1, 2])), **row(place))  # type: ignore[arg-type]
        for place, (a, b) in enumerate(
            draw(st.lists(st.sampled_from(pairs), max_size=12)) if pairs else []
        )
    )
    supplies = tuple(
        Supply(
            target=draw(st.sampled_from(["t0", "t1", "t2"])),
            through=draw(st.sampled_from(everyone)),
            share=None,
            **row(100 + place),  # type: ignore[arg-type]
        )
        for place in range(draw(st.integers(0, 5)))
    )
    return Map(
        "random",
        tuple(Tier(f"tier{n}", "", "", "", HERE) for n in range(len(names))),
        tuple(
            Structure(name, f"tier{n}", name, "", "", True, "", HERE)
            for n, tier in enumerate(names)
            for name in tier
        ),
        links,
        tuple(Target(f"t{n}", "", "", "muscle", "sum", "", "", (), HERE) for n in range(3)),
        supplies,
    )


def as_set(anatomy: Anatomy) -> set[tuple[object, ...]]:
    return {(p.target, p.origin, p.structures, p.links, p.supply) for p in anatomy.all_pathways}


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(random_maps())
def test_pathways_are_the_simple_paths_that_meet_the_terms(map_: Map) -> None:
    anatomy = build(map_)

    assert as_set(anatomy) == slow_pathways(map_)
    assert len(anatomy.all_pathways) == len(as_set(anatomy))


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(random_maps())
def test_masks_agree_with_the_pathways_they_stand_for(map_: Map) -> None:
    anatomy = build(map_)
    names = [structure.id for structure in map_.structures]

    for pair in product(names, names):
        expected = any(set(pair) <= set(p.structures) for p in anatomy.all_pathways)
        assert anatomy.is_true(pair) == expected


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(random_maps(), st.just("t0"))
def test_reach_is_every_origin_with_a_way_that_ends_there(map_: Map, target: str) -> None:
    # A row for each structure that takes all fibres at the distal end turns ways into pathways.
    probes = tuple(
        Supply(target, row.id, None, (), None, (), None, "", (), Place("probe", n))
        for n, row in enumerate(map_.structures)
    )
    probed = Map(map_.name, map_.tiers, map_.structures, map_.links, map_.targets, probes)
    expected: dict[str, set[object]] = {row.id: set() for row in map_.structures}
    for _, origin, path, _, _ in slow_pathways(probed):
        expected[path[-1]].add(origin)  # type: ignore[index]

    anatomy = build(map_)

    assert {row.id: set(anatomy.reach(row.id)) for row in map_.structures} == expected


# --- near misses in small


def test_no_fibre_takes_the_way_that_the_drawing_shows(small_map: MapMaker) -> None:
    # c8 and t1 reach the median nerve by the medial cord; pronator teres takes c6 c7 from the
    # lateral cord: a drawing joins medial cord, median nerve and pronator teres all the same.
    anatomy = build(
        small_map(
            {"root": "c6 c7 c8 t1", "cord": "lateral medial", "nerve": "median"},
            """c6 lateral
               c7 lateral
               c8 medial
               t1 medial
               lateral median
               medial median""",
            """pronator-teres median fibres=c6,c7
               thenar median fibres=c8,t1""",
        )
    )

    assert anatomy.is_true(["medial", "median"])
    assert not anatomy.supplies_target(["medial", "median"], "pronator-teres")
    assert anatomy.structure_sequences("pronator-teres") == (
        ("c6", "lateral", "median"),
        ("c7", "lateral", "median"),
    )


@pytest.fixture
def sciatic(small_map: MapMaker) -> Anatomy:
    return build(
        small_map(
            {
                "root": "l5 s1",
                "division": "anterior posterior",
                "nerve": "sciatic",
                "branch": "tibial fibular",
            },
            """l5 anterior
               l5 posterior
               s1 anterior
               s1 posterior
               anterior sciatic
               posterior sciatic
               sciatic tibial via=anterior
               sciatic fibular via=posterior""",
            """gastrocnemius tibial
               toe-extensor fibular fibres=l5
               short-head sciatic via=posterior""",
        )
    )


def test_via_tells_the_divisions_within_the_sciatic_nerve_apart(sciatic: Anatomy) -> None:
    assert sciatic.is_true(["posterior", "sciatic", "fibular"])
    assert not sciatic.is_true(["anterior", "sciatic", "fibular"])
    assert {path[1] for path in sciatic.structure_sequences("short-head")} == {"posterior"}


def test_fibres_that_join_late_do_not_leave_by_a_proximal_branch(small_map: MapMaker) -> None:
    # A communicating branch from median to ulnar joins beyond level 1 of the ulnar nerve.
    anatomy = build(
        small_map(
            {"root": "c8", "nerve": "median ulnar"},
            """c8 median
               median ulnar level=2 enters=1""",
            """forearm-flexor ulnar level=1
               hand-muscle ulnar level=2""",
        )
    )

    assert anatomy.pathways("forearm-flexor") == ()
    assert [path.structures for path in anatomy.pathways("hand-muscle")] == [
        ("c8", "median", "ulnar")
    ]


def test_a_pathway_knows_where_it_entered_and_left_each_structure(small_map: MapMaker) -> None:
    anatomy = build(
        small_map(
            {"root": "c8", "nerve": "median ulnar"},
            """c8 median level=4
               median ulnar level=2 enters=1""",
            "hand-muscle ulnar",
        )
    )
    (pathway,) = anatomy.pathways("hand-muscle")

    assert pathway.entered == (0, 0, 1)
    assert pathway.left == (4, 2, DISTAL_END)


def test_variant_rows_come_and_go_together(small_map: MapMaker) -> None:
    map_ = small_map(
        {"root": "s1", "nerve": "usual unusual"},
        """s1 usual variant=-high
           s1 unusual variant=high""",
        """muscle usual
           muscle unusual""",
        variants="high",
    )

    assert [p.structures[-1] for p in build(map_).all_pathways] == ["usual"]
    assert [p.structures[-1] for p in build(map_, ["high"]).all_pathways] == ["unusual"]
    assert build(map_, ["high", "unheard-of"]).variants == ("high",)


def test_main_pathways_are_those_of_the_rows_main_fibres(small_map: MapMaker) -> None:
    anatomy = build(
        small_map(
            {"root": "l2 l3 l4", "nerve": "femoral"},
            "l2 femoral\nl3 femoral\nl4 femoral",
            "vastus femoral main=l3,l4",
        )
    )

    assert anatomy.fibres_of("vastus") == ("l2", "l3", "l4")
    assert anatomy.main_fibres_of("vastus") == ("l3", "l4")
    assert not anatomy.supplies_target(["l2", "femoral"], "vastus", main=True)


def test_rows_that_cannot_be_proved_are_left_out(small_map: MapMaker) -> None:
    anatomy = build(
        small_map(
            {"root": "l4", "nerve": "a b c"},
            """l4 a
               a b
               b a
               c l4
               a nowhere
               a c fibres=l9""",
            """muscle a
               other c
               third nothing""",
        )
    )

    assert [(link.start, link.end) for link in anatomy.links] == [("l4", "a")]
    assert [supply.target for supply in anatomy.supplies] == ["muscle"]


def test_unknown_names_are_refused_with_those_that_exist(sciatic: Anatomy) -> None:
    with pytest.raises(UnknownName, match=r"'l9' is no structure\. Accepted: l5 s1 anterior"):
        sciatic.is_true(["l9"])
