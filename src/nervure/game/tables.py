"""What `compile_game` makes and the kernel plays: whole-number arrays and a rules vector.

Every field, with shape, type and range, is described in ``docs/tables.md``; a test keeps
that page true. Nothing here computes.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
import numpy.typing as npt

IntArray = npt.NDArray[np.int32]
LongArray = npt.NDArray[np.int64]
MaskArray = npt.NDArray[np.uint64]

MOST_SEATS = 6
MOST_TIERS = 6
MOST_KINDS = 64
MOST_TARGETS = 128
MOST_PART_CARDS = 400
MOST_DISPLAY = 8
MOST_OPEN_TARGETS = 8
MOST_SECRET_TARGETS = 4
MOST_TIE_BREAKS = 8
MOST_BONUSES = 32
BONUS_PART_SIZE = 3
POINTS_COLUMNS = MOST_TIERS + 1
LOOK_AHEAD = 3
"""How many cards ahead the tables of coming claims look."""


class Rule(IntEnum):
    """Place of each rule in the rules vector; all values are resolved for one table size."""

    SEATS = 0
    TIERS = 1
    STRUCTURES = 2
    HAND_KINDS = 3
    PLACED_KINDS = 4
    TARGETS = 5
    PART_CARDS = 6
    TARGET_CARDS = 7
    ANY_HAND_KIND = 8  # hand kind of wild:any, -1 none
    FIRST_ANY_KIND = 9  # placed kind of wild:any on the first deck tier; PLACED_KINDS if none
    VARIANT_KIND = 10  # hand kind of the variant card, -1 none
    HAND = 11
    DISPLAY = 12
    OPEN_TARGETS = 13
    SECRET_TARGETS = 14
    DRAWS = 15  # Draw bits
    DRAW_COUNT = 16
    PLAY_COUNT = 17
    MUST_PLAY = 18
    INSERT = 19
    CLAIM_MINIMUM = 20
    JOIN_IS_PLAY = 21
    CLAIM_IS_PLAY = 22
    REFILL = 23
    SWAP_UNDER = 24
    MAY_PASS = 25  # MayPass
    LATE_LIFTS = 26
    END_CLAIMS = 27  # 0: not an end, as for the next three
    END_POINTS = 28
    END_ROUNDS = 29
    END_TURNS = 30  # the turn by which the clock has run out
    END_STOCK = 31
    END_PASSED = 32
    BONUSES = 33  # how many kinds of bonus
    BONUS_TIER = 34  # the deck tier whose cards print bonuses, -1: the target cards
    CLAIM_REAL = 35
    SEAT_CARDS = 40  # six values
    TIE_BREAKS = 46  # eight values, see TieBreak
    SIZE = 54


class Draw(IntEnum):
    """The draws that a game allows, as bits of Rule.DRAWS."""

    STOCK = 1
    DISPLAY = 2
    SWAP = 4
    TAKE_LOOSE = 8
    LIFT = 16


class MayPass(IntEnum):
    """When a seat may pass."""

    NEVER = 0
    STOCK_EMPTY = 1
    ALWAYS = 2


class TieBreak(IntEnum):
    """How to tell apart seats with equal points; TARGET + t: who claimed target t."""

    NONE = 0
    FULL_STRANDS = 1
    FEWEST_CARDS = 2
    CLAIMS = 3
    LAST_SEAT = 4
    TARGET = 16


class When(IntEnum):
    """When a bonus works."""

    ONE_TIME = 0
    LASTING = 1
    REPLY = 2


class Does(IntEnum):
    """What one part of a bonus does; its amount and kind of target follow it."""

    NOTHING = 0
    DRAW = 1
    PLAY = 2
    EXCHANGE_OPEN = 3
    TAKE_ANY_LOOSE = 4
    MOVE_END = 5
    POINTS = 6
    GUARD_LOOSE = 7
    HAND = 8
    SHORT_CLAIM = 9
    POINTS_KIND = 10
    CANCEL_TAKE = 11


@dataclass(frozen=True, slots=True)
class StrandTables:
    """All that strands are and do, by dense id: the N joined strand codes in rising order.

    ``places`` and ``sizes`` (tiers): place value and structures of each deck tier.
    ``kind_code``, ``kind_tier``, ``kind_id`` (P placed kinds): strand of that card alone.
    ``bits`` (words): which codes are joined; ``rank`` (words): joined codes before the word.
    ``codes``, ``tiers`` (N): strand code, and its tiers as bits.
    ``attach`` (N): placed kinds that may be attached.
    ``claims``, ``full`` (N, 2): targets claimed, and claimed by a full strand, 64 a word;
    `Rule.CLAIM_MINIMUM` is left to the kernel, for bonuses change it.
    ``claims_within``, ``full_within`` (LOOK_AHEAD, N, 2): the same after at most 1, 2, 3
    more attached structure cards; for ``claims_within`` with the game's ``claim_minimum``.
    ``true_claims`` (N, 2): targets of which one pathway holds a whole reading; (0, 2) where
    the rules let no other claim through.
    """

    places: IntArray
    sizes: IntArray
    kind_code: IntArray
    kind_tier: IntArray
    kind_id: IntArray
    bits: MaskArray
    rank: IntArray
    codes: IntArray
    tiers: IntArray
    attach: MaskArray
    claims: MaskArray
    full: MaskArray
    claims_within: MaskArray
    full_within: MaskArray
    true_claims: MaskArray

    def __len__(self) -> int:
        return len(self.codes)

    def id_of(self, code: int) -> int:
        """Give the dense id of a strand code, -1 if the strand is not joined."""
        word, bit = code >> 6, code & 63
        mask = int(self.bits[word])
        if not mask >> bit & 1:
            return -1
        return int(self.rank[word]) + (mask & ((1 << bit) - 1)).bit_count()


@dataclass(frozen=True, slots=True)
class FactTables:
    """What there is to know of a design (docs/rules.md, Knowledge): F facts, S structures.

    ``pairs`` (F, 2): structure and structure of each junction, in rising order, then
    structure and target of each supply. ``junctions`` (S, S), ``supplies`` (S, T): the fact
    of a pair, -1 none. ``salts`` (F, 2): of the fact, and of its false one.
    ``open_junctions`` (S), ``open_supplies`` (S, 2): structures and targets with which what
    cards print leaves a pair open. ``carded`` (1): structures that there are cards of.
    """

    pairs: IntArray
    junctions: IntArray
    supplies: IntArray
    salts: MaskArray
    open_junctions: MaskArray
    open_supplies: MaskArray
    carded: MaskArray

    def __len__(self) -> int:
        return len(self.pairs)


@dataclass(frozen=True, slots=True)
class Tables:
    """A game at one number of seats, as the kernel knows it, and the names of its numbers.

    ``rules`` (Rule.SIZE): see `Rule`. ``points`` (T, POINTS_COLUMNS): by target and cards.
    ``card_kinds``, ``card_salts`` (part cards): hand kind and salt of each card of the deck.
    ``target_cards``, ``target_salts`` (target cards): target and salt of each target card.
    ``target_kind`` (T): the target's kind as a number, in the order of ``target_kinds``.
    ``bonuses`` (bonuses, 1 + BONUS_PART_SIZE * parts): `When`, then `Does`, amount, kind of
    target for each part.
    ``card_bonus`` (T, or placed kinds if a tier prints them): the bonus, -1 none.
    """

    rules: LongArray
    strands: StrandTables
    facts: FactTables
    points: IntArray
    card_kinds: IntArray
    card_salts: MaskArray
    target_cards: IntArray
    target_salts: MaskArray
    target_kind: IntArray
    bonuses: IntArray
    card_bonus: IntArray
    hand_kinds: tuple[str, ...]
    placed_kinds: tuple[str, ...]
    targets: tuple[str, ...]
    tiers: tuple[str, ...]
    target_kinds: tuple[str, ...]
    bonus_ids: tuple[str, ...]
    version: str = ""

    @property
    def seats(self) -> int:
        """Give the number of seats that the tables are for."""
        return int(self.rules[Rule.SEATS])
