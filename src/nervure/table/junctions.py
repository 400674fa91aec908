"""Why cards hold together or not, and why a strand may claim a target or not, by the map.

Comes in: slots of a strand as placed kinds by deck tier, proximal first. Goes out: a
`Reason` that names what carries what, as ids; sentences are made in `nervure.table.referee`.
Only what the map decides is looked at here; what anyone can see on the table is not.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise

from nervure.anatomy import Pathway
from nervure.game import WILD, Game, Strand
from nervure.game.strands import DeckWay

Slots = tuple[str | None, ...]
Ids = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why something holds or not: a code, and the ids that its sentence names, by role."""

    code: str
    holds: bool
    ids: Mapping[str, Ids] = field(default_factory=dict)
    numbers: Mapping[str, int] = field(default_factory=dict)


def plain(slots: Sequence[str | None]) -> Slots:
    """Give slots as `StrandRules` reads them: any wild card is `WILD`."""
    return tuple(WILD if slot is not None and slot.startswith("wild:") else slot for slot in slots)


class Junctions:
    """What the map of one game says of strands and claims."""

    def __init__(self, game: Game) -> None:
        self.game = game
        self.strands = game.strands
        self.rules = game.rules
        self._between: dict[tuple[str, str], Ids] = {}

    # What holds

    def joined(self, slots: Sequence[str | None]) -> Reason:
        """Say why slots are one joined strand or not (docs/rules.md, Strands)."""
        read = plain(slots)
        reading = next(iter(self.strands.readings(read)), None)
        if reading is None:
            return self._not_joined(slots, read)
        cards = tuple(slot for slot in slots if slot is not None)
        if len(cards) == 1:
            return Reason("alone", True, {"cards": cards})
        if self.rules.connect == "neighbours":
            pairs = {
                f"pair-{place}": (one, other, *self.between(one, other))
                for place, (one, other) in enumerate(pairwise(reading), start=1)
            }
            whole = "holds-by-pairs" if self.strands.is_true(reading) else "holds-untrue"
            return Reason(whole, True, {"cards": cards, "reading": reading, **pairs})
        way, origins = self._way_of(self._pathways(reading))
        return Reason(
            "holds",
            True,
            {"cards": cards, "reading": reading, "origins": origins, **_ids_of(way)},
        )

    def claims(self, slots: Sequence[str | None], target: str) -> Reason:
        """Say why a strand that is joined and long enough claims a target or not."""
        read = plain(slots)
        for reading in self.strands.readings(read):
            if self.strands.supplies(reading, target) and self.strands.has_needs(reading, target):
                return self._claim_holds(slots, reading, target)
        return self._no_claim(slots, read, target)

    # Pathways

    def _pathways(self, cards: Iterable[str], target: str | None = None) -> tuple[Pathway, ...]:
        """Give the pathways, of one target or of the map, that hold all of some structures."""
        anatomy = self.game.anatomy
        every = anatomy.all_pathways if target is None else anatomy.pathways(target)
        held = set(cards)
        return tuple(pathway for pathway in every if held.issubset(pathway.structures))

    def origins_of(self, cards: Iterable[str], target: str | None = None) -> Ids:
        """Give the origins whose pathways hold all of some structures, in order."""
        found = {pathway.origin for pathway in self._pathways(cards, target)}
        return tuple(origin for origin in self.game.anatomy.origins if origin in found)

    def _way_of(self, pathways: Sequence[Pathway]) -> tuple[Pathway, Ids]:
        """Give the plainest pathway, and the origins that take the same way beyond the first."""
        playing = set(self.game.targets)
        best = min(
            pathways,
            key=lambda one: (one.target not in playing, not one.main, len(one.structures)),
        )
        alike = {
            one.origin
            for one in pathways
            if (one.target, one.structures[1:]) == (best.target, best.structures[1:])
        }
        return best, tuple(one for one in self.game.anatomy.origins if one in alike)

    def between(self, start: str, end: str) -> Ids:
        """Give the origins of which one fibre can go from a structure to another, by links."""
        if (start, end) not in self._between:
            found = []
            for origin in self.game.anatomy.origins:
                reached, open_ends = {start}, [start]
                while open_ends:
                    here = open_ends.pop()
                    for link in self.game.anatomy.links:
                        carries = origin in self.game.anatomy.carried(link)
                        if link.start == here and link.end not in reached and carries:
                            reached.add(link.end)
                            open_ends.append(link.end)
                if end in reached:
                    found.append(origin)
            self._between[start, end] = tuple(found)
        return self._between[start, end]

    # What does not hold

    def _not_joined(self, slots: Sequence[str | None], read: Slots) -> Reason:
        by_ways = self.rules.connect == "true"
        if by_ways:
            parts = self._smallest_apart(slots, self.strands.way_sets)
            if parts:
                return self._apart(parts)
        else:
            held = [slot for slot in read if slot is not None]
            for one, other in pairwise(held):
                if WILD not in (one, other) and (one, other) not in self.strands.neighbours:
                    return Reason("no-way-between", False, self._two(one, other))
        if not self.rules.skip_tiers:
            held = [slot for slot in read if slot is not None]
            for one, other in pairwise(held):
                if WILD not in (one, other) and (one, other) not in self.strands.derived_links:
                    return Reason("not-linked", False, {"one": (one,), "other": (other,)})
        return Reason("no-reading", False, {"cards": tuple(s for s in slots if s is not None)})

    def _two(self, one: str, other: str) -> dict[str, Ids]:
        return {
            "one": (one,),
            "other": (other,),
            "through-one": self.origins_of((one,)),
            "through-other": self.origins_of((other,)),
        }

    def _smallest_apart(
        self, slots: Sequence[str | None], ways: Iterable[frozenset[str]]
    ) -> Ids | None:
        """Give the smallest set of cards of which no way holds all, None if one holds all."""
        sets = tuple(ways)
        cards = [(slot, tier) for tier, slot in enumerate(slots) if slot is not None]
        for size in range(1, len(cards) + 1):
            for some in combinations(cards, size):
                if not any(self._fits(some, way) for way in sets):
                    return tuple(slot for slot, _ in some)
        return None

    def _fits(self, cards: Iterable[tuple[str, int]], way: frozenset[str]) -> bool:
        on_tier, tiers = self.strands.on_tier, self.strands.tiers
        return all(
            not way.isdisjoint(on_tier[tiers[tier]]) if slot.startswith("wild:") else slot in way
            for slot, tier in cards
        )

    def _apart(self, cards: Ids) -> Reason:
        """Say why no pathway of the map holds all of the fewest cards that fall apart."""
        if any(card.startswith("wild:") for card in cards):
            return Reason("no-reading", False, {"cards": cards})
        if len(cards) == 1:
            return Reason("on-no-pathway", False, {"cards": cards})
        if len(cards) == 2:
            ids = self._two(*cards)
            shared = tuple(one for one in ids["through-one"] if one in ids["through-other"])
            if not shared:
                return Reason("no-shared-fibre", False, ids)
            return Reason("fibres-part", False, {**ids, "shared": shared})
        enters, goes_on = self.origins_of(cards[:-1]), self.origins_of(cards[1:])
        ids = {"cards": cards, "enters": enters, "goes-on": goes_on}
        if set(enters).isdisjoint(goes_on):
            return Reason("does-not-go-on", False, ids)
        return Reason("not-all-at-once", False, ids)

    # Claims

    def _claim_holds(self, slots: Sequence[str | None], reading: Strand, target: str) -> Reason:
        ids: dict[str, Ids] = {
            "cards": tuple(slot for slot in slots if slot is not None),
            "reading": reading,
            "target": (target,),
        }
        pathways = self._pathways(reading, target)
        if self.rules.supply == "main":
            pathways = tuple(pathway for pathway in pathways if pathway.main)
        if not pathways:
            ids["last"] = reading[-1:]
            return Reason("claims-untrue", True, ids)
        way, origins = self._way_of(pathways)
        return Reason("claims", True, {**ids, "origins": origins, **_ids_of(way)})

    def _no_claim(self, slots: Sequence[str | None], read: Slots, target: str) -> Reason:
        cards = tuple(slot for slot in slots if slot is not None)
        ids: dict[str, Ids] = {
            "cards": cards,
            "target": (target,),
            "lasts": self._in_order(self.strands.last_of[target]),
        }
        if self.rules.supply == "last-card":
            last = cards[-1]
            on_a_way = any(last in way.structures for way in self.strands.ways_of(target))
            if not last.startswith("wild:") and not on_a_way:
                return Reason("last-not-of-target", False, {**ids, "last": (last,)})
        else:
            parts = self._smallest_apart(slots, _sets(self.strands.ways_of(target)))
            if parts:
                return self._not_of_target(parts, target, ids)
            if self.rules.supply == "main":
                main = self.strands.ways_of(target, main=True)
                if self._smallest_apart(slots, _sets(main)):
                    mains = self.game.anatomy.main_fibres_of(target)
                    here = self.origins_of([c for c in cards if not c.startswith("wild:")], target)
                    return Reason("not-main", False, {**ids, "mains": mains, "here": here})
        wild = WILD in read
        if "last" in self.rules.claim_needs and not wild and not set(cards) & set(ids["lasts"]):
            return Reason("last-missing", False, ids)
        return Reason("no-reading-claims", False, ids)

    def _not_of_target(self, parts: Ids, target: str, ids: Mapping[str, Ids]) -> Reason:
        if any(card.startswith("wild:") for card in parts):
            return Reason("no-reading-claims", False, ids)
        if len(parts) == 1:
            fibres = self.game.anatomy.fibres_of(target)
            found = {**ids, "one": parts, "fibres": fibres, "through": self.origins_of(parts)}
            return Reason("not-of-target", False, found)
        return Reason("not-one-pathway-of-target", False, {**ids, "parts": parts})

    def _in_order(self, structures: Iterable[str]) -> Ids:
        held = set(structures)
        return tuple(name for name in self.strands.tier_index if name in held)


def _ids_of(way: Pathway) -> dict[str, Ids]:
    return {"way": way.structures, "supplies": (way.target,)}


def _sets(ways: Iterable[DeckWay]) -> tuple[frozenset[str], ...]:
    return tuple(dict.fromkeys(frozenset(way.structures) for way in ways))
