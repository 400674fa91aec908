"""How well the styles play beside how fast: the ladder, the searcher, its constants."""

from __future__ import annotations

import time

import numpy as np
from parts.page import Section

from nervure.engine import Games, play
from nervure.game.tables import Tables

LADDER = (
    ("sprinter", "chance", 20),
    ("builder", "chance", 20),
    ("weigher", "sprinter", 20),
    ("weigher", "builder", 20),
    ("searcher:100", "weigher", 1),
)
"""Better, worse, and how many times the deals of the searcher."""

# N / style of playouts / turns / bias / widening / sweeps / exploration (docs/styles.md).
SWEEP = {
    "as it is": "searcher:40",
    "playouts by chance": "searcher:40/chance/4/400/4/1/70",
    "cut after 2 turns": "searcher:40/weigher/2/400/4/1/70",
    "cut after 8 turns": "searcher:40/weigher/8/400/4/1/70",
    "no bias": "searcher:40/weigher/4/0/4/1/70",
    "no widening": "searcher:40/weigher/4/400/0/1/70",
    "a deal for each playout": "searcher:40/weigher/4/400/4/0/70",
    "explores less": "searcher:40/weigher/4/400/4/1/35",
    "explores more": "searcher:40/weigher/4/400/4/1/140",
    "half the playouts": "searcher:20",
    "twice the playouts": "searcher:80",
}


def share(tables: Tables, one: str, other: str, deals: int) -> tuple[float, float]:
    """Give the first style's win share and half its 95 % interval, over deals.

    Two seats, both rotations of each deal, two threads.
    """
    games = play(tables, [one, other], seed=1, deals=deals, rotations="all", workers=2)
    won = np.where(games.player == 0, games.share, 0).sum(axis=1).reshape(deals, 2).mean(axis=1)
    return float(won.mean() / 60), float(1.96 * won.std(ddof=1) / 60 / np.sqrt(deals))


def timed(tables: Tables, style: str, deals: int) -> tuple[Games, float]:
    """Play deals with one style in every seat; give the games and processor seconds."""
    line_up = [style] * tables.seats
    play(tables, line_up, seed=1, deals=1)
    begun = time.process_time()
    games = play(tables, line_up, seed=1, deals=deals)
    return games, time.process_time() - begun


def ladder(tables: Tables, name: str, deals: int) -> Section:
    """Play each step of the ladder."""
    rows = []
    for better, worse, factor in LADDER:
        value, half = share(tables, better, worse, deals * factor)
        holds = "yes" if value - half > 0.5 else "no"
        games = f"{2 * deals * factor:,}"
        rows.append([f"{better} against {worse}", f"{value:.3f} ± {half:.3f}", games, holds])
    header = ["step", "win share, 95 % interval", "games", "above one half"]
    return Section(f"Skill ladder: {name}, two seats", header, rows)


def searching(games: dict[str, Tables], style: str, deals: int) -> Section:
    """Tell how fast the searcher is on every design, the same style in every seat."""
    rows = []
    for name, tables in games.items():
        played, seconds = timed(tables, style, deals)
        made = int(played.decisions.sum())
        free = made - int(played.forced.sum())
        rows.append(
            [
                name,
                f"{made / seconds:,.0f}",
                f"{free / seconds:,.0f}",
                f"{deals / seconds:.2f}",
                f"{1000 * seconds / free:.2f}",
            ]
        )
    header = ["design", "decisions/s", "not forced/s", "games/s", "ms a decision not forced"]
    note = f"CPU time, {deals} games each after one that is not counted."
    return Section(f"`{style}` in every seat", header, rows, [note])


def sweep(tables: Tables, name: str, deals: int) -> Section:
    """Change the searcher's constants one at a time."""
    rows = []
    for what, style in SWEEP.items():
        value, half = share(tables, style, "weigher", deals)
        played, seconds = timed(tables, style, 2)
        rate = int(played.decisions.sum()) / seconds
        rows.append([what, f"`{style}`", f"{value:.3f} ± {half:.3f}", f"{rate:,.0f}"])
    note = f"{2 * deals} games each, the same deals: the wide intervals tell only what is coarse."
    header = ["what", "style", "win share against weigher", "decisions/s"]
    return Section(f"The searcher's constants: {name}, two seats", header, rows, [note])
