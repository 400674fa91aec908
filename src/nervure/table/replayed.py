"""A table that is over, shown again line by line: what lay face up after each."""

from __future__ import annotations

from dataclasses import replace
from threading import RLock
from typing import Any

from nervure.table.course import IN_GAME, Course, Entry, Moment
from nervure.table.kept import Move as Line
from nervure.table.record import IN_RECORD
from nervure.table.table_game import TableGame


class Replayed(Course):
    """The course of a table that is over, as it stood after one of its lines.

    It can be shown to spectators by `nervure.table.seat_view`: ``at`` goes to a line.
    """

    def __init__(self, table: TableGame) -> None:
        super().__init__(table.game, table.tables, table.seed, table.seats, table.help_level)
        self.lock = RLock()
        self.views: dict[int | None, dict[str, Any]] = {}
        self.id, self.code, self.made = table.id, table.code, table.made
        self.seconds_per_turn = table.seconds_per_turn
        self._lines = [entry for entry in table.entries if entry.kind in IN_RECORD]
        self._reached: list[tuple[Moment, int | None, bool]] = [(self._moment, None, False)]
        self._taken: list[Entry] = []

    def __len__(self) -> int:
        """Give the number of lines."""
        return len(self._lines)

    def at(self, line: int) -> Entry | None:
        """Go to where the table stood after a line, 0 (the deal) to `len`; gives that line."""
        if len(self._reached) <= line:
            self._stand(len(self._reached) - 1)
        while len(self._reached) <= line:
            self._take_in(self._lines[len(self._reached) - 1])
            self._reached.append((self._moment, self.bell_round, self._stopped))
        self._taken = self.entries if len(self.entries) > len(self._taken) else self._taken
        self._stand(line)
        return self.entries[-1] if self.entries else None

    def _stand(self, line: int) -> None:
        self._moment, self.bell_round, self._stopped = self._reached[line]
        self.entries = self._taken[:line]
        self._number = sum(entry.kind in IN_GAME for entry in self.entries)
        self.views.clear()

    def _take_in(self, entry: Entry) -> None:
        data: dict[str, Any] = {"kind": entry.kind}
        if entry.move is not None:
            # Whoever made it: no computer player has to think again.
            data |= {"number": entry.move.number, "args": list(entry.move.args), "by": "person"}
        if entry.kind == "undo":
            data["back"] = entry.back
        seat = -1 if entry.seat is None else entry.seat
        line = Line(len(self.entries), seat, data, entry.made)
        taken = self.take_over(line, self.work_out(seat, data))
        self.entries[-1] = replace(taken, by=entry.by)
