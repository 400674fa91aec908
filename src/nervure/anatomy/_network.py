"""From the rows of a map to the network of ways: which fibres can go where, and how.

Comes in: a `Map` and the variants taken in. Goes out: the rows in force, and for every
origin the states that its fibres can be in. A *state* is a structure, the level at which
it was entered, and which of the structures named in some ``via`` have been passed: all
that decides how a way can go on. Two ways in the same state share their future, so the
search stays small where the ways themselves are many.

Not checked here: that the rows make sense (`nervure.anatomy.map_faults`). Rows that
cannot be proved are left out: unknown ids, a link to a more proximal tier, links on a cycle.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from nervure.project.records import Ids, Link, Map, Structure, Supply, Target

# The level of a row that leaves a structure at its distal end: beyond every level.
DISTAL_END = 1_000_000_000
# More pathways than this are a fault of the map, and are not all listed.
MOST_PATHWAYS = 100_000
# So are more states of one origin than this; those beyond it are not followed.
MOST_STATES = 20_000


class State(NamedTuple):
    """What decides how a way can go on."""

    structure: str
    entered: int
    passed: int


@dataclass(slots=True)
class Search:
    """All states of one origin's fibres: the ways on, and the supplies met, of each."""

    origin: str
    start: State
    onward: dict[State, list[tuple[Link, State]]] = field(default_factory=dict)
    supplies: dict[State, list[Supply]] = field(default_factory=dict)
    # Pathways from this state on; a state without any is not walked again.
    counts: dict[State, int] = field(default_factory=dict)
    is_cut_short: bool = False

    def walk(self) -> Iterator[tuple[tuple[Link, ...], Supply]]:
        """Go through the pathways, each as its link rows and its supply row."""
        stack: list[tuple[State, tuple[Link, ...]]] = [(self.start, ())]
        while stack:
            state, links = stack.pop()
            for supply in self.supplies[state]:
                yield links, supply
            for link, following in reversed(self.onward[state]):
                if self.counts[following]:
                    stack.append((following, (*links, link)))


@dataclass(frozen=True, slots=True)
class Network:
    """The rows in force and the searches of all origins, in the order of structures.csv."""

    structures: dict[str, Structure]
    targets: dict[str, Target]
    tier_order: dict[str, int]
    origins: Ids
    links: tuple[Link, ...]
    supplies: tuple[Supply, ...]
    cyclic: tuple[Link, ...]
    searches: dict[str, Search]

    @property
    def pathway_count(self) -> int:
        """Number of pathways, counted without listing them."""
        return sum(search.counts[search.start] for search in self.searches.values())


def level_left(row: Link | Supply) -> int:
    """Give the level at which a row leaves its structure; blank is the distal end."""
    return DISTAL_END if row.level is None else row.level


def is_in_force(variant: str, variants: frozenset[str]) -> bool:
    """Tell whether a row with this ``variant`` cell belongs to the map with these variants.

    >>> [is_in_force(cell, frozenset({"high"})) for cell in ("", "high", "-high", "low", "-low")]
    [True, True, False, False, True]
    """
    if variant.startswith("-"):
        return variant[1:] not in variants
    return not variant or variant in variants


def make_network(map_: Map, variants: Iterable[str]) -> Network:
    """Make the network of a map with these variants taken in."""
    chosen = frozenset(variants)
    tier_order = {tier.id: place for place, tier in reversed(list(enumerate(map_.tiers)))}
    structures: dict[str, Structure] = {}
    for structure in map_.structures:
        if structure.tier in tier_order:
            structures.setdefault(structure.id, structure)
    targets: dict[str, Target] = {}
    for target in map_.targets:
        targets.setdefault(target.id, target)
    origins = tuple(
        structure.id for structure in structures.values() if tier_order[structure.tier] == 0
    )
    links = [
        link
        for link in map_.links
        if is_in_force(link.variant, chosen)
        and link.start in structures
        and link.end in structures
        and tier_order[structures[link.start].tier] <= tier_order[structures[link.end].tier]
        and _via_can_hold(link.via, structures)
    ]
    supplies = tuple(
        supply
        for supply in map_.supplies
        if is_in_force(supply.variant, chosen)
        and supply.through in structures
        and supply.target in targets
        and _via_can_hold(supply.via, structures)
    )
    order, cyclic = _order(tuple(structures), links)
    sound = tuple(link for link in links if link not in cyclic)
    searches = _search(origins, order, sound, supplies)
    return Network(
        structures, targets, tier_order, origins, sound, supplies, tuple(cyclic), searches
    )


