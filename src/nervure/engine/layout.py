"""Where everything stands in the arrays of a game's state, and the numbers of the moves.

A state is two arrays: ``numbers`` (int32) and ``masks`` (uint64). Strides are fixed by the
limits of docs/rules.md, so that places are constants; only the parts that a game uses are
ever touched. The table of the layout is in docs/engine.md. A *strand record* is four numbers
(key, dense id, dense id of the distal side of a gap or -1, how many equal ones) and three
masks (attachable kinds, two words of claims); what is *offered* to a seat that knows only a
part of the map has the same three. key = code << 9 | gap tier << 6 | tiers held
by wild:any, so that rising keys are the order of docs/rules.md.
"""

from __future__ import annotations

from enum import IntEnum

from nervure.game.tables import (
    MOST_BONUSES,
    MOST_KINDS,
    MOST_OPEN_TARGETS,
    MOST_PART_CARDS,
    MOST_SEATS,
    MOST_TARGETS,
)

SEAT_NUMBERS = 40
SEAT_MASKS = 8
STRAND_NUMBERS = 4
STRAND_MASKS = 3
BELIEF_WORDS = 4 * MOST_KINDS
OFFER_WORDS = 3
SEAT_STRANDS = MOST_PART_CARDS // 2
MOST_TURNS = 4 * MOST_PART_CARDS + 100
MOVE_SIZE = 8


class Number(IntEnum):
    """Places in the state's numbers; a trailing comment gives the shape."""

    SEAT = 0
    TURN = 1  # from 1
    ROUND = 2  # from 1
    STILL = 3
    LAST_ROUND = 4
    DRAWS = 5
    PLAYS = 6
    BEGAN = 7
    FRESH = 8
    ENDED = 9  # 0 while it runs, else EndedBy + 1
    STOCK_TOP = 10
    STOCK_SIZE = 11
    TARGET_TOP = 12
    TARGET_SIZE = 13
    PASSED = 14  # seats that passed for good, as bits
    ACTIVE = 15  # a strand was begun, lengthened, joined or claimed this turn
    JUDGED = 16  # the opening of this turn has been judged
    DECISIONS = 17
    CHOICES = 18
    FORCED = 19
    IDLE = 20
    STUCK = 21
    LEAD_CHANGES = 22
    LEADER = 23  # seat that leads alone, -1 none
    LAST_LEADER = 24  # seat that last led alone
    TAKES = 25
    TIE = 26
    ROBBED = 27  # seat that has to reply, -1 none
    ASKED = 28  # takes of the chosen move that have been answered
    CANCELLED = 29  # of them cancelled, as bits
    ASKING = 30  # where the arguments of a use's two asking parts stand, -1 dropped
    COUNTS = 32  # legal moves by number (15)
    SCORED = 47  # points have changed since the leader was last looked for
    CHOSEN = 48  # the move chosen (MOVE_SIZE); PENDING: the take that waits for a reply
    PENDING = 56
    TRIED = 64  # false facts of the last refused attempt: how many, then which
    SEATS = 72  # (seats, SEAT_NUMBERS), see Seat
    OPEN = SEATS + MOST_SEATS * SEAT_NUMBERS  # target where each open card lies, -1 none
    OPEN_SINCE = OPEN + MOST_OPEN_TARGETS  # turn when it was turned up
    DISPLAY = OPEN_SINCE + MOST_OPEN_TARGETS  # cards by hand kind, also the next seven
    PILE = DISPLAY + MOST_KINDS
    DRAWN = PILE + MOST_KINDS
    PLAYED = DRAWN + MOST_KINDS
    CLAIMED = PLAYED + MOST_KINDS
    HAND = CLAIMED + MOST_KINDS  # (seats, kinds)
    LOOSE = HAND + MOST_SEATS * MOST_KINDS  # (seats, placed kinds)
    BONUS = LOOSE + MOST_SEATS * MOST_KINDS  # (seats, bonuses): held
    TARGET_OPEN = BONUS + MOST_SEATS * MOST_BONUSES  # by target, also the next four
    TARGET_CLAIMED = TARGET_OPEN + MOST_TARGETS
    CLAIM_LENGTH = TARGET_CLAIMED + MOST_TARGETS
    CLAIM_WAIT = CLAIM_LENGTH + MOST_TARGETS
    TARGET_SEATS = CLAIM_WAIT + MOST_TARGETS  # seats that claimed it, as bits
    STRANDS = TARGET_SEATS + MOST_TARGETS  # (seats, SEAT_STRANDS, STRAND_NUMBERS)
    LEADERS = STRANDS + MOST_SEATS * SEAT_STRANDS * STRAND_NUMBERS  # sole leader by turn
    STOCK = LEADERS + MOST_TURNS + 4  # hand kinds, a ring of as many as there are part cards
    TARGET_STOCK = STOCK + MOST_PART_CARDS  # targets, a ring of as many as target cards


