"""What a strand is: joined, claims, full, as functions of its slots (docs/rules.md, Strands).

*Slots*: one entry a deck tier, proximal first: None, a structure's id, or `WILD`. Written for
plainness; the compiled tables decide the same for the engine. All readings of wild cards are
looked at, so keep this to a person's speed. `nervure.game.counts` enumerates whole decks.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise, product

from nervure.anatomy import Anatomy
from nervure.game.rules import Rules

WILD = "wild"
Slots = tuple[str | None, ...]
Strand = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DeckWay:
    """The part of a pathway that lies on deck tiers: its structures, proximal first."""

    target: str
    main: bool
    structures: Strand


class StrandRules:
    """The rules of strands for one map, one choice of deck tiers and targets.

    Attributes
    ----------
    tiers
        Deck tiers, proximal first.
    on_tier
        Structures by deck tier, in the order of structures.csv.
    targets
        Targets that may be claimed, in map order.
    ways
        Every different `DeckWay` of the map, to any target, in the game or not.
    last_of
        Target -> the last deck structures of its pathways.
    """

    def __init__(
        self, anatomy: Anatomy, rules: Rules, tiers: Sequence[str], targets: Sequence[str]
    ) -> None:
        self.anatomy = anatomy
        self.rules = rules
        self.tiers = tuple(tiers)
        self.targets = tuple(targets)
        self.on_tier: Mapping[str, Strand] = {
            tier: tuple(row.id for row in anatomy.map.structures if row.tier == tier)
            for tier in self.tiers
        }
        self.tier_index = {
            name: place for place, tier in enumerate(self.tiers) for name in self.on_tier[tier]
        }
        self.origins = frozenset(anatomy.origins)
        self.ways = tuple(
            dict.fromkeys(
                DeckWay(pathway.target, pathway.main, self._on_deck(pathway.structures))
                for pathway in anatomy.all_pathways
            )
        )
        self.last_of: dict[str, set[str]] = {name: set() for name in self.targets}
        self._of_target: dict[str, list[DeckWay]] = {name: [] for name in self.targets}
        for way in self.ways:
            if way.target in self.last_of:
                self._of_target[way.target].append(way)
                self.last_of[way.target].update(way.structures[-1:])

    def _on_deck(self, structures: Iterable[str]) -> Strand:
        return tuple(name for name in structures if name in self.tier_index)

    def ways_of(self, target: str, main: bool = False) -> tuple[DeckWay, ...]:
        """Give the deck ways of a target of the game, all or only the main ones."""
        return tuple(way for way in self._of_target[target] if way.main or not main)

    @cached_property
    def way_sets(self) -> tuple[frozenset[str], ...]:
        """The different sets of deck structures that one pathway of the map holds."""
        return tuple(dict.fromkeys(frozenset(way.structures) for way in self.ways))

    @cached_property
    def derived_links(self) -> Mapping[tuple[str, str], frozenset[str]]:
        """Derived links between deck structures, with the origins that they carry.

        A chain of map links whose inner structures are all on left-out tiers; it carries an
        origin if every link does. The origins are those of all such chains together.
        """
        found: dict[tuple[str, str], frozenset[str]] = {}
        for start in self.tier_index:
            open_ends = [(start, self.origins)]
            while open_ends:
                inner, carried = open_ends.pop()
                for link in self._links_from.get(inner, ()):
                    both = carried & self.anatomy.carried(link)
                    if link.end in self.tier_index:
                        key = (start, link.end)
                        found[key] = found.get(key, frozenset()) | both
                    else:
                        open_ends.append((link.end, both))
        return found

    @cached_property
    def _links_from(self) -> dict[str, list]:  # type: ignore[type-arg]
        found: dict[str, list] = {}  # type: ignore[type-arg]
        for link in self.anatomy.links:
            found.setdefault(link.start, []).append(link)
        return found

    @cached_property
    def neighbours(self) -> frozenset[tuple[str, str]]:
        """Pairs of deck structures with a chain of links that all carry one origin."""
        pairs = set()
        for start in self.tier_index:
            for origin in self.origins:
                reached, open_ends = set(), [start]
                while open_ends:
                    for link in self._links_from.get(open_ends.pop(), ()):
                        if link.end not in reached and origin in self.anatomy.carried(link):
                            reached.add(link.end)
                            open_ends.append(link.end)
                pairs |= {(start, end) for end in reached if end in self.tier_index}
        return frozenset(pairs)

    def is_true(self, strand: Iterable[str]) -> bool:
        """Tell whether one pathway of the map, to any target, holds all these structures."""
        cards = frozenset(strand)
        return any(cards <= way for way in self.way_sets)

    def is_joined(self, strand: Sequence[str]) -> bool:
        """Tell whether structures without a wild, proximal first, are a joined strand."""
        if len(strand) <= 1:
            return True
        pairs = list(pairwise(strand))
        if not self.rules.skip_tiers and any(pair not in self.derived_links for pair in pairs):
            return False
        if self.rules.connect == "true":
            return self.is_true(strand)
        return all(pair in self.neighbours for pair in pairs)

    def supplies(self, strand: Sequence[str], target: str) -> bool:
        """Tell whether a strand without a wild supplies a target in the sense of ``supply``."""
        cards = frozenset(strand)
        if self.rules.supply == "last-card":
            return any(strand[-1] in way.structures for way in self.ways_of(target))
        ways = self.ways_of(target, main=self.rules.supply == "main")
        return any(cards.issubset(way.structures) for way in ways)

    def has_needs(self, strand: Sequence[str], target: str) -> bool:
        """Tell whether a strand without a wild holds what ``claim_needs`` asks for."""
        needs = self.rules.claim_needs
        if "last" in needs and self.last_of[target].isdisjoint(strand):
            return False
        return "origin" not in needs or strand[0] in self.origins

    def is_full(self, strand: Sequence[str], target: str) -> bool:
        """Tell whether a strand without a wild is full for a target that it claims."""
        if self.rules.full_strand == "deck":
            return len(strand) == len(self.tiers)
        return any(way.structures == tuple(strand) for way in self.ways_of(target))

    def readings(self, slots: Slots) -> Iterator[Strand]:
        """Give the joined readings of slots: a structure of its tier for every wild."""
        held = [
            (tier, slot) for tier, slot in zip(self.tiers, slots, strict=True) if slot is not None
        ]
        choices = [self.on_tier[tier] if slot == WILD else (slot,) for tier, slot in held]
        if self.rules.connect == "true" and len(held) > 1:
            yield from self._readings_on_ways(choices)
        else:
            yield from self._readings_by_pairs(choices, ())

    def _readings_on_ways(self, choices: list[Strand]) -> Iterator[Strand]:
        seen: set[Strand] = set()
        for way in self.way_sets:
            on_way = [[name for name in tier if name in way] for tier in choices]
            for reading in product(*on_way):
                if reading not in seen and self.is_joined(reading):
                    seen.add(reading)
                    yield reading

    def _readings_by_pairs(self, choices: list[Strand], begun: Strand) -> Iterator[Strand]:
        if len(begun) == len(choices):
            yield begun
            return
        for name in choices[len(begun)]:
            if self.is_joined((*begun[-1:], name)):
                yield from self._readings_by_pairs(choices, (*begun, name))

    def joined(self, slots: Slots) -> bool:
        """Tell whether some reading of the slots is joined; one card always is."""
        return any(True for _ in self.readings(slots))

    def claims(self, slots: Slots) -> tuple[str, ...]:
        """Give the targets of the game that the slots can claim, in map order."""
        return tuple(target for target, _ in self._claims(slots))

    def full(self, slots: Slots) -> tuple[str, ...]:
        """Give those of the claims for which the strand is full, in map order."""
        return tuple(target for target, is_full in self._claims(slots) if is_full)

    def _claims(self, slots: Slots) -> Iterator[tuple[str, bool]]:
        cards = sum(slot is not None for slot in slots)
        wilds = sum(slot == WILD for slot in slots)
        if cards < max(1, self.rules.claim_minimum) or cards - wilds < self.rules.claim_real:
            return
        readings = tuple(self.readings(slots))
        for target in self.targets:
            claiming = [
                reading
                for reading in readings
                if self.supplies(reading, target) and self.has_needs(reading, target)
            ]
            if claiming:
                yield target, any(self.is_full(reading, target) for reading in claiming)
