"""Where the parts of a map stand in a drawing: tiers in columns, few veins that cross.

Comes in: the anatomy, perhaps only some of its structures and targets. Goes out: places in
unit coordinates (x 0 proximal to 1 distal, y 0 top to 1 bottom), which the leaf of the pages
and the small map of a card each stretch to their own shape. The origins keep the order of
the map. A link that skips tiers runs through a place kept free for it in each of them, so
that no vein runs through a structure that it has nothing to do with. Where tiers are left
out, what was continuous through them is drawn as one link. Does not check the map.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Protocol

from nervure.anatomy._crossings import few_crossings, total_crossings

if TYPE_CHECKING:
    from nervure.project.records import Link, Map, Supply

Point = tuple[float, float]

# Room that a place takes in its column; a vein passing by needs less than a structure.
STRUCTURE_ROOM = 1.0
PASSING_ROOM = 0.4
WIDEST_PITCH = 1 / 15  # of the height, between structures that want to stand together
FILLED = 0.62  # of a column at most by such room, so that the rest can follow its neighbours
STRAIGHTENINGS = 6
BULGE = 0.42  # of a column's pitch, for links within a tier


class _Pathway(Protocol):
    @property
    def target(self) -> str: ...
    @property
    def origin(self) -> str: ...
    @property
    def structures(self) -> tuple[str, ...]: ...


class _Drawable(Protocol):
    """What a drawing needs to know of the anatomy."""

    @property
    def map(self) -> Map: ...
    @property
    def origins(self) -> tuple[str, ...]: ...
    @property
    def links(self) -> Sequence[Link]: ...
    @property
    def supplies(self) -> Sequence[Supply]: ...
    @property
    def all_pathways(self) -> Sequence[_Pathway]: ...
    def carried(self, link: Link, /) -> frozenset[str]: ...
    def supplied(self, supply: Supply, /) -> frozenset[str]: ...


@dataclass(frozen=True, slots=True)
class Node:
    """A structure or target in its place; ``fibres`` in the order of the origins, top to bottom.

    ``column`` counts the tiers drawn from 0; targets stand in the last column.
    """

    id: str
    column: int
    x: float
    y: float
    fibres: tuple[str, ...]
    is_target: bool = False


@dataclass(frozen=True, slots=True)
class Vein:
    """A link or supply as drawn: one lane a fibre, through ``points`` from start to end.

    ``points`` begin at the start's place and end at the end's; those between lie in the
    columns that the vein passes (for a link within a tier, one beside the column).
    """

    start: str
    end: str
    fibres: tuple[str, ...]
    points: tuple[Point, ...]
    is_supply: bool = False
    within_tier: bool = False


@dataclass(frozen=True)
class Layout:
    """A map laid out in unit coordinates.

    Attributes
    ----------
    nodes
        Structures by id, column by column, top to bottom.
    targets
        Targets by id, top to bottom.
    veins
        Links and supplies, in the order of their start.
    columns
        Tier ids with the x of their column, proximal first.
    layers
        Ids from top to bottom of every column, with the places kept free for passing veins.
    segments
        The pieces of the veins from a layer to the next, once for each lane.
    """

    nodes: Mapping[str, Node]
    targets: Mapping[str, Node]
    veins: tuple[Vein, ...]
    columns: tuple[tuple[str, float], ...]
    layers: tuple[tuple[str, ...], ...]
    segments: tuple[tuple[str, str], ...]

    @cached_property
    def crossings(self) -> int:
        """How many pairs of lanes cross between columns; links within a tier not counted."""
        return total_crossings(self.layers, self.segments)

    def node(self, name: str) -> Node:
        """Give the place of a structure or target."""
        return self.nodes[name] if name in self.nodes else self.targets[name]

    def lane(self, name: str, fibre: str) -> float:
        """Give a fibre's lane at a structure or target, counted from its middle lane, down.

        A node with three fibres has the lanes -1, 0 and 1; with two, -0.5 and 0.5.
        """
        fibres = self.node(name).fibres
        return fibres.index(fibre) - (len(fibres) - 1) / 2


def lay_out(
    anatomy: _Drawable,
    structures: Iterable[str] | None = None,
    targets: Iterable[str] | None = None,
) -> Layout:
    """Lay a map out in columns of tiers with few crossings.

    Parameters
    ----------
    anatomy
        The anatomy as built.
    structures
        Ids of those to draw, all by default. Tiers without one have no column; what runs
        through structures left out is drawn as one link between those that stay.
    targets
        Ids of those to draw, all by default; an empty collection leaves out their column.
    """
    kept = _kept([row.id for row in anatomy.map.structures], structures)
    ends = _kept([row.id for row in anatomy.map.targets], targets)
    bonds = _bonds(anatomy, kept, ends)
    columns, column_of = _columns(anatomy, kept, ends)
    order = {name: place for place, name in enumerate(anatomy.origins)}
    layers, chains = _layered(column_of, bonds, len(columns) + bool(ends))
    segments = [
        piece for pair, chain in chains.items() for piece in pairwise(chain) for _ in bonds[pair]
    ]
    origins_drawn = bool(layers) and any(name in order for name in layers[0])
    layers = few_crossings(layers, segments, hold_first=origins_drawn)
    weights = _weights(chains, bonds)
    y = _heights(layers, segments, weights, column_of)
    xs = _across(len(layers))

    held: dict[str, set[str]] = {name: set() for name in column_of}
    for (start, end), fibres in bonds.items():
        held[start] |= fibres
        held[end] |= fibres
    places = {
        name: Node(
            name,
            column,
            xs[column],
            y[name],
            tuple(sorted(held[name] or {name} & order.keys(), key=order.__getitem__)),
            name in ends,
        )
        for column, layer in enumerate(layers)
        for name in layer
        if name in column_of
    }
    at = {name: (xs[index], y[name]) for index, layer in enumerate(layers) for name in layer}
    veins = tuple(
        _vein(pair, sorted(fibres, key=order.__getitem__), chains.get(pair), at, places, xs)
        for pair, fibres in bonds.items()
    )
    return Layout(
        nodes={name: node for name, node in places.items() if not node.is_target},
        targets={name: node for name, node in places.items() if node.is_target},
        veins=veins,
        columns=tuple((tier, xs[index]) for index, tier in enumerate(columns)),
        layers=tuple(tuple(layer) for layer in layers),
        segments=tuple(segments),
    )


def _kept(known: list[str], wanted: Iterable[str] | None) -> dict[str, None]:
    if wanted is None:
        return dict.fromkeys(known)
    chosen = set(wanted)
    return dict.fromkeys(name for name in known if name in chosen)


def _bonds(
    anatomy: _Drawable, kept: dict[str, None], ends: dict[str, None]
) -> dict[tuple[str, str], set[str]]:
    """Give what is drawn as one vein, with its fibres, in the order of the map's structures.

    Neighbours on a pathway once the structures left out are skipped, and the links and
    supplies between drawn parts, whether or not a pathway takes them.
    """
    found: dict[tuple[str, str], set[str]] = {}
    for pathway in anatomy.all_pathways:
        stops = [name for name in pathway.structures if name in kept]
        if pathway.target in ends:
            stops.append(pathway.target)
        for pair in pairwise(stops):
            found.setdefault(pair, set()).add(pathway.origin)
    for link in anatomy.links:
        if link.start in kept and link.end in kept and anatomy.carried(link):
            found.setdefault((link.start, link.end), set()).update(anatomy.carried(link))
    for supply in anatomy.supplies:
        if supply.through in kept and supply.target in ends and anatomy.supplied(supply):
            pair = (supply.through, supply.target)
            found.setdefault(pair, set()).update(anatomy.supplied(supply))
    rank = {name: place for place, name in enumerate([*kept, *ends])}
    return {
        pair: found[pair] for pair in sorted(found, key=lambda two: (rank[two[0]], rank[two[1]]))
    }


def _columns(
    anatomy: _Drawable, kept: dict[str, None], ends: dict[str, None]
) -> tuple[list[str], dict[str, int]]:
    """Give the tiers that have a column, and the column of each structure and target."""
    tier_of = {row.id: row.tier for row in anatomy.map.structures if row.id in kept}
    present = set(tier_of.values())
    tiers = [row.id for row in anatomy.map.tiers if row.id in present]
    rank = {tier: place for place, tier in enumerate(tiers)}
    column_of = {name: rank[tier] for name, tier in tier_of.items() if tier in rank}
    column_of |= {name: len(tiers) for name in ends}
    return tiers, column_of


def _layered(
    column_of: dict[str, int], bonds: dict[tuple[str, str], set[str]], count: int
) -> tuple[list[list[str]], dict[tuple[str, str], list[str]]]:
    """Give the layers with free places for passing veins, and each vein's way through them."""
    layers: list[list[str]] = [[] for _ in range(count)]
    for name, column in column_of.items():
        layers[column].append(name)
    chains: dict[tuple[str, str], list[str]] = {}
    for start, end in bonds:
        first, last = column_of[start], column_of[end]
        if last <= first:
            continue
        chain = [start]
        for column in range(first + 1, last):
            free = f"{start}>{end}|{column}"
            layers[column].append(free)
            chain.append(free)
        chains[start, end] = [*chain, end]
    return layers, chains