class Seat(IntEnum):
    """Places in the numbers of one seat."""

    STRANDS = 0  # strand records
    LATE_LIFTS = 1
    POINTS = 2
    CLAIMS = 3
    FULL_CLAIMS = 4
    FIRST_CLAIM = 5
    POINTS_LENGTH = 6
    POINTS_BONUS = 7
    HAND_SIZE = 8
    PLAYER = 9
    SHARE = 10
    SECRET = 11  # four targets, -1 none
    SECRET_SINCE = 15
    EXTRA_HAND = 19  # from lasting bonuses
    SHORT_CLAIM = 20
    GUARDED = 21
    CANCELS = 22
    KIND_POINTS = 23  # six kinds of target
    HELD = 30  # one-time bonuses
    JOINS = 29  # joins offered if PARTLY, -1 not counted since the table changed
    PARTLY = 31  # 1 if the player knows only a part of the map
    REFUSED = 32  # attempts
    UNTRUE_CLAIMS = 33
    JOINABLE = 34  # legal joins
    CLAIMABLE = 35  # legal claims, -1 not counted since table or targets changed


class Mask(IntEnum):
    """Places in the state's masks."""

    STREAM = 0  # of the players of the line-up
    DISPLAY = 6
    OPEN = 7  # two words
    SEATS = 16  # (seats, SEAT_MASKS), see SeatMask
    STRANDS = SEATS + MOST_SEATS * SEAT_MASKS  # (seats, SEAT_STRANDS, STRAND_MASKS)
    BELIEFS = STRANDS + MOST_SEATS * SEAT_STRANDS * STRAND_MASKS  # (seats, BELIEF_WORDS)
    OFFERED = BELIEFS + MOST_SEATS * BELIEF_WORDS  # (strands, OFFER_WORDS) of the seat to move
    SIZE = 2 * (OFFERED + (SEAT_STRANDS + MOST_KINDS) * OFFER_WORDS)  # with a spare half


HALF_MASKS = int(Mask.SIZE) // 2


class SeatMask(IntEnum):
    """Places in the masks of one seat."""

    HAND = 0
    LOOSE = 1
    SECRET = 2  # two words
    OPENING = 4


class Belief(IntEnum):
    """Places in what a seat believes: facts that it knows, and false ones that it holds."""

    AFTER = 0  # (structures) what may come next after one, as bits
    BEFORE = MOST_KINDS  # (structures) the same from the other side
    TARGETS = 2 * MOST_KINDS  # (structures, 2) what a strand that ends in one may claim


class MoveNumber(IntEnum):
    """Numbers of the moves (docs/rules.md); the last two answer a take."""

    END = 0
    PASS = 1
    DRAW_STOCK = 2
    DRAW_DISPLAY = 3
    SWAP = 4
    TAKE_LOOSE = 5
    LIFT = 6
    LAY = 7
    ATTACH = 8
    ATTACH_GAP = 9
    JOIN = 10
    CLAIM = 11
    USE = 12
    LET = 13
    CANCEL = 14


class Row(IntEnum):
    """Places in the row of whole numbers that a finished game leaves, then its shapes.

    After SIZE: SEAT_COLUMNS values a seat, TARGET_COLUMNS a target, KIND_COLUMNS a hand kind,
    each column by itself.
    """

    ROTATION = 0
    TURNS = 1
    DECISIONS = 2
    CHOICES = 3
    FORCED = 4
    ENDED_BY = 5
    TIE = 6
    IDLE = 7
    STUCK = 8
    TURNS_JUDGED = 9
    LEAD_CHANGES = 10
    LEADER_THREE_QUARTERS = 11
    TAKES = 12
    SIZE = 13


SEAT_COLUMNS = 10
TARGET_COLUMNS = 4
KIND_COLUMNS = 4


class Style(IntEnum):
    """Numbers of the styles."""

    CHANCE = 0
    SPRINTER = 1
    BUILDER = 2
    WEIGHER = 3
    SEARCHER = 4


def numbers_size(target_cards: int) -> int:
    """Give the length of the numbers of a state with its spare half."""
    return 2 * (Number.TARGET_STOCK + max(1, target_cards))


def row_size(seats: int, targets: int, hand_kinds: int) -> int:
    """Give the length of the row of a finished game."""
    return Row.SIZE + SEAT_COLUMNS * seats + TARGET_COLUMNS * targets + KIND_COLUMNS * hand_kinds
