"""`Game`: a project's map and rules with everything that follows from them, frozen.

Comes in: a `Folder` as read. Goes out: one record from which engine, cards, rulebook and
items are made. Made by `nervure.game.reading.read_game`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from nervure.anatomy import Anatomy, Pathway
from nervure.errors import Fault, has_errors
from nervure.game.bonuses import Bonus, Bonuses
from nervure.game.counts import claiming_strands, joined_strands
from nervure.game.deck import VARIANT, WILD_ANY, Cards
from nervure.game.goals import Goals
from nervure.game.look import Look
from nervure.game.objectives import Objective
from nervure.game.odds import Odds, Supply, odds_of
from nervure.game.prints import Prints, prints_of
from nervure.game.rules import Points, Rules
from nervure.game.strands import Strand, StrandRules
from nervure.game.tuning import Tunable
from nervure.project.records import Folder

CARDS_PAST_HAND = 6


@dataclass(frozen=True)
class Game:
    """One game, as its designer wrote it.

    Attributes
    ----------
    tiers, structures
        The deck's tiers, proximal first, and their structures: tier order, then row order.
    targets
        Ids of the targets in the game, in map order. A target that no strand can claim, or
        of which deck.csv wants no copy, is not among them.
    hand_kinds
        Structures, ``wild:TIER`` by tier, ``wild:any``, ``variant``; a wild or variant card
        only if there are copies of it.
    placed_kinds
        Structures, then ``wild:TIER`` for each tier that a wild names, then, if ``wild:any``
        is in the deck, ``wild:any@TIER`` for each deck tier.
    copies, target_copies
        Hand kind or target -> number of cards.
    points_of
        Target -> points, from ``claim_minimum`` cards up to its longest claiming strand.
    bonus_of
        Card (a target, or a structure of the tier that bonuses are printed on) -> bonus id.
    words
        What this map's people say for fibre, origin, cut ...
    version
        The first eight hexadecimal digits of a SHA-256 over map, rules, deck and points.
    faults
        Those of folder, map and game, sorted.
    """

    folder: Folder
    anatomy: Anatomy
    rules: Rules
    points: Points
    bonus_settings: Bonuses
    bonuses: tuple[Bonus, ...]
    goals: Goals
    look: Look
    objectives: tuple[Objective, ...]
    tune: tuple[Tunable, ...]
    tiers: tuple[str, ...]
    structures: tuple[str, ...]
    targets: tuple[str, ...]
    hand_kinds: tuple[str, ...]
    placed_kinds: tuple[str, ...]
    copies: Mapping[str, int]
    target_copies: Mapping[str, int]
    points_of: Mapping[str, tuple[int, ...]]
    listed_points: Mapping[str, tuple[int, ...]]
    bonus_of: Mapping[str, str]
    unclaimable: tuple[str, ...]
    words: Mapping[str, str]
    title: str
    version: str
    faults: tuple[Fault, ...]

    @property
    def ok(self) -> bool:
        """Tell whether no fault is an error."""
        return not has_errors(self.faults)

    @property
    def part_cards(self) -> int:
        """The number of part cards, wild and variant cards included."""
        return sum(self.copies.values())

    @property
    def target_cards(self) -> int:
        """The number of target cards."""
        return sum(self.target_copies.values())

    @property
    def odds_cards(self) -> int:
        """The n of difficulty: hand + 6 (the hand of the fewest players), at most the deck."""
        return odds_cards(self.rules, self.part_cards)

    def pathways(self, target: str) -> tuple[Pathway, ...]:
        """Give the pathways of a target, fibre by fibre."""
        return self.anatomy.pathways(target)

    def bonus(self, id: str) -> Bonus:
        """Give the bonus of an id; KeyError if there is none."""
        return {bonus.id: bonus for bonus in self.bonuses}[id]

    def points_for(self, target: str, cards: int) -> int:
        """Give the points of a claim with so many cards; fewer than the minimum pay the first."""
        ladder = self.points_of[target]
        rung = min(max(0, cards - max(1, self.rules.claim_minimum)), len(ladder) - 1)
        return ladder[rung]

    @cached_property
    def strands(self) -> StrandRules:
        """The rules of strands: joined, claims, full."""
        return StrandRules(self.anatomy, self.rules, self.tiers, self.targets)

    @cached_property
    def carded(self) -> frozenset[str]:
        """Structures that there are cards of; of the others only a wild can take the place."""
        return frozenset(name for name in self.structures if self.copies[name])

    @cached_property
    def joined_strands(self) -> frozenset[Strand]:
        """Every joined strand without a wild that the deck's cards can lay."""
        return self._laid(joined_strands(self.strands))

    @cached_property
    def claiming_strands(self) -> Mapping[str, frozenset[Strand]]:
        """Target -> every strand without a wild that claims it and that cards can lay."""
        return {name: self._laid(strands) for name, strands in self._claiming.items()}

    @cached_property
    def _claiming(self) -> Mapping[str, frozenset[Strand]]:
        return claiming_strands(self.strands, joined_strands(self.strands))

    def _laid(self, strands: frozenset[Strand]) -> frozenset[Strand]:
        if len(self.carded) == len(self.structures):
            return strands
        return frozenset(strand for strand in strands if self.carded.issuperset(strand))

    @cached_property
    def prints(self) -> Prints:
        """What the cards print of the map."""
        return prints_of(self.strands, self.joined_strands, self.claiming_strands)

    @cached_property
    def odds(self) -> Mapping[str, Odds]:
        """Target -> its odds by strand length and number of cards."""
        supply = part_supply(self.copies, self.strands)
        return {name: odds_of(self._claiming[name], supply) for name in self.targets}


def odds_cards(rules: Rules, part_cards: int) -> int:
    """Give the n at which difficulty is read: hand of the fewest players + 6."""
    return min(rules.hand.at(rules.players[0]) + CARDS_PAST_HAND, part_cards)


def part_supply(copies: Mapping[str, int], strands: StrandRules) -> Supply:
    """Give the part cards as the odds want them; copies by hand kind."""
    wild_tiers = {tier: copies.get(f"wild:{tier}", 0) for tier in strands.tiers}
    return Supply(
        copies={name: copies.get(name, 0) for name in strands.tier_index},
        wild_tiers={tier: number for tier, number in wild_tiers.items() if number},
        wild_any=copies.get(WILD_ANY, 0),
        tier_of={name: strands.tiers[place] for name, place in strands.tier_index.items()},
        claim_real=strands.rules.claim_real,
        cards=sum(copies.values()),
    )


def kinds_in_deck(
    cards: Cards, tiers: tuple[str, ...], copies: Mapping[str, int]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Give hand kinds and placed kinds in the order of docs/rules.md."""
    wilds = tuple(wild for wild in cards.wilds if copies[wild])
    hand = (*cards.structures, *wilds, *((VARIANT,) if copies[VARIANT] else ()))
    on_tiers = tuple(wild for wild in wilds if wild != WILD_ANY)
    anywhere = tuple(f"{WILD_ANY}@{tier}" for tier in tiers) if WILD_ANY in wilds else ()
    return hand, (*cards.structures, *on_tiers, *anywhere)
