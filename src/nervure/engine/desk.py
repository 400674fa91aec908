"""The arrays that the kernel reads, made of `Tables`: flat columns and ready masks."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from nervure.engine.layout import Number, numbers_size, row_size
from nervure.game.tables import MOST_PART_CARDS, MOST_TIERS, Rule, Tables

Ints = npt.NDArray[np.int32]
Words = npt.NDArray[np.uint64]


class Desk(NamedTuple):
    """A game as the kernel reads it; the names are those of `Tables` and `StrandTables`.

    ``plain_kinds``, ``any_kinds`` (1): placed kinds that are hand kinds of the same number,
    and those of wild:any. ``below``, ``above`` (tiers + 1): placed kinds on tiers below or
    above one. ``first_of_tier``, ``wild_of_tier``: placed kinds of a tier's first structure
    and of its wild:TIER (-1 none). ``kind_*``: strand tables of single cards.
    """

    rules: npt.NDArray[np.int64]
    places: Ints
    sizes: Ints
    bits: Words
    rank: Ints
    tiers: Ints
    attach: Words
    claims_low: Words
    claims_high: Words
    full_low: Words
    full_high: Words
    claims_within: Words
    full_within: Words
    kind_code: Ints
    kind_tier: Ints
    kind_id: Ints
    kind_attach: Words
    plain_kinds: Words
    any_kinds: Words
    below: Words
    above: Words
    first_of_tier: Ints
    wild_of_tier: Ints
    points: Ints
    card_kinds: Ints
    card_salts: Words
    target_cards: Ints
    target_salts: Words
    target_kind: Ints
    bonuses: Ints
    card_bonus: Ints


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
    below = [sum(on_tier[:tier]) for tier in range(tiers + 1)]
    above = [sum(on_tier[tier + 1 :]) for tier in range(tiers + 1)]
    return Desk(
        rules=rules,
        places=strands.places,
        sizes=strands.sizes,
        bits=strands.bits,
        rank=strands.rank,
        tiers=strands.tiers,
        attach=strands.attach,
        claims_low=_column(strands.claims, 0),
        claims_high=_column(strands.claims, 1),
        full_low=_column(strands.full, 0),
        full_high=_column(strands.full, 1),
        claims_within=strands.claims_within,
        full_within=strands.full_within,
        kind_code=strands.kind_code,
        kind_tier=strands.kind_tier,
        kind_id=strands.kind_id,
        kind_attach=strands.attach[strands.kind_id],
        plain_kinds=_words([(1 << first_any) - 1]),
        any_kinds=_words([(1 << kinds) - (1 << first_any)]),
        below=_words(below),
        above=_words(above),
        first_of_tier=np.concatenate([[0], np.cumsum(strands.sizes)[:-1]]).astype(np.int32),
        wild_of_tier=np.array(wild_of_tier, dtype=np.int32),
        points=tables.points,
        card_kinds=tables.card_kinds,
        card_salts=tables.card_salts,
        target_cards=tables.target_cards,
        target_salts=tables.target_salts,
        target_kind=tables.target_kind,
        bonuses=tables.bonuses,
        card_bonus=tables.card_bonus,
    )


def _column(table: Words, word: int) -> Words:
    return np.ascontiguousarray(table[:, word])


def _words(values: list[int]) -> Words:
    return np.array(values, dtype=np.uint64)


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
        scratch=4 * max(cards, targets) + 8,
    )


assert Number.TARGET_STOCK - Number.STOCK == MOST_PART_CARDS
assert MOST_TIERS == 6  # keys of strand records hold six tiers of wild:any
