"""Who is at the tables now: devices that are told of changes, computer players at work.

Nothing here survives the process and nothing needs to: what a table is stands in the
storage. Computer players move one by one in a thread of their own, so that neither a
search nor the pause before a move, which lets people follow, holds up anybody else.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Event, Lock, Thread

PACE_SECONDS = 0.9  # before each move of a computer player, so that people can follow

_log = logging.getLogger(__name__)


class Hall:
    """The devices at each table, and the computer players of each.

    Parameters
    ----------
    step
        Makes one move of a computer player at a table; False if none is to move there.
    pace
        Seconds before each such move.
    """

    def __init__(self, step: Callable[[int], bool], pace: float | None = None) -> None:
        self._step, self.pace = step, PACE_SECONDS if pace is None else pace
        self._lock = Lock()
        self._devices: dict[int, set[tuple[asyncio.AbstractEventLoop, asyncio.Event]]] = {}
        self._at_work: dict[int, Event] = {}
        self._closing = Event()

    @contextmanager
    def listening(self, table: int) -> Iterator[asyncio.Event]:
        """Give an event that is set at each change of a table; call it from the loop."""
        device = (asyncio.get_running_loop(), asyncio.Event())
        with self._lock:
            self._devices.setdefault(table, set()).add(device)
        try:
            yield device[1]
        finally:
            with self._lock:
                self._devices[table].discard(device)

    def devices(self, table: int) -> int:
        """Give the number of devices that look at a table."""
        with self._lock:
            return len(self._devices.get(table, ()))

    def tell(self, table: int, but: asyncio.Event | None = None) -> None:
        """Tell the devices of a table that it has changed, and let computer players move.

        ``but``: the event of a device that has been shown it already.
        """
        self._tell_devices(table, but)
        self.wake(table)

    def wake(self, table: int) -> None:
        """Let the computer players of a table move, until a person is to move."""
        with self._lock:
            if self._closing.is_set():
                return
            if table in self._at_work:
                self._at_work[table].set()
                return
            self._at_work[table] = again = Event()
            again.set()
        Thread(target=self._work, args=(table, again), daemon=True, name="nervure-seats").start()

    def _work(self, table: int, again: Event) -> None:
        try:
            while not self._closing.is_set():
                with self._lock:
                    if not again.is_set():
                        del self._at_work[table]
                        return
                    again.clear()
                while not self._closing.wait(self.pace) and self._step(table):
                    self._tell_devices(table)
        except Exception:  # a mistake of our own must not end the other tables
            _log.exception("the computer players of table %s stopped", table)
        with self._lock:
            self._at_work.pop(table, None)

    def _tell_devices(self, table: int, but: asyncio.Event | None = None) -> None:
        with self._lock:
            devices = list(self._devices.get(table, ()))
        for loop, changed in devices:
            if changed is but:
                continue
            try:
                loop.call_soon_threadsafe(changed.set)
            except RuntimeError:  # its loop has ended
                continue

    def close(self) -> None:
        """End the computer players' threads, each after its move."""
        self._closing.set()
