"""Cards, strands and seats of the slow table: plain objects that hold real cards."""

from __future__ import annotations

from dataclasses import dataclass, field

from nervure.game import Game
from slow_rules.chance import PART_CARDS, TARGET_CARDS, key, mix, salt
from slow_rules.strand_book import WILD, Slots

WILD_ANY = "wild:any"
VARIANT = "variant"


@dataclass(frozen=True, slots=True, order=True)
class Card:
    """One printed card: a part card by hand kind, or a target card by target."""

    kind: str
    copy: int

    @property
    def is_wild(self) -> bool:
        """Tell whether the card stands for others."""
        return self.kind.startswith("wild:")

    @property
    def symbol(self) -> str:
        """Give what the card is in a strand's slots."""
        return WILD if self.is_wild else self.kind


def shuffled(copies: dict[str, int], order: int) -> list[Card]:
    """Give every copy of these cards in the order of a key, first on top."""
    cards = [Card(kind, copy) for kind, most in copies.items() for copy in range(1, most + 1)]
    return sorted(cards, key=lambda card: mix(order ^ salt(f"{card.kind}#{card.copy}")))


def part_stock(game: Game, seed: int, deal: int) -> list[Card]:
    """Give the part cards as a deal orders them."""
    return shuffled(dict(game.copies), key(seed, deal, PART_CARDS))


def target_stock(game: Game, seed: int, deal: int) -> list[Card]:
    """Give the target cards as a deal orders them."""
    return shuffled(dict(game.target_copies), key(seed, deal, TARGET_CARDS))


@dataclass
class Strand:
    """Cards by deck tier; ``gap``: the first tier of the distal side, with its variant card."""

    cards: dict[int, Card]
    gap: int | None = None
    variant: Card | None = None

    @property
    def tiers(self) -> list[int]:
        """The tiers that are filled, proximal first."""
        return sorted(self.cards)

    @property
    def is_loose(self) -> bool:
        """Tell whether the strand is one card."""
        return len(self.cards) == 1

    @property
    def all_cards(self) -> list[Card]:
        """Every card that lies in the strand, the variant card with it."""
        return [*self.cards.values(), *([self.variant] if self.variant else [])]

    def proximal_side(self) -> dict[int, Card]:
        """Give the cards before the gap; all of them without one."""
        return {t: c for t, c in self.cards.items() if self.gap is None or t < self.gap}

    def distal_side(self) -> dict[int, Card]:
        """Give the cards from the gap on; all of them without one."""
        return {t: c for t, c in self.cards.items() if self.gap is None or t >= self.gap}

    def close_empty_gap(self) -> Card | None:
        """Close the gap if one side is empty; give the variant card that comes free."""
        if self.gap is None or (self.proximal_side() and self.distal_side()):
            return None
        free, self.gap, self.variant = self.variant, None, None
        return free


@dataclass
class Claim:
    """One claimed target with all that lies under it."""

    target: Card
    cards: list[Card]
    length: int
    points: int
    extra: int
    full: bool
    turn: int
    secret: bool


@dataclass
class Seat:
    """Everything that belongs to one seat."""

    late_lifts: int
    hand: list[Card] = field(default_factory=list)
    secrets: list[Card] = field(default_factory=list)
    strands: list[Strand] = field(default_factory=list)
    claims: list[Claim] = field(default_factory=list)
    bonuses: list[str] = field(default_factory=list)
    bonus_points: int = 0
    points: int = 0
    passed: bool = False

    @property
    def cards_left(self) -> list[Card]:
        """The part cards in the hand and on the table."""
        return [*self.hand, *(card for strand in self.strands for card in strand.all_cards)]


def slots_of(cards: dict[int, Card], tiers: int) -> Slots:
    """Give cards by tier as the slots of a strand."""
    return tuple(cards[tier].symbol if tier in cards else None for tier in range(tiers))
