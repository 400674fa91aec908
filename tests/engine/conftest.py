"""Invented designs for tests of the engine: strands, rules and decks as plain numbers."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from nervure.game.compile import salt
from nervure.game.fact_tables import PrintRules, fact_tables
from nervure.game.strand_tables import DeckWay, StrandDesign, strand_tables
from nervure.game.tables import Draw, Rule, Tables, TieBreak

DEFAULTS = {
    Rule.ANY_HAND_KIND: -1,
    Rule.VARIANT_KIND: -1,
    Rule.BONUS_TIER: -1,
    Rule.HAND: 4,
    Rule.DISPLAY: 3,
    Rule.OPEN_TARGETS: 4,
    Rule.DRAWS: Draw.STOCK | Draw.DISPLAY | Draw.SWAP,
    Rule.DRAW_COUNT: 1,
    Rule.PLAY_COUNT: 1,
    Rule.MUST_PLAY: 1,
    Rule.CLAIM_MINIMUM: 2,
    Rule.REFILL: 1,
    Rule.LATE_LIFTS: 2,
    Rule.END_CLAIMS: 6,
    Rule.TIE_BREAKS: TieBreak.FULL_STRANDS,
    Rule.TIE_BREAKS + 1: TieBreak.FEWEST_CARDS,
}


def tables_of(
    design: StrandDesign,
    seats: int,
    *,
    copies: int = 2,
    target_copies: int = 1,
    points: tuple[int, ...] = (0, 0, 2, 4, 7, 7, 7),
    **rules: int,
) -> Tables:
    """Give the tables of a design; ``rules`` by the names of `Rule`, in small letters."""
    structures = sum(design.sizes)
    placed = structures + len(design.wild_tiers) + len(design.sizes) * design.wild_any
    hand_kinds = [f"s{number}" for number in range(structures)]
    hand_kinds += [f"wild:{tier}" for tier in design.wild_tiers]
    hand_kinds += ["wild:any"] * design.wild_any
    targets = [f"t{number}" for number in range(design.targets)]
    parts = [(kind, copy) for kind in range(len(hand_kinds)) for copy in range(1, copies + 1)]
    ends = [(kind, copy) for kind in range(len(targets)) for copy in range(1, target_copies + 1)]
    vector = np.zeros(Rule.SIZE, dtype=np.int64)
    values = {
        **DEFAULTS,
        Rule.SEATS: seats,
        Rule.TIERS: len(design.sizes),
        Rule.STRUCTURES: structures,
        Rule.HAND_KINDS: len(hand_kinds),
        Rule.PLACED_KINDS: placed,
        Rule.TARGETS: design.targets,
        Rule.PART_CARDS: len(parts),
        Rule.TARGET_CARDS: len(ends),
        Rule.FIRST_ANY_KIND: placed - len(design.sizes) * design.wild_any,
        Rule.CLAIM_MINIMUM: design.claim_minimum,
        Rule.INSERT: design.insert,
        **{Rule[name.upper()]: value for name, value in rules.items()},
    }
    if design.wild_any:
        values[Rule.ANY_HAND_KIND] = len(hand_kinds) - 1
    for rule, value in values.items():
        vector[rule] = value
    strands = strand_tables(design)
    prints = PrintRules("nothing", "nothing", False, False, [False] * structures, [])
    return Tables(
        rules=vector,
        strands=strands,
        facts=fact_tables(
            strands,
            hand_kinds[:structures],
            targets,
            carded=[True] * structures,
            shortest=design.claim_minimum,
            prints=prints,
        ),
        points=np.tile(np.array(points, dtype=np.int32), (design.targets, 1)),
        card_kinds=np.array([kind for kind, _ in parts], dtype=np.int32),
        card_salts=np.array([salt(f"{hand_kinds[k]}#{c}") for k, c in parts], dtype=np.uint64),
        target_cards=np.array([kind for kind, _ in ends], dtype=np.int32),
        target_salts=np.array([salt(f"{targets[k]}#{c}") for k, c in ends], dtype=np.uint64),
        target_kind=np.zeros(design.targets, dtype=np.int32),
        bonuses=np.zeros((0, 1), dtype=np.int32),
        card_bonus=np.full(design.targets, -1, dtype=np.int32),
        hand_kinds=tuple(hand_kinds),
        placed_kinds=tuple(f"p{number}" for number in range(placed)),
        targets=tuple(targets),
        tiers=tuple(f"tier-{number}" for number in range(len(design.sizes))),
        target_kinds=("muscle",),
        bonus_ids=(),
    )


def tree_design(
    sizes: tuple[int, ...] = (3, 4, 8), targets: int = 12, seed: int = 7, **more: Any
) -> StrandDesign:
    """Give a design whose structures each continue one or two of the tier before."""
    chance = random.Random(seed)
    first = [sum(sizes[:tier]) for tier in range(len(sizes))]
    before: dict[int, list[int]] = {}
    for tier in range(1, len(sizes)):
        earlier = range(first[tier - 1], first[tier])
        for number in range(first[tier], first[tier] + sizes[tier]):
            before[number] = chance.sample(earlier, chance.choice((1, 1, 2)))

    def ways_to(structure: int) -> list[tuple[int, ...]]:
        if structure < sizes[0]:
            return [(structure,)]
        return [(*way, structure) for start in before[structure] for way in ways_to(start)]

    ends = range(first[-1], first[-1] + sizes[-1])
    ways = tuple(
        DeckWay(target, True, way)
        for target in range(targets)
        for way in ways_to(chance.choice(ends))
    )
    return StrandDesign(
        sizes=sizes, targets=targets, ways=ways, origins=frozenset(range(sizes[0])), **more
    )


@pytest.fixture
def make_tables() -> Callable[..., Tables]:
    """Make tables of a `StrandDesign`."""
    return tables_of


@pytest.fixture
def make_tree() -> Callable[..., StrandDesign]:
    """Make a tree-like `StrandDesign`."""
    return tree_design


@pytest.fixture(scope="session")
def tree_tables() -> Tables:
    """Give a design of 15 structures and 12 targets at three seats."""
    return tables_of(tree_design(), 3)
