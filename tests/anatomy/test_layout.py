"""Layout of maps: places, lanes and crossings, against exhaustive search on small graphs."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import combinations, pairwise, permutations, product

import pytest

from nervure.anatomy._crossings import few_crossings, total_crossings
from nervure.anatomy.layout import Layout, lay_out, spaced
from nervure.errors import Place
from nervure.project.records import Link, Map, Structure, Supply, Target, Tier

HERE = Place("test", 1)


@dataclass(frozen=True)
class Way:
    target: str
    origin: str
    structures: tuple[str, ...]


@dataclass
class SmallAnatomy:
    """Links and supplies with plain fibres; no variants, levels or via."""

    map: Map
    origins: tuple[str, ...]
    links: tuple[Link, ...] = field(init=False)
    supplies: tuple[Supply, ...] = field(init=False)
    all_pathways: tuple[Way, ...] = field(init=False)

    def __post_init__(self) -> None:
        self.links, self.supplies = self.map.links, self.map.supplies
        self.all_pathways = tuple(self._ways())

    def carried(self, link: Link) -> frozenset[str]:
        return frozenset(link.fibres or ())

    def supplied(self, supply: Supply) -> frozenset[str]:
        return frozenset(supply.fibres or ())

    def _ways(self) -> Iterator[Way]:
        for origin in self.origins:
            pending = [(origin,)]
            while pending:
                way = pending.pop()
                for supply in self.supplies:
                    if supply.through == way[-1] and origin in (supply.fibres or ()):
                        yield Way(supply.target, origin, way)
                for link in self.links:
                    if link.start == way[-1] and origin in (link.fibres or ()):
                        pending.append((*way, link.end))


def small_map(tiers: dict[str, str], links: str, supplies: str) -> SmallAnatomy:
    """Make an anatomy of ``{"tier": "a b c"}`` and rows ``start end fibres…``."""
    structures = tuple(
        Structure(name, tier, name, name, "", True, "", HERE)
        for tier, names in tiers.items()
        for name in names.split()
    )
    link_rows = [row.split() for row in links.strip().splitlines()]
    supply_rows = [row.split() for row in supplies.strip().splitlines()]
    targets = dict.fromkeys(row[0] for row in supply_rows)
    return SmallAnatomy(
        Map(
            "small",
            tuple(Tier(tier, tier, tier, "", HERE) for tier in tiers),
            structures,
            tuple(
                Link(start, end, None, 0, (), tuple(fibres), (), "", (), HERE)
                for start, end, *fibres in link_rows
            ),
            tuple(Target(name, name, "", "muscle", "sum", "", "", (), HERE) for name in targets),
            tuple(
                Supply(target, through, None, (), tuple(fibres), (), None, "", (), HERE)
                for target, through, *fibres in supply_rows
            ),
        ),
        tuple(next(iter(tiers.values())).split()),
    )


@pytest.fixture
def tangled() -> SmallAnatomy:
    """Give a map written in an order that tangles: a, b run to the nerves listed last, first."""
    return small_map(
        {"root": "a b c", "trunk": "u v", "nerve": "n m k"},
        """
        a v a
        b v b
        c u c
        v m a b
        v k b
        u n c
        m k a
        """,
        """
        low n c
        high m a b
        middle k b a
        root-muscle c c
        """,
    )


def segments_that_cross(layout: Layout) -> int:
    """Count crossings from the places alone: two pieces whose ends change sides."""
    rank = {name: place for layer in layout.layers for place, name in enumerate(layer)}
    layer_of = {name: index for index, layer in enumerate(layout.layers) for name in layer}
    return sum(
        layer_of[a] == layer_of[c] and (rank[a] - rank[c]) * (rank[b] - rank[d]) < 0
        for (a, b), (c, d) in combinations(layout.segments, 2)
    )


def random_graph(seed: int, sizes: tuple[int, ...] = (4, 4, 4)) -> tuple[list[list[str]], list]:
    draw = random.Random(seed)
    layers = [[f"{index}{place}" for place in range(size)] for index, size in enumerate(sizes)]
    pairs = [pair for left, right in pairwise(layers) for pair in product(left, right)]
    return layers, sorted(draw.sample(pairs, draw.randint(8, 16)))


def exhaustive_minimum(layers: list[list[str]], edges: list) -> int:
    orders = [
        [layers[0]],
        *([list(order) for order in permutations(layer)] for layer in layers[1:]),
    ]
    return min(crossed_pairs(choice, edges) for choice in product(*orders))


def crossed_pairs(layers: tuple[list[str], ...] | list[list[str]], edges: list) -> int:
    rank = {node: place for layer in layers for place, node in enumerate(layer)}
    gap = {node: index for index, layer in enumerate(layers) for node in layer}
    return sum(
        gap[a] == gap[c] and (rank[a] - rank[c]) * (rank[b] - rank[d]) < 0
        for (a, b), (c, d) in combinations(edges, 2)
    )


@pytest.mark.parametrize("seed", range(20))
def test_crossings_are_counted_as_by_comparing_every_pair(seed: int) -> None:
    layers, edges = random_graph(seed, (6, 7, 5, 6))

    assert total_crossings(layers, edges) == crossed_pairs(layers, edges)


@pytest.mark.parametrize("seed", range(25))
def test_heuristic_stays_within_one_crossing_of_the_exhaustive_minimum(seed: int) -> None:
    layers, edges = random_graph(seed)

    found = crossed_pairs(few_crossings(layers, edges), edges)

    assert found <= exhaustive_minimum(layers, edges) + 1


def test_heuristic_finds_the_minimum_of_nearly_all_small_graphs() -> None:
    graphs = [random_graph(seed) for seed in range(25)]

    found = [
        crossed_pairs(few_crossings(*graph), graph[1]) == exhaustive_minimum(*graph)
        for graph in graphs
    ]

    assert sum(found) >= 24


def test_a_tree_is_drawn_without_crossings() -> None:
    draw = random.Random(7)
    layers = [
        [f"{index}{place}" for place in range(size)] for index, size in enumerate((3, 9, 27))
    ]
    edges = [(f"0{place // 3}", f"1{place}") for place in range(9)]
    edges += [(f"1{place // 3}", f"2{place}") for place in range(27)]
    for layer in layers[1:]:
        draw.shuffle(layer)
    assert crossed_pairs(layers, edges) > 0

    assert total_crossings(few_crossings(layers, edges), edges) == 0


def test_layers_keep_their_nodes_and_the_first_its_order() -> None:
    layers, edges = random_graph(3)

    ordered = few_crossings(layers, edges)

    assert ordered[0] == layers[0]
    assert [sorted(layer) for layer in ordered] == [sorted(layer) for layer in layers]


def test_layout_counts_its_own_crossings_as_pairwise_comparison_does(
    tangled: SmallAnatomy,
) -> None:
    layout = lay_out(tangled)

    assert layout.crossings == segments_that_cross(layout)


def test_origins_keep_their_order_and_tiers_stand_in_columns(tangled: SmallAnatomy) -> None:
    layout = lay_out(tangled)

    assert [node.id for node in layout.nodes.values() if node.column == 0] == ["a", "b", "c"]
    assert [tier for tier, _ in layout.columns] == ["root", "trunk", "nerve"]
    assert {layout.nodes[name].x for name in "uv"} == {1 / 3}
    assert {node.x for node in layout.targets.values()} == {1.0}


def test_tangled_rows_are_untangled(tangled: SmallAnatomy) -> None:
    layout = lay_out(tangled)

    assert layout.nodes["v"].y < layout.nodes["u"].y
    assert list(layout.targets)[-2:] in (["low", "root-muscle"], ["root-muscle", "low"])


def test_a_supply_that_skips_tiers_keeps_clear_of_their_structures(
    tangled: SmallAnatomy,
) -> None:
    layout = lay_out(tangled)

    (vein,) = [vein for vein in layout.veins if vein.end == "root-muscle"]

    assert [x for x, _ in vein.points] == pytest.approx([0, 1 / 3, 2 / 3, 1])
    for x, y in vein.points[1:-1]:
        others = [node.y for node in layout.nodes.values() if node.x == x]
        assert min(abs(y - other) for other in others) >= 0.02


def test_a_link_within_a_tier_bulges_beside_the_column(tangled: SmallAnatomy) -> None:
    layout = lay_out(tangled)

    (vein,) = [vein for vein in layout.veins if vein.within_tier]

    assert (vein.start, vein.end) == ("m", "k")
    assert vein.points[1][0] > layout.nodes["m"].x


def test_lanes_stand_in_the_order_of_the_origins_whatever_the_rows_say(
    tangled: SmallAnatomy,
) -> None:
    layout = lay_out(tangled)

    assert layout.nodes["k"].fibres == ("a", "b")
    assert [layout.lane("k", fibre) for fibre in "ab"] == [-0.5, 0.5]


def test_without_a_tier_its_links_are_drawn_through(tangled: SmallAnatomy) -> None:
    layout = lay_out(tangled, structures="a b c n m k".split())

    drawn = {(vein.start, vein.end): vein.fibres for vein in layout.veins if not vein.is_supply}

    assert drawn == {
        ("a", "m"): ("a",),
        ("b", "m"): ("b",),
        ("b", "k"): ("b",),
        ("c", "n"): ("c",),
        ("m", "k"): ("a",),
    }


def test_without_targets_the_last_tier_stands_at_the_right_edge(tangled: SmallAnatomy) -> None:
    layout = lay_out(tangled, targets=())

    assert not layout.targets
    assert layout.nodes["n"].x == 1.0


def test_every_place_is_in_the_unit_square(tangled: SmallAnatomy) -> None:
    layout = lay_out(tangled)

    points = [point for vein in layout.veins for point in vein.points]

    assert all(0 <= x <= 1 and 0 <= y <= 1 for x, y in points)


def test_the_same_map_gives_the_same_layout(tangled: SmallAnatomy) -> None:
    assert lay_out(tangled) == lay_out(tangled)


def test_the_largest_map_keeps_room_between_its_structures() -> None:
    anatomy = largest_map()

    layout = lay_out(anatomy)

    for tier, x in layout.columns:
        heights = sorted(node.y for node in layout.nodes.values() if node.x == x)
        assert min(below - above for above, below in pairwise(heights)) > 0.004, tier


def largest_map() -> SmallAnatomy:
    """Make an invented map of 64 structures on five tiers and 128 targets."""
    draw = random.Random(11)
    tiers = {"root": 8, "trunk": 6, "cord": 8, "nerve": 14, "branch": 28}
    names = {tier: [f"{tier}{place}" for place in range(count)] for tier, count in tiers.items()}
    links: dict[tuple[str, str], set[str]] = {}
    held = {origin: {origin} for origin in names["root"]}
    for left, right in pairwise(names.values()):
        for place, end in enumerate(right):
            middle = place * len(left) // len(right)
            for start in {left[middle], left[min(len(left) - 1, middle + draw.randint(0, 2))]}:
                links[start, end] = held.get(start, set())
                held.setdefault(end, set()).update(held.get(start, ()))
    supplies = []
    for place in range(128):
        through = draw.choice(names["nerve"] + names["branch"] * 3)
        supplies.append(f"target{place} {through} {' '.join(sorted(held[through]))}")
    return small_map(
        {tier: " ".join(some) for tier, some in names.items()},
        "\n".join(f"{start} {end} {' '.join(sorted(f))}" for (start, end), f in links.items()),
        "\n".join(supplies),
    )


@pytest.mark.parametrize(
    ("wanted", "expected"),
    [
        ([0.2, 0.8], [0.2, 0.8]),
        ([0.5, 0.5], [0.45, 0.55]),
        ([0.0, 0.0], [0.0, 0.1]),
        ([1.0, 1.0], [0.9, 1.0]),
        # By hand: pooled mean of the pair (0.6, 0.4) is 0.5, so 0.45 and 0.55.
        ([0.6, 0.4], [0.45, 0.55]),
    ],
)
def test_spacing_moves_neighbours_apart_as_little_as_it_can(
    wanted: list[float], expected: list[float]
) -> None:
    assert spaced(wanted, [1, 1], [0.1], 0, 1) == pytest.approx(expected)


def test_spacing_is_the_least_squares_answer_of_an_independent_solver() -> None:
    from scipy.optimize import minimize

    draw = random.Random(5)
    wanted = [draw.random() for _ in range(5)]
    weights = [draw.uniform(0.5, 3) for _ in range(5)]
    gaps = [0.1, 0.05, 0.15, 0.1]

    found = spaced(wanted, weights, gaps, -9, 9)
    solved = minimize(
        lambda y: sum(w * (a - b) ** 2 for a, b, w in zip(y, wanted, weights, strict=True)),
        [0.0, 0.2, 0.4, 0.6, 0.8],
        constraints=[
            {"type": "ineq", "fun": lambda y, i=i, g=gap: y[i + 1] - y[i] - g}
            for i, gap in enumerate(gaps)
        ],
        tol=1e-12,
    )

    assert found == pytest.approx(list(solved.x), abs=1e-4)
