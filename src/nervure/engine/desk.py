"""The three arrays that the kernel reads, made of `Tables`: rules, whole numbers, words.

Everything stands in few arrays, each table at a place that the rules vector names: a
function that is compiled apart gets all its arrays by value, seven numbers each.
"""

from __future__ import annotations

from enum import IntEnum
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from nervure.engine.features import memory_size
from nervure.engine.layout import Number, numbers_size, row_size
from nervure.game.tables import LOOK_AHEAD, MOST_PART_CARDS, MOST_TIERS, Rule, Tables

Ints = npt.NDArray[np.int32]
Longs = npt.NDArray[np.int64]
Words = npt.NDArray[np.uint64]

AHEAD = 2 * (LOOK_AHEAD + 1)
"""Words a strand in the tables of claims: two for now, two for each card ahead."""


class At(IntEnum):
    """Place in the rules vector that holds where a table starts.

    In the whole numbers: PLACES .. CARD_BONUS, CODES and CARDS, the placed kind that a strand
    holds on each of MOST_TIERS tiers (-1 none, or wild); ``*_OF_TIER`` are placed kinds of a
    tier's first structure and of its wild:TIER (-1 none). In the words: BITS .. FULL;
    PLAIN_KINDS and ANY_KINDS are one mask each, the placed kinds that are hand kinds of the
    same number and those of wild:any; BELOW and ABOVE the placed kinds on tiers below or
    above one; CLAIMS and FULL have AHEAD words a strand. FACTS .. WILD_KINDS are what there is
    to know: TRUE_AFTER and TRUE_BEFORE the structures that a structure has a junction with,
    TRUE_TARGETS and TRUE_ENDS what it supplies and what supplies a target, CARDED_ON the
    structures with cards and KINDS_ON the placed kinds of a tier.
    """

    PLACES = Rule.SIZE
    SIZES = Rule.SIZE + 1
    RANK = Rule.SIZE + 2
    TIERS = Rule.SIZE + 3
    KIND_CODE = Rule.SIZE + 4
    KIND_TIER = Rule.SIZE + 5
    KIND_ID = Rule.SIZE + 6
    FIRST_OF_TIER = Rule.SIZE + 7
    WILD_OF_TIER = Rule.SIZE + 8
    POINTS = Rule.SIZE + 9
    TARGET_KIND = Rule.SIZE + 10
    BONUSES = Rule.SIZE + 11
    CARD_BONUS = Rule.SIZE + 12
    BITS = Rule.SIZE + 13
    ATTACH = Rule.SIZE + 14
    KIND_ATTACH = Rule.SIZE + 15
    PLAIN_KINDS = Rule.SIZE + 16
    ANY_KINDS = Rule.SIZE + 17
    BELOW = Rule.SIZE + 18
    ABOVE = Rule.SIZE + 19
    CLAIMS = Rule.SIZE + 20
    FULL = Rule.SIZE + 21
    BONUS_SIZE = Rule.SIZE + 22  # numbers a bonus, no place
    CODES = Rule.SIZE + 23
    FACTS = Rule.SIZE + 24  # how many facts, no place; then how many of them are junctions
    JUNCTIONS = Rule.SIZE + 25
    FACT_PAIRS = Rule.SIZE + 26
    FACT_OF_JUNCTION = Rule.SIZE + 27
    FACT_OF_SUPPLY = Rule.SIZE + 28
    FACT_SALTS = Rule.SIZE + 29
    OPEN_AFTER = Rule.SIZE + 30
    OPEN_TARGETS = Rule.SIZE + 31
    TRUE_AFTER = Rule.SIZE + 32
    TRUE_BEFORE = Rule.SIZE + 33
    TRUE_TARGETS = Rule.SIZE + 34
    TRUE_ENDS = Rule.SIZE + 35
    CARDED_ON = Rule.SIZE + 36
    KINDS_ON = Rule.SIZE + 37
    WILD_KINDS = Rule.SIZE + 38
    TRUE_CLAIMS = Rule.SIZE + 39  # -1 where every claim is true
    MEMORY = Rule.SIZE + 40  # numbers of memory a player has, no place
    CARDS = Rule.SIZE + 41
    SIZE = Rule.SIZE + 42


class Desk(NamedTuple):
    """A game as the kernel reads it; `At` tells where what stands."""

    rules: Longs
    ints: Ints
    words: Words


class Decks(NamedTuple):
    """The cards of a game in the order of the deck list, and their salts."""

    cards: Ints
    card_salts: Words
    targets: Ints
    target_salts: Words


