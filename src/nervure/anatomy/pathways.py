"""The anatomy of a map: reach, fibre-true pathways, true strands.

A *way* is a sequence of structures from an origin, with a link from each to the next that
carries that origin's fibres, whose ``via`` (if named) holds one of the structures passed,
and that leaves each structure beyond the level at which the way entered it. A *pathway*
of a target is a way whose last structure has a supply row of the target, on the same
terms (docs/project-folder.md, Pathways).

Comes in: a `Map` as read. Goes out: an `Anatomy`. Faults are not reported here but by
`nervure.anatomy.map_faults`; rows that cannot be proved are left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice
from typing import TypeVar

from nervure import words
from nervure.anatomy._network import (
    DISTAL_END,
    MOST_PATHWAYS,
    Network,
    level_left,
    make_network,
)
from nervure.errors import UnknownName
from nervure.project.records import Ids, Link, Map, Structure, Supply, Target

__all__ = ["DISTAL_END", "MOST_PATHWAYS", "Anatomy", "Pathway", "build"]

_Value = TypeVar("_Value")


@dataclass(frozen=True, slots=True)
class Pathway:
    """One fibre-true pathway. Its link rows and its supply row make it the one it is."""

    target: str
    origin: str
    structures: Ids
    main: bool
    supply: Supply
    links: tuple[Link, ...]

    @property
    def entered(self) -> tuple[int, ...]:
        """The level at which each structure was entered: 0 at its proximal end."""
        return (0, *(link.enters for link in self.links))

    @property
    def left(self) -> tuple[int, ...]:
        """The level at which each structure was left; `DISTAL_END` at its distal end."""
        return (*(level_left(link) for link in self.links), level_left(self.supply))


class Anatomy:
    """A map with some variants taken in, proved fibre by fibre.

    Attributes
    ----------
    map, variants
        What it was built from; variants in the map's order.
    origins
        Ids of the structures of the first tier, in order; fibres are named after them.
    links, supplies
        The rows in force that carry at least one origin's fibres, in file order.
    """

    def __init__(self, map_: Map, variants: Ids, network: Network) -> None:
        self.map = map_
        self.variants = variants
        self.origins = network.origins
        self._network = network
        self._carried: dict[Link, set[str]] = {}
        self._supplied: dict[Supply, set[str]] = {}
        self._reach: dict[str, Ids] = dict.fromkeys(network.structures, ())
        for origin, search in network.searches.items():
            for name in {state.structure for state in search.onward}:
                self._reach[name] += (origin,)
            for link in {link for onward in search.onward.values() for link, _ in onward}:
                self._carried.setdefault(link, set()).add(origin)
            for supply in {row for rows in search.supplies.values() for row in rows}:
                self._supplied.setdefault(supply, set()).add(origin)
        self.links = tuple(link for link in network.links if link in self._carried)
        self.supplies = tuple(row for row in network.supplies if row in self._supplied)
        self._bits = {name: 1 << place for place, name in enumerate(network.structures)}

    def structure(self, id: str) -> Structure:
        """Give the structure of an id; UnknownName if there is none."""
        return _find("structure", id, self._network.structures)

    def target(self, id: str) -> Target:
        """Give the target of an id; UnknownName if there is none."""
        return _find("target", id, self._network.targets)

    def tier_of(self, id: str) -> str:
        """Give the tier id of a structure."""
        return self.structure(id).tier

    def carried(self, link: Link) -> frozenset[str]:
        """Give the origins with a way that takes this link; none for a row not in force."""
        return frozenset(self._carried.get(link, ()))

    def supplied(self, supply: Supply) -> frozenset[str]:
        """Give the origins with a pathway that ends in this row; none for a row not in force."""
        return frozenset(self._supplied.get(supply, ()))

    def reach(self, structure: str) -> Ids:
        """Give the origins with a way that ends in a structure, in order."""
        return _find("structure", structure, self._reach)

    @property
    def structure_ids(self) -> Ids:
        """Ids of all structures, in file order, with those that no origin reaches here."""
        return tuple(self._network.structures)

    @cached_property
    def useful(self) -> dict[str, frozenset[str]]:
        """For every structure on some pathway, the origins of the pathways that pass it."""
        found: dict[str, set[str]] = {}
        for origin, search in self._network.searches.items():
            for state, count in search.counts.items():
                if count:
                    found.setdefault(state.structure, set()).add(origin)
        return {name: frozenset(origins) for name, origins in found.items()}

    @cached_property
    def all_pathways(self) -> tuple[Pathway, ...]:
        """All pathways of all targets: by target, then origin, then rows in file order.

        At most `MOST_PATHWAYS` are listed; `map_faults` reports a map that has more.
        """
        found: dict[str, list[Pathway]] = {name: [] for name in self._network.targets}
        for pathway in islice(self._walk(), MOST_PATHWAYS):
            found[pathway.target].append(pathway)
        return tuple(pathway for of_target in found.values() for pathway in of_target)

    def _walk(self) -> Iterable[Pathway]:
        for origin, search in self._network.searches.items():
            for links, supply in search.walk():
                structures = (origin, *(link.end for link in links))
                main = origin in supply.main_fibres
                yield Pathway(supply.target, origin, structures, main, supply, links)

    @cached_property
    def _by_target(self) -> dict[str, tuple[Pathway, ...]]:
        found: dict[str, list[Pathway]] = {name: [] for name in self._network.targets}
        for pathway in self.all_pathways:
            found[pathway.target].append(pathway)
        return {name: tuple(of_target) for name, of_target in found.items()}

    def pathways(self, target: str) -> tuple[Pathway, ...]:
        """Give the pathways of a target by origin; UnknownName if there is no such target."""
        return _find("target", target, self._by_target)

    def structure_sequences(self, target: str) -> tuple[Ids, ...]:
        """Give the different sequences of structures among a target's pathways."""
        return tuple(dict.fromkeys(pathway.structures for pathway in self.pathways(target)))

    def fibres_of(self, target: str) -> Ids:
        """Give the origins with a pathway to a target, in order."""
        found = {pathway.origin for pathway in self.pathways(target)}
        return tuple(origin for origin in self.origins if origin in found)

    def main_fibres_of(self, target: str) -> Ids:
        """Give the origins with a main pathway to a target, in order."""
        found = {pathway.origin for pathway in self.pathways(target) if pathway.main}
        return tuple(origin for origin in self.origins if origin in found)

    @cached_property
    def origins_of_potentials(self) -> frozenset[str]:
        """Origins with a pathway to a target of kind ``potential``."""
        return frozenset(
            pathway.origin
            for pathway in self.all_pathways
            if self.target(pathway.target).kind == "potential"
        )

    def mask(self, structures: Iterable[str]) -> int:
        """Give a set of structures as bits: bit i is the i-th structure of structures.csv."""
        mask = 0
        for name in structures:
            mask |= _find("structure", name, self._bits)
        return mask

    @cached_property
    def _masks(self) -> dict[tuple[str, bool], tuple[int, ...]]:
        found: dict[tuple[str, bool], dict[int, None]] = {}
        for pathway in self.all_pathways:
            mask = self.mask(pathway.structures)
            for key in ((pathway.target, False), ("", False)):
                found.setdefault(key, {})[mask] = None
            if pathway.main:
                for key in ((pathway.target, True), ("", True)):
                    found.setdefault(key, {})[mask] = None
        return {key: tuple(masks) for key, masks in found.items()}

    def pathway_masks(self, target: str | None = None, main: bool = False) -> tuple[int, ...]:
        """Give the different pathways as bits (see `mask`), of one target or of the map."""
        key = "" if target is None else self.target(target).id
        return self._masks.get((key, main), ())

    def is_true(self, structures: Iterable[str]) -> bool:
        """Tell whether one pathway, to any target of the map, holds all these structures."""
        mask = self.mask(structures)
        return any(pathway & mask == mask for pathway in self.pathway_masks())

    def supplies_target(self, structures: Iterable[str], target: str, main: bool = False) -> bool:
        """Tell whether one pathway (if ``main``, a main one) of a target holds all of these."""
        mask = self.mask(structures)
        return any(pathway & mask == mask for pathway in self.pathway_masks(target, main))

    def __repr__(self) -> str:
        return f"<Anatomy {self.map.name!r} variants={self.variants!r}>"


def _find(kind: str, id: str, known: dict[str, _Value]) -> _Value:
    if id not in known:
        raise UnknownName(words.say(f"anatomy.kind.{kind}"), id, tuple(known))
    return known[id]


def build(map_: Map, variants: Iterable[str] = ()) -> Anatomy:
    """Build the anatomy of a map with some variants taken in.

    Never raises for a faulty map: rows that cannot be proved are left out, and variants
    that the map does not declare are passed over (`map_faults` names them all).
    """
    chosen: Sequence[str] = tuple(variants)
    declared = tuple(variant.id for variant in map_.variants if variant.id in chosen)
    return Anatomy(map_, declared, make_network(map_, declared))
