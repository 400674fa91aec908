"""How far long work is, on a terminal; and how it is stopped without losing what is done."""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

from nervure import words
from nervure.cli.show import console_on, say

Report = Callable[[str, int, int], None]
Stop = Callable[[], bool]


@contextmanager
def progress(quiet: bool) -> Iterator[Report]:
    """Give a function (what is done, done, all) that draws on a terminal's standard error.

    All of 0 means that nobody knows how much it is.
    """
    if quiet or not sys.stderr.isatty():
        yield lambda label, done, total: None
        return
    columns = (TextColumn("{task.description}"), BarColumn(), TimeRemainingColumn())
    with Progress(*columns, console=console_on(sys.stderr), transient=True) as bars:
        task = bars.add_task("", total=None, visible=False)

        def report(label: str, done: int, total: int) -> None:
            bars.update(task, description=label, completed=done, total=total or None, visible=True)

        yield report


class Stopping:
    """Whether somebody has asked to stop; the second time stops at once."""

    def __init__(self) -> None:
        self.asked = False

    def __call__(self) -> bool:
        """Tell whether it was asked."""
        return self.asked

    def on_signal(self, number: int, frame: FrameType | None) -> None:
        """Take note of the first interrupt; raise KeyboardInterrupt at the next."""
        if self.asked:
            raise KeyboardInterrupt
        self.asked = True
        say(words.say("cli.stopping"), to_error=True)


@contextmanager
def stoppable() -> Iterator[Stopping]:
    """Give a `Stopping` that an interrupt (Ctrl-C) sets, where signals can be taken."""
    stopping = Stopping()
    if threading.current_thread() is not threading.main_thread():
        yield stopping
        return
    before = signal.signal(signal.SIGINT, stopping.on_signal)
    try:
        yield stopping
    finally:
        signal.signal(signal.SIGINT, before)
