"""How fast complete games are played: games and decisions a second, by style and threads.

Run ``python benchmarks/engine.py [games]``. Absolute figures drift with the machine and
with who else uses it; look at the ratios of one run: styles beside chance, two threads
beside one (by the wall clock), and statistics beside none are all from the same sitting.
Fails loudly if a release of numba undoes what docs/engine.md relies on: chance must play at
least forty times as many decisions as stepping through `Position` does.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable

import numpy as np

from nervure.engine import Games, Position, play
from nervure.game.compile import salt
from nervure.game.strand_tables import DeckWay, StrandDesign, strand_tables
from nervure.game.tables import Draw, Rule, Tables, TieBreak

SIZES = (8, 6, 9, 22)
TARGETS = 45
SEATS = 3
LEAST_OVER_STEPS = 40


def design() -> StrandDesign:
    """Give 45 structures on four tiers and 45 targets; every structure has one or two ways in."""
    chance = random.Random(5)
    first = [sum(SIZES[:tier]) for tier in range(len(SIZES))]
    before = {
        number: chance.sample(range(first[tier - 1], first[tier]), chance.choice((1, 1, 2)))
        for tier in range(1, len(SIZES))
        for number in range(first[tier], first[tier] + SIZES[tier])
    }

    def ways_to(structure: int) -> list[tuple[int, ...]]:
        if structure < SIZES[0]:
            return [(structure,)]
        return [(*way, structure) for start in before[structure] for way in ways_to(start)]

    ways = tuple(
        DeckWay(target, True, way)
        for target in range(TARGETS)
        for way in ways_to(chance.randrange(first[-1], sum(SIZES)))
    )
    return StrandDesign(SIZES, TARGETS, ways, frozenset(range(SIZES[0])))


def tables() -> Tables:
    """Give the design's tables: the default rules, two copies of each part card."""
    structures = sum(SIZES)
    rules = np.zeros(Rule.SIZE, dtype=np.int64)
    for rule, value in {
        Rule.SEATS: SEATS,
        Rule.TIERS: len(SIZES),
        Rule.STRUCTURES: structures,
        Rule.HAND_KINDS: structures,
        Rule.PLACED_KINDS: structures,
        Rule.TARGETS: TARGETS,
        Rule.PART_CARDS: 2 * structures,
        Rule.TARGET_CARDS: TARGETS,
        Rule.ANY_HAND_KIND: -1,
        Rule.FIRST_ANY_KIND: structures,
        Rule.VARIANT_KIND: -1,
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
        Rule.BONUS_TIER: -1,
        Rule.TIE_BREAKS: TieBreak.FULL_STRANDS,
        Rule.TIE_BREAKS + 1: TieBreak.FEWEST_CARDS,
    }.items():
        rules[rule] = value
    names = tuple(f"s{number}" for number in range(structures))
    targets = tuple(f"t{number}" for number in range(TARGETS))
    cards = [(kind, salt(f"{name}#{c}")) for kind, name in enumerate(names) for c in (1, 2)]
    return Tables(
        rules=rules,
        strands=strand_tables(design()),
        points=np.tile(np.array([0, 0, 2, 4, 7, 7, 7], dtype=np.int32), (TARGETS, 1)),
        card_kinds=np.array([kind for kind, _ in cards], dtype=np.int32),
        card_salts=np.array([word for _, word in cards], dtype=np.uint64),
        target_cards=np.arange(TARGETS, dtype=np.int32),
        target_salts=np.array([salt(f"{name}#1") for name in targets], dtype=np.uint64),
        target_kind=np.zeros(TARGETS, dtype=np.int32),
        bonuses=np.zeros((0, 1), dtype=np.int32),
        card_bonus=np.full(TARGETS, -1, dtype=np.int32),
        hand_kinds=names,
        placed_kinds=names,
        targets=targets,
        tiers=("a", "b", "c", "d"),
        target_kinds=("muscle",),
        bonus_ids=(),
    )


def best_of(
    times: int, run: Callable[[], Games], clock: Callable[[], float]
) -> tuple[Games, float]:
    """Give the result and the shortest time of several runs."""
    seconds = []
    for _ in range(times):
        begun = clock()
        games = run()
        seconds.append(clock() - begun)
    return games, min(seconds)


def steps(game: Tables, deals: int) -> float:
    """Give the decisions a second of stepping through games by `Position`."""
    begun, decisions = time.process_time(), 0
    for deal in range(deals):
        position = Position.start(game, 1, deal)
        while not position.finished:
            position.apply(position.choose(["chance"] * SEATS))
            decisions += 1
    return decisions / (time.process_time() - begun)


def main(games: int) -> int:
    game = tables()
    play(game, ["chance"] * SEATS, seed=1, deals=10, on_prepare=lambda: print("preparing ..."))
    print(f"{len(game.strands)} strand codes, {games} games of {SEATS} seats, best of 3")
    print(f"{'style':10} {'games/s':>10} {'decisions/s':>12} {'not forced':>11} {'2 threads':>10}")
    fastest = 0.0
    for style in ("chance", "sprinter", "builder"):
        line_up = [style] * SEATS

        def run(workers: int = 1, line_up: list[str] = line_up) -> Games:
            return play(game, line_up, seed=1, deals=games, workers=workers)

        played, seconds = best_of(3, run, time.process_time)
        _, wall = best_of(3, run, time.perf_counter)
        _, wall_two = best_of(3, lambda run=run: run(2), time.perf_counter)  # type: ignore[misc]
        decisions = int(played.decisions.sum())
        free = 1 - played.forced.sum() / decisions
        fastest = max(fastest, decisions / seconds)
        print(
            f"{style:10} {games / seconds:10,.0f} {decisions / seconds / 1e6:10.2f} M "
            f"{free:11.0%} {wall / wall_two:9.2f}x"
        )
    ratio = fastest / steps(game, 20)
    print(f"chance beside stepping through Position: {ratio:,.0f}x")
    if ratio < LEAST_OVER_STEPS:
        print(f"TOO SLOW: less than {LEAST_OVER_STEPS}x; see docs/engine.md, Lessons")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000))