def desk_of(tables: Tables) -> Desk:
    """Lay a game's tables out for the kernel."""
    rules, strands = tables.rules, tables.strands
    first_any, kinds = int(rules[Rule.FIRST_ANY_KIND]), int(rules[Rule.PLACED_KINDS])
    structures, tiers = int(rules[Rule.STRUCTURES]), int(rules[Rule.TIERS])
    on_tier = [0] * tiers
    wild_of_tier = [-1] * tiers
    for kind, tier in enumerate(strands.kind_tier.tolist()):
        on_tier[tier] |= 1 << kind
        if structures <= kind < first_any:
            wild_of_tier[tier] = kind
    first_of_tier = np.concatenate([[0], np.cumsum(strands.sizes)[:-1]])
    ints = {
        At.PLACES: strands.places,
        At.SIZES: strands.sizes,
        At.RANK: strands.rank,
        At.TIERS: strands.tiers,
        At.CODES: strands.codes,
        At.KIND_CODE: strands.kind_code,
        At.KIND_TIER: strands.kind_tier,
        At.KIND_ID: strands.kind_id,
        At.FIRST_OF_TIER: first_of_tier,
        At.WILD_OF_TIER: np.array(wild_of_tier),
        At.POINTS: tables.points,
        At.TARGET_KIND: tables.target_kind,
        At.BONUSES: tables.bonuses,
        At.CARD_BONUS: tables.card_bonus,
        At.CARDS: _cards(strands.codes, strands.places, strands.sizes, first_of_tier),
    }
    facts = tables.facts
    ints |= {
        At.FACT_PAIRS: facts.pairs,
        At.FACT_OF_JUNCTION: facts.junctions,
        At.FACT_OF_SUPPLY: facts.supplies,
    }
    carded = int(facts.carded[0])
    words = {
        At.BITS: strands.bits,
        At.ATTACH: strands.attach,
        At.KIND_ATTACH: strands.attach[strands.kind_id],
        At.PLAIN_KINDS: _words([(1 << first_any) - 1]),
        At.ANY_KINDS: _words([(1 << kinds) - (1 << first_any)]),
        At.BELOW: _words([sum(on_tier[:tier]) for tier in range(tiers + 1)]),
        At.ABOVE: _words([sum(on_tier[tier + 1 :]) for tier in range(tiers + 1)]),
        At.CLAIMS: _ahead(strands.claims, strands.claims_within),
        At.FULL: _ahead(strands.full, strands.full_within),
        At.FACT_SALTS: facts.salts,
        At.OPEN_AFTER: facts.open_junctions,
        At.OPEN_TARGETS: facts.open_supplies,
        At.TRUE_AFTER: _bits_of(facts.junctions >= 0),
        At.TRUE_BEFORE: _bits_of(facts.junctions.T >= 0),
        At.TRUE_TARGETS: _bits_of(facts.supplies >= 0, 2),
        At.TRUE_ENDS: _bits_of(facts.supplies.T >= 0),
        At.CARDED_ON: _words([mask & carded for mask in on_tier]),
        At.KINDS_ON: _words(on_tier),
        At.WILD_KINDS: _words([(1 << kinds) - (1 << structures)]),
        At.TRUE_CLAIMS: strands.true_claims,
    }
    vector = np.zeros(At.SIZE, dtype=np.int64)
    vector[: Rule.SIZE] = rules
    for pool in (ints, words):
        start = 0
        for place, table in pool.items():
            vector[place] = start
            start += table.size
    vector[At.BONUS_SIZE] = tables.bonuses.shape[1]
    vector[At.MEMORY] = memory_size(len(strands))
    vector[At.FACTS] = len(facts)
    vector[At.JUNCTIONS] = int((facts.junctions >= 0).sum())
    if not len(strands.true_claims):
        vector[At.TRUE_CLAIMS] = -1
    return Desk(
        rules=vector,
        ints=np.concatenate([table.ravel() for table in ints.values()]).astype(np.int32),
        words=np.concatenate([table.ravel() for table in words.values()]),
    )


def decks_of(tables: Tables) -> Decks:
    """Give the decks that a game is dealt from."""
    return Decks(tables.card_kinds, tables.card_salts, tables.target_cards, tables.target_salts)


def _cards(codes: Ints, places: Ints, sizes: Ints, first_of_tier: Longs) -> Longs:
    tiers = len(sizes)
    digits = codes[:, None] // places[:tiers] % (sizes + 2)
    cards = np.full((len(codes), MOST_TIERS), -1, dtype=np.int64)
    cards[:, :tiers] = np.where((digits > 0) & (digits <= sizes), first_of_tier + digits - 1, -1)
    return cards


def _ahead(now: Words, within: Words) -> Words:
    table = np.concatenate([now[None], within]).transpose(1, 0, 2)
    return np.ascontiguousarray(table)


def _words(values: list[int]) -> Words:
    return np.array(values, dtype=np.uint64)


def _bits_of(flags: npt.NDArray[np.bool_], words: int = 1) -> Words:
    """Give rows of flags as words of 64 bits, the lowest first."""
    padded = np.zeros((len(flags), 64 * words), dtype=np.bool_)
    padded[:, : flags.shape[1]] = flags
    return np.packbits(padded, axis=1, bitorder="little").view("<u8").astype(np.uint64)


class Sizes(NamedTuple):
    """Lengths of the arrays that go with a desk."""

    numbers: int
    row: int
    scratch: int


def sizes_of(tables: Tables) -> Sizes:
    """Give the lengths of a state's numbers, of a result row, and of the sorting scratch."""
    cards, targets = len(tables.card_kinds), len(tables.target_cards)
    return Sizes(
        numbers=numbers_size(targets),
        row=row_size(tables.seats, len(tables.targets), len(tables.hand_kinds)),
        scratch=2 * max(cards, targets) + 8,
    )


assert Number.TARGET_STOCK - Number.STOCK == MOST_PART_CARDS
assert MOST_TIERS == 6  # keys of strand records hold six tiers of wild:any