def _weights(
    chains: dict[tuple[str, str], list[str]], bonds: dict[tuple[str, str], set[str]]
) -> dict[tuple[str, str], float]:
    """Give how strongly each piece of a vein pulls straight: its fibres, passing ones more."""
    return {
        piece: len(bonds[pair]) * (3.0 if len(chain) > 2 else 1.0)
        for pair, chain in chains.items()
        for piece in pairwise(chain)
    }


def _across(count: int) -> list[float]:
    return [index / (count - 1) for index in range(count)] if count > 1 else [0.5] * count


def _heights(
    layers: list[list[str]],
    segments: list[tuple[str, str]],
    weights: dict[tuple[str, str], float],
    column_of: dict[str, int],
) -> dict[str, float]:
    """Give the y of every place: the last column and the first are even, the others follow.

    Each structure wants to stand at the middle of what it leads to, the way veins in a leaf
    gather; then the columns between are drawn straight, to and fro, keeping their order.
    """
    y: dict[str, float] = {}
    if not layers:
        return y
    for layer in (layers[0], layers[-1]):
        y |= {name: (place + 0.5) / len(layer) for place, name in enumerate(layer)}
    before: dict[str, list[tuple[str, float]]] = {}
    after: dict[str, list[tuple[str, float]]] = {}
    for start, end in dict.fromkeys(segments):
        after.setdefault(start, []).append((end, weights[start, end]))
        before.setdefault(end, []).append((start, weights[start, end]))
    inner = range(len(layers) - 2, 0, -1)
    for index in inner:
        _settle(layers[index], [after], y, column_of)
    for round_ in range(STRAIGHTENINGS):
        for index in reversed(inner) if round_ % 2 == 0 else inner:
            _settle(layers[index], [after, after, after, before], y, column_of)
    return y


