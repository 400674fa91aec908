"""The deck that follows from a map, the rules and deck.csv; and what is wrong with it.

Comes in: the rows of deck.csv as read, the rules with the deck's tiers and targets. Goes out:
copies, points, bonuses by card, and faults. What deck.csv does not say has its default: two
copies of each part card, one of each target, no wild and no variant card; points by difficulty.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from nervure import words
from nervure.errors import Fault, Place, error, nearest, warning
from nervure.game.bonuses import Bonus
from nervure.game.tuning import MOST_COPIES
from nervure.project.records import DeckRow

DECK_FILE = "deck.csv"
PART_COPIES = 2
TARGET_COPIES = 1
WILD_ANY = "wild:any"
VARIANT = "variant"
PRINTED_ON_TARGET = "target"


@dataclass(frozen=True, slots=True)
class Cards:
    """Every card that a deck can hold, and the ids of the map that are left out of it.

    ``wilds``: ``wild:TIER`` by deck tier, then ``wild:any``.
    """

    structures: tuple[str, ...]
    targets: tuple[str, ...]
    wilds: tuple[str, ...]
    left_out: frozenset[str]

    @property
    def parts(self) -> tuple[str, ...]:
        """Hand kinds in the order of docs/rules.md: structures, wilds, variant."""
        return (*self.structures, *self.wilds, VARIANT)

    @property
    def all(self) -> tuple[str, ...]:
        """Part cards and target cards."""
        return (*self.parts, *self.targets)


@dataclass(frozen=True, slots=True)
class Listed:
    """What deck.csv says, completed by the defaults.

    ``copies``: every card of `Cards`; ``points``: only targets that list some; ``bonus_of``:
    card -> bonus, as named or gone round.
    """

    copies: Mapping[str, int]
    points: Mapping[str, tuple[int, ...]]
    bonus_of: Mapping[str, str]


def read_deck(
    rows: Sequence[DeckRow], cards: Cards, bonuses: Sequence[Bonus], bonus_cards: Sequence[str]
) -> tuple[Listed, list[Fault]]:
    """Complete deck.csv.

    ``bonus_cards``: the cards that bonuses are printed on, in map order.
    """
    copies = dict.fromkeys(cards.structures, PART_COPIES)
    copies |= dict.fromkeys((*cards.wilds, VARIANT), 0)
    copies |= dict.fromkeys(cards.targets, TARGET_COPIES)
    points: dict[str, tuple[int, ...]] = {}
    named: dict[str, str] = {}
    faults: list[Fault] = []
    rows_of: dict[str, DeckRow] = {}
    for row in rows:
        place = row.place.at("card")
        if row.card in cards.left_out:
            faults.append(warning("card-left-out", place, value=row.card))
        elif row.card not in copies:
            close = ", ".join(nearest(row.card, cards.all))
            faults.append(error("no-such-card", place, value=row.card, nearest=close))
        elif row.card in rows_of:
            first = rows_of[row.card].place.row
            faults.append(error("card-twice", place, value=row.card, first=first))
        else:
            rows_of[row.card] = row
            faults += _row_faults(row, cards, [bonus.id for bonus in bonuses], bonus_cards)
            if row.copies is not None and 0 <= row.copies <= MOST_COPIES:
                copies[row.card] = row.copies
            if row.points and row.card in cards.targets:
                points[row.card] = row.points
            if row.bonus and row.card in bonus_cards:
                named[row.card] = row.bonus
    known = {bonus.id for bonus in bonuses}
    bonus_of = {card: id for card, id in named.items() if id in known}
    if not named and bonuses:
        bonus_of = {
            card: bonuses[place % len(bonuses)].id for place, card in enumerate(bonus_cards)
        }
    return Listed(copies, points, bonus_of), faults


def _row_faults(
    row: DeckRow, cards: Cards, bonuses: Sequence[str], bonus_cards: Sequence[str]
) -> list[Fault]:
    faults = []
    if row.copies is not None and not 0 <= row.copies <= MOST_COPIES:
        place = row.place.at("copies")
        faults.append(error("too-many-copies", place, value=str(row.copies), most=MOST_COPIES))
    if row.points and row.card not in cards.targets:
        faults.append(error("points-on-part", row.place.at("points"), value=row.card))
    if row.points and any(a > b for a, b in zip(row.points, row.points[1:], strict=False)):
        shown = " ".join(map(str, row.points))
        faults.append(warning("points-fall", row.place.at("points"), value=shown))
    if row.bonus and row.bonus not in bonuses:
        faults.append(
            error(
                "no-such-bonus",
                row.place.at("bonus"),
                value=row.bonus,
                nearest=", ".join(nearest(row.bonus, bonuses)) or "-",
            )
        )
    elif row.bonus and row.card not in bonus_cards:
        faults.append(error("bonus-on-wrong-card", row.place.at("bonus"), value=row.card))
    return faults


@dataclass(frozen=True, slots=True)
class Limit:
    """One bound of docs/rules.md, Limits: what is counted, how many there are, how many may be."""

    code: str
    count: int
    most: int


MOST_KINDS = 64
MOST_TARGETS = 128
MOST_TIERS = 6
MOST_PART_CARDS = 400


def limit_faults(limits: Sequence[Limit]) -> list[Fault]:
    """Make an error of every bound that is passed."""
    place = Place(DECK_FILE)
    return [
        error(
            "past-limit",
            place,
            value=str(limit.count),
            what=words.say(f"game.limit.{limit.code}"),
            most=limit.most,
        )
        for limit in limits
        if limit.count > limit.most
    ]
