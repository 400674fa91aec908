"""How fast and how well the styles weigher and searcher play the bundled main game.

Run ``python benchmarks/search.py [deals]``. Speeds are decisions a second of processor time on
one core, forced ones counted, with one style in every seat; win shares are of the first style
against the second at two seats, both rotations of each deal, with 95 % intervals.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from nervure.engine import Games, play
from nervure.game import read_game
from nervure.game.compile import compile_game
from nervure.game.tables import Tables
from nervure.maps import game_folder
from nervure.project import read_folder

GAME = "giants-leg"
SPEEDS = (("builder", 2_000), ("weigher", 2_000), ("searcher:20", 8), ("searcher:100", 3))
PAIRS = (
    ("weigher", "sprinter", 20),
    ("weigher", "builder", 20),
    ("searcher:20", "weigher", 2),
    ("searcher:100", "weigher", 1),
)


def timed(tables: Tables, style: str, deals: int) -> tuple[Games, float]:
    """Play deals with one style in every seat; give the games and processor seconds."""
    line_up = [style] * tables.seats
    play(tables, line_up, seed=1, deals=1)
    begun = time.process_time()
    games = play(tables, line_up, seed=1, deals=deals)
    return games, time.process_time() - begun


def share(tables: Tables, one: str, other: str, deals: int) -> tuple[float, float]:
    """Give the first style's win share and half its 95 % interval, over deals."""
    games = play(tables, [one, other], seed=1, deals=deals, rotations="all")
    won = np.where(games.player == 0, games.share, 0).sum(axis=1).reshape(deals, 2).mean(axis=1)
    return float(won.mean() / 60), float(1.96 * won.std(ddof=1) / 60 / np.sqrt(deals))


def main(deals: int) -> None:
    game = compile_game(read_game(read_folder(game_folder(GAME))), 2)
    print(f"{GAME}, two seats")
    print(f"{'style':14} {'games/s':>9} {'decisions/s':>12} {'not forced':>11}")
    for style, many in SPEEDS:
        games, seconds = timed(game, style, many)
        decisions = int(games.decisions.sum())
        free = 1 - games.forced.sum() / decisions
        print(f"{style:14} {many / seconds:9,.1f} {decisions / seconds:12,.0f} {free:11.1%}")
    for one, other, factor in PAIRS:
        value, half = share(game, one, other, deals * factor)
        print(f"{one} against {other}: {value:.3f} ± {half:.3f} ({2 * deals * factor:,} games)")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
