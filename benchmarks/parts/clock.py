"""Time that a shared machine does not spoil: CPU time, one core, turns taken, the best kept.

Figures of one run are comparable with each other; those of two runs are not.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

Count = tuple[float, int, int, int]
"""Seconds of CPU time, games, decisions, decisions that were not forced."""


@dataclass
class Contender:
    """Something that plays games, and the best of its turns.

    ``play`` is given a number of games; ``games`` is how many it plays a turn.
    """

    name: str
    play: Callable[[int], Count]
    games: int = 0
    best: Count = (float("inf"), 0, 0, 0)
    turns: list[float] = field(default_factory=list)  # seconds a decision, turn by turn

    @property
    def decision(self) -> float:
        """Give the seconds of a decision."""
        return self.best[0] / self.best[2]

    def rate(self, column: int) -> float:
        """Give games (1), decisions (2) or unforced decisions (3) a second."""
        return self.best[column] / self.best[0]


def take_turns(contenders: Sequence[Contender], repeats: int, seconds: float) -> None:
    """Let all play so many turns of about so many seconds each, one after the other."""
    for contender in contenders:
        contender.play(50)  # compiles, fills caches
        used, games, *_ = contender.play(200)
        contender.games = max(100, int(games * seconds / max(used, 1e-9)))
    for _ in range(repeats):
        for contender in contenders:
            count = contender.play(contender.games)
            contender.turns.append(count[0] / count[2])
            if count[0] / count[2] < contender.best[0] / max(contender.best[2], 1):
                contender.best = count


@contextmanager
def one_core() -> Iterator[bool]:
    """Keep this process and its children on the core that is least busy, where that can be."""
    if not hasattr(os, "sched_setaffinity"):
        yield False
        return
    before = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {_idlest(before)})
    try:
        yield True
    finally:
        os.sched_setaffinity(0, before)


def _idlest(cores: set[int]) -> int:
    statistics = Path("/proc/stat")
    if not statistics.exists():
        return min(cores)

    def idle() -> dict[int, int]:
        lines = [line.split() for line in statistics.read_text().splitlines()]
        return {int(w[0][3:]): int(w[4]) for w in lines if w[0][:3] == "cpu" and w[0][3:]}

    before = idle()
    time.sleep(0.3)
    after = idle()
    return max(cores, key=lambda core: after.get(core, 0) - before.get(core, 0))
