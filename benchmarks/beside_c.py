"""Random play beside hand-written C: the same games, one core, interleaved, ratio first."""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent / "yardstick"))

import build

from nervure import maps
from nervure.engine import play
from nervure.game import compile_game, read_game
from nervure.project import read_folder

SEATS = 3
REPETITIONS = 5


def beside(name: str, program: Path, games: int) -> str:
    """Give one line: how the engine's time relates to that of C for a bundled game."""
    game = read_game(build.plain_form(read_folder(maps.game_folder(name))))
    tables = compile_game(game, SEATS)
    line_up = ["chance"] * SEATS
    play(tables, line_up, seed=1, first_deal=0, deals=10)
    with tempfile.TemporaryDirectory() as folder:
        build.write_tables(tables, Path(folder) / "tables")
        ours, theirs, decisions = [], [], 0
        for _ in range(REPETITIONS):
            begun = time.process_time()
            played = play(tables, line_up, seed=1, first_deal=0, deals=games)
            ours.append(time.process_time() - begun)
            decisions = int(played.decisions.sum())
            runs = build.run(
                program,
                Path(folder) / "tables",
                seed=1,
                first_deal=0,
                deals=games,
                rotations=1,
                rows=Path(folder) / "rows",
            )
            theirs += [run.seconds for run in runs]
    mine, c = min(ours), min(theirs)
    return (
        f"{name:14} {mine / c:5.2f} times the time of C   "
        f"{decisions / mine / 1e6:5.2f} M and {decisions / c / 1e6:5.2f} M decisions/s, "
        f"{games / mine:,.0f} and {games / c:,.0f} games/s"
    )


def main() -> None:
    if build.compiler() is None:
        print("beside C: not run, no C compiler on this machine")
        return
    games = int(sys.argv[1]) if len(sys.argv) > 1 else 5_000
    with tempfile.TemporaryDirectory() as folder:
        program = build.compile_yardstick(Path(folder))
        print(
            f"random play, {SEATS} seats, plain form of the bundled games, best of {REPETITIONS}"
        )
        for name in maps.bundled_games():
            print(beside(name, program, games))


if __name__ == "__main__":
    main()
