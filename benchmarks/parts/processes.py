"""What whole processes take: two threads, a cold and a warm start, memory."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from parts.designs import DEMO
from parts.page import Section, ratio

from nervure import maps
from nervure.engine import digest, play
from nervure.game.tables import Tables

BLOCK = 10_000

# Peak memory in MB. Linux counts what a process was before it became this program into
# getrusage's figure (the parent of these children is large), so its own record is read.
PEAK = """
import sys
from pathlib import Path
def peak():
    record = Path("/proc/self/status")
    if record.exists():
        found = [line.split()[1] for line in record.read_text().splitlines() if "VmHWM" in line]
        return int(found[0]) / 2**10
    if sys.platform == "win32":
        return float("nan")
    import resource
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return used / (2**20 if sys.platform == "darwin" else 2**10)
"""

# Runs the command line; prints the peak at the end to standard error.
COMMAND = (
    PEAK
    + """
import atexit
atexit.register(lambda: print(peak(), file=sys.stderr))
from nervure.cli import main
main()
"""
)

# Plays blocks and keeps sums only; prints peaks, after one block and at the end.
BLOCKS = (
    PEAK
    + """
import numpy as np
from nervure import maps
from nervure.engine import play
from nervure.game import compile_game, read_game
from nervure.project import read_folder
name, games, block = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
tables = compile_game(read_game(read_folder(maps.game_folder(name))), 4)
play(tables, ["chance"] * 4, seed=1, deals=block, workers=2)
before, turns = peak(), 0
for start in range(0, games, block):
    played = play(tables, ["chance"] * 4, seed=1, first_deal=start, deals=block, workers=2)
    turns += int(played.turns.sum())
print(before, turns)
print(peak(), file=sys.stderr)
"""
)


@dataclass(frozen=True)
class Ended:
    """What a process took: seconds by the wall clock, of CPU, peak memory in MB, its output."""

    wall: float
    cpu: float
    megabytes: float
    output: str


def run(command: list[str], **more: str) -> Ended:
    """Run a command to its end, with additions to the environment; it must succeed."""
    begun = time.perf_counter()
    before = os.times()
    done = subprocess.run(
        command, capture_output=True, text=True, env={**os.environ, **more}, check=False
    )
    after, wall = os.times(), time.perf_counter() - begun
    if done.returncode:
        raise RuntimeError(f"ended with {done.returncode}: {done.stderr[-500:]}")
    cpu = after.children_user + after.children_system
    cpu -= before.children_user + before.children_system
    return Ended(wall, cpu, float(done.stderr.split()[-1]), done.stdout)


def threads(games: dict[str, Tables], seconds: float) -> Section:
    """Play with one and two threads by the wall clock; the digests must be equal."""
    rows = []
    for style in ("chance", "builder"):
        tables = games[DEMO]
        line_up = [style] * tables.seats
        begun = time.perf_counter()
        play(tables, line_up, seed=1, deals=1000)
        deals = max(2000, int(1000 * seconds / (time.perf_counter() - begun)))
        best = {1: float("inf"), 2: float("inf")}
        digests = set()
        for _ in range(4):
            for workers in best:
                begun = time.perf_counter()
                played = play(tables, line_up, seed=1, deals=deals, workers=workers)
                best[workers] = min(best[workers], time.perf_counter() - begun)
                digests.add(digest([played]))
        assert len(digests) == 1, "two threads gave another result than one"
        rows.append([style, f"{deals:,}", ratio(best[1] / best[2]), ratio(granted()), "equal"])
    note = (
        f"Wall time, best of 4, taken in turns, on {os.cpu_count()} cores. Beside it how much more"
        " two counting processes that share nothing got done just then: other work on the"
        " machine lowers both."
    )
    header = ["style", "games", "times as fast", "the machine's own", "digests"]
    return Section("Two threads, one = 1", header, rows, [note])


def granted() -> float:
    """Tell how much faster this machine lets two processes work than one, just now.

    Two counting processes that share nothing; 2 if both have a core to themselves.
    """
    command = [sys.executable, "-c", "for _ in range(10_000_000): pass"]
    best = {1: float("inf"), 2: float("inf")}
    for _ in range(2):
        for many in best:
            begun = time.perf_counter()
            children = [subprocess.Popen(command) for _ in range(many)]
            for child in children:
                child.wait()
            best[many] = min(best[many], time.perf_counter() - begun)
    return 2 * best[1] / best[2]


def command_line(*words: str) -> list[str]:
    """Give the command line of `nervure`."""
    return [sys.executable, "-c", COMMAND, *words]


def starts(folder: Path, warm: int) -> Section:
    """Start a playtest of a thousand games with nothing compiled, then again."""
    demo = str(maps.game_folder(DEMO))
    kept = {"NUMBA_CACHE_DIR": str(folder / "kept")}
    words = ("--seats", "builder,builder", "--games", "1000", "--json", "--quiet")
    command = command_line("playtest", demo, *words, "--out", str(folder / "out"))
    cold = run(command, **kept)
    again = [run(command, **kept) for _ in range(warm)]
    assert all('"digest"' in ended.output for ended in [cold, *again])
    rows = [
        [
            "cold: nothing compiled",
            f"{cold.wall:.1f}",
            f"{cold.cpu:.1f}",
            f"{cold.megabytes:,.0f}",
        ],
        [
            f"warm, best of {warm}",
            f"{min(e.wall for e in again):.2f}",
            f"{min(e.cpu for e in again):.2f}",
            f"{min(e.megabytes for e in again):,.0f}",
        ],
    ]
    title = "`nervure playtest --seats builder,builder --games 1000`"
    return Section(
        title, ["start", "seconds (wall)", "seconds (CPU)", "peak memory, MB"], rows, []
    )


def memory(folder: Path, block_games: int, playtest_games: int) -> Section:
    """Play many games in blocks, and a whole playtest with all its measures."""
    rows: list[list[str]] = []
    if os.name == "nt":
        return Section("Memory", ["what", "peak"], rows, ["Not run: this system does not tell."])
    ended = run([sys.executable, "-c", BLOCKS, DEMO, str(block_games), str(BLOCK)])
    rows.append(
        [
            f"engine, {block_games:,} games in blocks of {BLOCK:,}, 2 threads",
            f"{ended.megabytes:,.0f}",
            f"{float(ended.output.split()[0]):,.0f} (one block)",
            f"{ended.wall:.0f}",
            f"{ended.cpu:.0f}",
        ]
    )
    words = ("--seats", "chance,chance", "--json", "--quiet", "--workers", "2")
    demo = str(maps.game_folder(DEMO))
    found = []
    for games in (playtest_games // 4, playtest_games):
        out = str(folder / f"out-{games}")
        line = command_line("playtest", demo, *words, "--games", str(games), "--out", out)
        found.append((games, run(line)))
    (few, less), (many, more) = found
    rows.append(
        [
            f"`nervure playtest`, {many:,} games, with measures and page",
            f"{more.megabytes:,.0f}",
            f"{less.megabytes:,.0f} ({few:,} games)",
            f"{more.wall:.0f}",
            f"{more.cpu:.0f}",
        ]
    )
    columns = ["what", "peak memory, MB", "to compare, MB", "seconds (wall)", "seconds (CPU)"]
    return Section("Memory", columns, rows, [])
