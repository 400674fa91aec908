"""What a position also knows: the turn's stage, bonuses held, strands as the engine counts them.

`Position` names cards, strands and points; what only a table of people asks for is read here
from the state's layout (docs/engine.md). Nothing is written.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nervure.engine import Move, Position, TableStrand
from nervure.engine.layout import (
    MOVE_SIZE,
    SEAT_NUMBERS,
    SEAT_STRANDS,
    STRAND_NUMBERS,
    Number,
    Seat,
)
from nervure.game.tables import MOST_BONUSES, MOST_KINDS, Rule, Tables


@dataclass(frozen=True, slots=True)
class Stage:
    """Where a turn stands: draws and plays left, whether a play was made, nothing done yet."""

    seat: int
    turn: int
    round: int
    draws: int
    plays: int
    began: bool
    fresh: bool
    robbed: int | None


@dataclass(frozen=True, slots=True)
class Holding:
    """What a seat has earned and has left: one-time bonuses by id, then the lasting ones.

    ``points_kind``: points for each further claim, by kind of target.
    """

    bonuses: dict[str, int]
    cancels: int
    guarded: bool
    extra_hand: int
    short_claim: int
    points_kind: dict[str, int]
    late_lifts: int
    full_claims: int
    has_passed: bool


def _number(position: Position, place: int) -> int:
    return int(position._numbers[place])


def stage(position: Position) -> Stage:
    """Give where the turn stands."""
    robbed = _number(position, Number.ROBBED)
    return Stage(
        seat=_number(position, Number.SEAT),
        turn=position.turn,
        round=_number(position, Number.ROUND),
        draws=_number(position, Number.DRAWS),
        plays=_number(position, Number.PLAYS),
        began=bool(_number(position, Number.BEGAN)),
        fresh=bool(_number(position, Number.FRESH)),
        robbed=robbed if robbed >= 0 else None,
    )


def holding(position: Position, seat: int) -> Holding:
    """Give what a seat has earned and has left."""
    tables = position.tables
    place = Number.SEATS + seat * SEAT_NUMBERS
    held = {
        name: _number(position, Number.BONUS + seat * MOST_BONUSES + bonus)
        for bonus, name in enumerate(tables.bonus_ids)
    }
    kinds = {
        kind: _number(position, place + Seat.KIND_POINTS + number)
        for number, kind in enumerate(tables.target_kinds)
    }
    return Holding(
        bonuses={name: count for name, count in held.items() if count},
        cancels=_number(position, place + Seat.CANCELS),
        guarded=_number(position, place + Seat.GUARDED) > 0,
        extra_hand=_number(position, place + Seat.EXTRA_HAND),
        short_claim=_number(position, place + Seat.SHORT_CLAIM),
        points_kind={kind: points for kind, points in kinds.items() if points},
        late_lifts=_number(position, place + Seat.LATE_LIFTS),
        full_claims=_number(position, place + Seat.FULL_CLAIMS),
        has_passed=bool(_number(position, Number.PASSED) >> seat & 1),
    )


def hand_size(position: Position, seat: int) -> int:
    """Give the number of cards in a hand."""
    return _number(position, Number.SEATS + seat * SEAT_NUMBERS + Seat.HAND_SIZE)


def stock_sizes(position: Position) -> tuple[int, int]:
    """Give how many part cards and how many target cards lie in the stocks."""
    return _number(position, Number.STOCK_SIZE), _number(position, Number.TARGET_SIZE)


def pending(position: Position) -> Move | None:
    """Give the take that waits for a reply, None if none does."""
    if stage(position).robbed is None:
        return None
    row = position._numbers[Number.PENDING : Number.PENDING + MOVE_SIZE].tolist()
    return position._move(row)


def drawn(position: Position) -> dict[str, int]:
    """Give the cards that came to hands so far, from stock or display: hand kind -> cards."""
    counts = position._numbers[Number.DRAWN : Number.DRAWN + len(position.tables.hand_kinds)]
    return dict(zip(position.tables.hand_kinds, counts.tolist(), strict=True))


def loose_kind(strand: TableStrand) -> str | None:
    """Give the placed kind of a loose card, None for a strand of two or more."""
    cards = [slot for slot in strand.slots if slot is not None]
    return cards[0] if len(cards) == 1 else None


def dense_id(position: Position, seat: int, strand: int) -> int:
    """Give the dense id of what a strand claims as: with a gap, its distal side."""
    records = _number(position, Number.SEATS + seat * SEAT_NUMBERS + Seat.STRANDS)
    if strand < records:
        place = Number.STRANDS + (seat * SEAT_STRANDS + strand) * STRAND_NUMBERS
        distal = _number(position, place + 2)
        return distal if distal >= 0 else _number(position, place + 1)
    kind = loose_kind(position.strands(seat)[strand])
    assert kind is not None, "loose cards come after the strands"
    return int(position.tables.strands.kind_id[position.tables.placed_kinds.index(kind)])


def cards_to_claim(position: Position, seat: int, strand: int, target: str) -> int | None:
    """Give how many cards a strand lacks at most for a claim: 0 to 3, None if more.

    As the engine's tables of coming claims have it: structure cards attached to this strand.
    """
    tables = position.tables
    number, bit = dense_id(position, seat, strand), tables.targets.index(target)
    word, mask = bit >> 6, np.uint64(1 << (bit & 63))
    least = max(1, int(tables.rules[Rule.CLAIM_MINIMUM]) - holding(position, seat).short_claim)
    cards = int(tables.strands.tiers[number]).bit_count()
    if tables.strands.claims[number, word] & mask and cards >= least:
        return 0
    for more in range(len(tables.strands.claims_within)):
        if tables.strands.claims_within[more, number, word] & mask:
            return more + 1
    return None


def hand_kind_of(tables: Tables, placed: str) -> str:
    """Give the hand kind of a placed kind: a wild of any tier is itself again."""
    return placed.split("@", 1)[0] if "@" in placed else placed


def placed_kinds_of(tables: Tables, kind: str) -> tuple[str, ...]:
    """Give the placed kinds that a hand kind can become; none for the variant card."""
    return tuple(name for name in tables.placed_kinds if hand_kind_of(tables, name) == kind)


def tier_of(tables: Tables, placed: str) -> int:
    """Give the deck tier of a placed kind, as a place from proximal."""
    return int(tables.strands.kind_tier[tables.placed_kinds.index(placed)])


def loose_count(position: Position, seat: int, placed: str) -> int:
    """Give how many loose cards of a placed kind lie before a seat."""
    kind = position.tables.placed_kinds.index(placed)
    return _number(position, Number.LOOSE + seat * MOST_KINDS + kind)