def _settle(
    layer: list[str],
    sides: list[dict[str, list[tuple[str, float]]]],
    y: dict[str, float],
    column_of: dict[str, int],
) -> None:
    """Set a layer's heights close to its neighbours' mean, in order and with room between."""
    wanted, pulls = [], []
    for place, name in enumerate(layer):
        near = [(y[other], pull) for side in sides for other, pull in side.get(name, ())]
        pull = sum(weight for _, weight in near)
        even = (place + 0.5) / len(layer)
        wanted.append(
            sum(at * weight for at, weight in near) / pull if pull else y.get(name, even)
        )
        pulls.append(pull or 0.1)
    room = [STRUCTURE_ROOM if name in column_of else PASSING_ROOM for name in layer]
    pitch = min(WIDEST_PITCH, FILLED / sum(room))
    gaps = [pitch * (above + below) / 2 for above, below in pairwise(room)]
    settled = spaced(wanted, pulls, gaps, pitch * room[0] / 2, 1 - pitch * room[-1] / 2)
    y |= dict(zip(layer, settled, strict=True))


def spaced(
    wanted: Sequence[float],
    weights: Sequence[float],
    gaps: Sequence[float],
    low: float,
    high: float,
) -> list[float]:
    """Give the heights nearest to those wanted that keep their order and the gaps between.

    Least weighted squares by pooling neighbours that are too close, then held in bounds
    (Ayer et al. 1955, Ann. Math. Statist. 26:641-647, for the pooling). ``gaps`` has one
    number less than ``wanted``; their sum must fit between ``low`` and ``high``.

    >>> spaced([0.5, 0.5], [1, 1], [0.5], 0, 1)
    [0.25, 0.75]
    """
    offsets = [0.0]
    for gap in gaps:
        offsets.append(offsets[-1] + gap)
    blocks: list[tuple[float, float, int]] = []  # mean, weight, members
    for want, weight, offset in zip(wanted, weights, offsets, strict=True):
        mean, mass, members = want - offset, float(weight), 1
        while blocks and blocks[-1][0] > mean:
            other_mean, other_mass, other_members = blocks.pop()
            mean = (mean * mass + other_mean * other_mass) / (mass + other_mass)
            mass, members = mass + other_mass, members + other_members
        blocks.append((mean, mass, members))
    flat = [mean for mean, _, members in blocks for _ in range(members)]
    top = high - offsets[-1]
    return [min(max(mean, low), top) + offset for mean, offset in zip(flat, offsets, strict=True)]


def _vein(
    pair: tuple[str, str],
    fibres: list[str],
    chain: list[str] | None,
    at: dict[str, Point],
    places: dict[str, Node],
    xs: list[float],
) -> Vein:
    start, end = pair
    if chain is not None:
        points = tuple(at[name] for name in chain)
    else:
        (x1, y1), (x2, y2) = at[start], at[end]
        pitch = 1 / (len(xs) - 1) if len(xs) > 1 else 0.5
        side = -1 if places[start].column == len(xs) - 1 else 1
        points = (at[start], ((x1 + x2) / 2 + side * BULGE * pitch, (y1 + y2) / 2), at[end])
    return Vein(start, end, tuple(fibres), points, places[end].is_target, chain is None)
