"""The playtest as a job: in pieces of half a second, written down every few seconds."""

from __future__ import annotations

import os
from collections.abc import Callable
from time import monotonic
from typing import Any

from nervure.api.summaries import playtest_summary
from nervure.errors import BadUsage
from nervure.playtest import Experiment, Onlooker, Options, run
from nervure.project import write_text_safely
from nervure.report import playtest_page
from nervure.table import Job, Progress, Stop, Work
from nervure.web.bench import Bench

PLAYTEST = "playtest"
PIECE_SECONDS = 0.5
KEEP_SECONDS = 1.5
KEEP_SHARE = 8  # at most so small a share of the time goes into writing down
FIRST_DEALS, MOST_DEALS = 16, 2000

Clock = Callable[[], float]


class Watch:
    """Makes pieces of half a second, and has what is done written down now and then.

    The speed of each line-up is learned as it plays: a search takes a thousand times as
    long as a chance move.
    """

    def __init__(self, clock: Clock = monotonic) -> None:
        self._clock = clock
        self._deals: dict[tuple[str, ...], int] = {}
        self._begun = self._kept = clock()
        self._cost = 0.0
        self._writes = False
        self._last: tuple[str, ...] | None = None

    def pace(self, experiment: Experiment) -> int:
        """Give the most deals of the next piece."""
        self._settle()
        self._begun, self._last = self._clock(), experiment.line_up
        return self._deals.setdefault(experiment.line_up, FIRST_DEALS)

    def keep(self) -> bool:
        """Tell whether what is done is to be written down now."""
        now = self._clock()
        self._learn(now)
        wait = max(KEEP_SECONDS, KEEP_SHARE * self._cost)
        self._writes = now - self._kept >= wait
        self._kept = now if self._writes else self._kept
        return self._writes

    def _settle(self) -> None:
        """Learn how long writing took."""
        if self._writes:
            self._cost = self._clock() - self._kept
            self._kept, self._writes = self._clock(), False

    def _learn(self, now: float) -> None:
        """Aim at half a second, by at most four times more or less at once."""
        if self._last is None:
            return
        spent = max(1e-3, now - self._begun)
        factor = min(4.0, max(0.25, PIECE_SECONDS / spent))
        deals = int(self._deals[self._last] * factor)
        self._deals[self._last] = min(MOST_DEALS, max(1, deals))


def options_of_job(job: Job) -> Options:
    """Give the options that a job keeps as plain data."""
    given = job.options
    return Options(
        seats=None if given["seats"] is None else tuple(given["seats"]),
        players=given["players"],
        games=given["games"],
        precision=given["precision"],
        seed=given["seed"],
        # Games that are there already are the same ones; but a playtest that ends once it
        # is precise enough has to look for its end from the start.
        go_on=job.goes_on or given["precision"] is None,
        workers=os.cpu_count() or 1,
    )


def works(bench: Bench) -> dict[str, Work]:
    """Give what does the page's jobs."""
    say = bench.view.say

    def play(job: Job, progress: Progress, stop: Stop) -> dict[str, Any]:
        opened = bench.project(job.project)
        game = opened.read().project.require_sound()
        if job.goes_on and job.options["design"] != game.version:
            raise BadUsage(say("web.playtest.other-design"))
        folder = opened.path / "out" / "playtest"
        watch = Watch()
        result = run(
            game,
            folder,
            options_of_job(job),
            progress=lambda kind, done, total: progress(say(f"playtest.step-{kind}"), done, total),
            stop=stop,
            on_prepare=lambda: progress(say("playtest.preparing"), 0, 0),
            onlooker=Onlooker(watch.pace, watch.keep),
        )
        page = folder / "index.html"
        write_text_safely(page, playtest_page(result, game), keep_backup=False)
        return {
            "sentence": playtest_summary(result.to_dict()),
            "digest": result.digest,
            "complete": not result.stopped,
        }

    return {PLAYTEST: play}
