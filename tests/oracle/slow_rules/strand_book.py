"""joined, claims and full of docs/rules.md, by trying every reading on every pathway.

Slots: one entry a deck tier, proximal first: None, a structure, or `WILD`. Answers are kept
in a dictionary, since the same strand is asked about again and again; nothing else is clever.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise, product

from nervure.anatomy import Pathway
from nervure.game import Game

WILD = "*"
Slots = tuple[str | None, ...]
Reading = tuple[str, ...]


class StrandBook:
    """What strands are joined, what they claim, and for which targets they are full."""

    def __init__(self, game: Game) -> None:
        self.game = game
        self.rules = game.rules
        self.anatomy = game.anatomy
        self.on_tier = [
            [name for name in game.structures if self.anatomy.tier_of(name) == tier]
            for tier in game.tiers
        ]
        self._sets = [frozenset(way.structures) for way in self.anatomy.all_pathways]
        self._joined: dict[Slots, bool] = {}
        self._claims: dict[tuple[Slots, int], frozenset[str]] = {}
        self._full: dict[tuple[Slots, int], frozenset[str]] = {}
        self._joined_readings: dict[Reading, bool] = {}
        self._ways: dict[tuple[str, str], bool] = {}
        self._links: dict[tuple[str, str], bool] = {}

    # The three questions.

    def joined(self, slots: Slots) -> bool:
        """Tell whether the cards of these slots are joined."""
        if slots not in self._joined:
            self._joined[slots] = any(map(self.is_joined, self.readings(slots)))
        return self._joined[slots]

    def claims(self, slots: Slots, minimum: int | None = None) -> frozenset[str]:
        """Give the targets that the strand claims; ``minimum`` instead of claim_minimum."""
        if minimum is None:
            minimum = self.rules.claim_minimum
        asked = (slots, minimum)
        if asked not in self._claims:
            self._claims[asked] = frozenset(
                target
                for target in self.game.targets
                if self._has_cards(slots, minimum)
                and any(self.reading_claims(r, target) for r in self.readings(slots))
            )
        return self._claims[asked]

    def full(self, slots: Slots, minimum: int | None = None) -> frozenset[str]:
        """Give the targets that the strand claims as a full strand."""
        if minimum is None:
            minimum = self.rules.claim_minimum
        asked = (slots, minimum)
        if asked not in self._full:
            self._full[asked] = frozenset(
                target for target in self.claims(slots, minimum) if self._is_full(slots, target)
            )
        return self._full[asked]

    def is_true_claim(self, slots: Slots, target: str) -> bool:
        """Tell whether one pathway of a target holds all cards in some reading."""
        return any(
            set(reading) <= set(way.structures)
            for reading in self.readings(slots)
            for way in self.game.pathways(target)
        )

    # Readings.

    def readings(self, slots: Slots) -> Iterator[Reading]:
        """Go through the readings: a structure of its tier for every wild."""
        choices = [
            self.on_tier[tier] if slot == WILD else [slot]
            for tier, slot in enumerate(slots)
            if slot is not None
        ]
        return product(*choices)

    def is_joined(self, reading: Reading) -> bool:
        """Tell whether a strand without a wild is joined."""
        if reading not in self._joined_readings:
            self._joined_readings[reading] = self._is_joined(reading)
        return self._joined_readings[reading]

    def _is_joined(self, reading: Reading) -> bool:
        if len(reading) == 1:
            return True
        if self.rules.connect == "true":
            cards = set(reading)
            if not any(cards <= way for way in self._sets):
                return False
        elif not all(self.has_way(a, b) for a, b in pairwise(reading)):
            return False
        if self.rules.skip_tiers:
            return True
        return all(self.has_derived_link(a, b) for a, b in pairwise(reading))

    def reading_claims(self, reading: Reading, target: str) -> bool:
        """Tell whether a strand without a wild claims a target, its number of cards aside."""
        return (
            self.is_joined(reading)
            and self._supplies(reading, target)
            and self._has_needs(reading, target)
        )

    def _supplies(self, reading: Reading, target: str) -> bool:
        ways = self.game.pathways(target)
        if self.rules.supply == "last-card":
            return any(reading[-1] in way.structures for way in ways)
        if self.rules.supply == "main":
            ways = tuple(way for way in ways if way.main)
        return any(set(reading) <= set(way.structures) for way in ways)

    def _has_needs(self, reading: Reading, target: str) -> bool:
        needs = self.rules.claim_needs
        if "origin" in needs and reading[0] not in self.anatomy.origins:
            return False
        if "last" not in needs:
            return True
        return any(
            part[-1] in reading for part in map(self.deck_part, self.game.pathways(target)) if part
        )

    def _has_cards(self, slots: Slots, minimum: int) -> bool:
        cards = [slot for slot in slots if slot is not None]
        real = [slot for slot in cards if slot != WILD]
        return len(cards) >= minimum and len(real) >= self.rules.claim_real

    def _is_full(self, slots: Slots, target: str) -> bool:
        if self.rules.full_strand == "deck":
            return None not in slots
        return any(
            reading == self.deck_part(way)
            for reading in self.readings(slots)
            if self.reading_claims(reading, target)
            for way in self.game.pathways(target)
        )

    # The map.

    def deck_part(self, way: Pathway) -> Reading:
        """Give the structures of a pathway that are on deck tiers, proximal first."""
        return tuple(
            name for name in way.structures if self.anatomy.tier_of(name) in self.game.tiers
        )

    def has_way(self, start: str, end: str) -> bool:
        """Tell whether a chain of links that all carry one origin leads from a to b."""
        asked = (start, end)
        if asked not in self._ways:
            self._ways[asked] = any(
                end in self._reached(start, origin) for origin in self.anatomy.origins
            )
        return self._ways[asked]

    def _reached(self, start: str, origin: str) -> set[str]:
        found: set[str] = set()
        waiting = [start]
        while waiting:
            name = waiting.pop()
            for link in self.anatomy.links:
                if (
                    link.start == name
                    and origin in self.anatomy.carried(link)
                    and link.end not in found
                ):
                    found.add(link.end)
                    waiting.append(link.end)
        return found

    def has_derived_link(self, start: str, end: str) -> bool:
        """Tell whether a chain of links leads from a to b over left-out tiers alone."""
        asked = (start, end)
        if asked not in self._links:
            self._links[asked] = end in self._reached_over_left_out(start)
        return self._links[asked]

    def _reached_over_left_out(self, start: str) -> set[str]:
        found: set[str] = set()
        waiting = [start]
        while waiting:
            name = waiting.pop()
            for link in self.anatomy.links:
                if link.start != name or link.end in found:
                    continue
                found.add(link.end)
                if self.anatomy.tier_of(link.end) not in self.game.tiers:
                    waiting.append(link.end)
        return found