def _via_can_hold(via: Ids, structures: dict[str, Structure]) -> bool:
    return not via or any(name in structures for name in via)


def _order(names: Ids, links: list[Link]) -> tuple[dict[str, int], list[Link]]:
    """Order structures along the links; give also the links that lie on a cycle."""
    after: dict[str, set[str]] = {name: set() for name in names}
    for link in links:
        after[link.start].add(link.end)
    components = _components(after)
    cyclic = [link for link in links if components[link.start] == components[link.end]]
    return components, cyclic


def _components(after: dict[str, set[str]]) -> dict[str, int]:
    """Give each structure the number of its strongly connected component; links run upward.

    Two depth-first passes (Kosaraju; Sharir 1981), without recursion.
    """
    finished: list[str] = []
    seen: set[str] = set()
    for root in after:
        if root in seen:
            continue
        seen.add(root)
        stack = [(root, iter(sorted(after[root])))]
        while stack:
            name, following = stack[-1]
            step = next((other for other in following if other not in seen), None)
            if step is None:
                finished.append(name)
                stack.pop()
            else:
                seen.add(step)
                stack.append((step, iter(sorted(after[step]))))
    before: dict[str, list[str]] = {name: [] for name in after}
    for name, following_names in after.items():
        for other in following_names:
            before[other].append(name)
    component: dict[str, int] = {}
    number = 0
    for root in reversed(finished):
        if root in component:
            continue
        members = [root]
        while members:
            name = members.pop()
            if name not in component:
                component[name] = number
                members.extend(before[name])
        number += 1
    return component


def _search(
    origins: Ids,
    order: dict[str, int],
    links: tuple[Link, ...],
    supplies: tuple[Supply, ...],
) -> dict[str, Search]:
    rows: tuple[Link | Supply, ...] = (*links, *supplies)
    named = sorted({name for row in rows for name in row.via})
    bit = {name: 1 << place for place, name in enumerate(named)}
    links_from: dict[str, list[tuple[Link, int]]] = {}
    for link in links:
        links_from.setdefault(link.start, []).append(
            (link, sum(bit[name] for name in set(link.via)))
        )
    supplies_through: dict[str, list[tuple[Supply, int]]] = {}
    for supply in supplies:
        supplies_through.setdefault(supply.through, []).append(
            (supply, sum(bit[name] for name in set(supply.via)))
        )
    searches = {}
    for origin in origins:
        search = Search(origin, State(origin, 0, bit.get(origin, 0)))
        waiting = [search.start]
        while waiting:
            state = waiting.pop()
            if state in search.onward:
                continue
            if len(search.onward) >= MOST_STATES:
                search.is_cut_short = True
                search.onward[state], search.supplies[state] = [], []
                continue
            onward = search.onward[state] = [
                (link, State(link.end, link.enters, state.passed | bit.get(link.end, 0)))
                for link, via in links_from.get(state.structure, ())
                if _may_take(link, via, origin, state)
            ]
            search.supplies[state] = [
                supply
                for supply, via in supplies_through.get(state.structure, ())
                if _may_take(supply, via, origin, state)
            ]
            waiting.extend(following for _, following in onward)
        for state in sorted(search.onward, key=lambda state: -order[state.structure]):
            search.counts[state] = len(search.supplies[state]) + sum(
                search.counts[following] for _, following in search.onward[state]
            )
        searches[origin] = search
    return searches


def _may_take(row: Link | Supply, via: int, origin: str, state: State) -> bool:
    """Tell whether a way in this state may leave by this row: fibre, level, via."""
    return (
        (row.fibres is None or origin in row.fibres)
        and level_left(row) > state.entered
        and (not row.via or via & state.passed != 0)
    )
