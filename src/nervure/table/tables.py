"""`Tables`: the tables of a workbench, by number or by code, read from the storage on demand.

Different tables are played at the same time; each has its own lock. A class is a *room*:
the tables that were laid with the same room name.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from threading import RLock
from typing import Any

from nervure import words
from nervure.errors import BadUsage
from nervure.table.debrief import most_refused
from nervure.table.design import copy_design
from nervure.table.seats import CODE_LENGTH, LETTERS, SeatPlan, new_code
from nervure.table.state import stage
from nervure.table.storage import Storage
from nervure.table.table_game import TableGame

MOST_REFUSED = 3


class Tables:
    """The tables of one storage. Every method may be called from any thread."""

    def __init__(self, storage: Storage) -> None:
        self._storage = storage
        self._lock = RLock()
        self._games: dict[int, TableGame] = {}
        self._loading: dict[int, RLock] = {}

    def lay(
        self,
        project: str,
        folder: Path,
        seats: Sequence[SeatPlan],
        *,
        help_level: int = 2,
        seconds_per_turn: float | None = None,
        seed: int | None = None,
        room: str = "",
        variants: Sequence[str] | None = None,
    ) -> tuple[TableGame, dict[int, str]]:
        """Lay a table of a project's game as its files are now.

        Gives the table, and by seat (from 0) the token of every person named already.

        Raises
        ------
        FaultyProject, NotPlayedYet, BadUsage
            As `copy_design`, `nervure.game.compile_game` and `TableGame.lay`.
        """
        design = copy_design(folder, variants)
        with self._lock:
            table, tokens = TableGame.lay(
                self._storage,
                project,
                design,
                seats,
                code=new_code({kept.settings["code"] for kept in self._running()}),
                help_level=help_level,
                seconds_per_turn=seconds_per_turn,
                seed=seed,
                room=room,
            )
            self._games[table.id] = table
        return table, tokens

    def by_id(self, table_id: int) -> TableGame:
        """Give a table, running or over.

        Raises
        ------
        BadUsage
            There is none, or its log cannot be played again.
        """
        with self._lock:
            found = self._games.get(table_id)
            loading = self._loading.setdefault(table_id, RLock())
        if found is not None:
            return found
        with loading:  # reading one table keeps nobody from the others
            with self._lock:
                found = self._games.get(table_id)
            if found is None:
                found = TableGame(self._storage, table_id)
                with self._lock:
                    self._games[table_id] = found
        return found

    def by_code(self, code: str) -> TableGame:
        """Give the running table of a code, however it was typed.

        Raises
        ------
        BadUsage
            No running table has it.
        """
        wanted = code.strip().upper()
        for kept in self._running():
            if kept.settings["code"] == wanted:
                return self.by_id(kept.id)
        shown = "".join(c for c in wanted if c.isalnum())[:8]
        example = LETTERS[:CODE_LENGTH]
        raise BadUsage(words.say("table.cannot.no-code", code=shown, example=example))

    def join(self, code: str, name: str, seat: int | None = None) -> tuple[TableGame, int, str]:
        """Let a person sit down at the table of a code; gives table, seat and token.

        Raises
        ------
        BadUsage
            No such code, no free seat, no name.
        """
        game = self.by_code(code)
        found, token = game.sit(name, seat)
        return game, found, token

    def watch(self, code: str) -> tuple[TableGame, str]:
        """Give the table of a code with the token of its spectators."""
        game = self.by_code(code)
        return game, game.watch()

    def of_project(self, project: str) -> tuple[TableGame, ...]:
        """Give the tables of a project that can be read, newest first."""
        found = []
        for kept in self._storage.tables(project):
            if "engine" in kept.settings:
                try:
                    found.append(self.by_id(kept.id))
                except BadUsage:
                    continue
        return tuple(found)

    def running(self, room: str | None = None) -> tuple[TableGame, ...]:
        """Give the tables that are not over, of one room or all, oldest first."""
        found = []
        for kept in self._running():
            if room is None or kept.settings.get("room", "") == room:
                try:
                    game = self.by_id(kept.id)
                except BadUsage:
                    continue
                if game.over_by is None:
                    found.append(game)
        return tuple(found)

    def forget(self, table_id: int) -> None:
        """Delete a table with its whole log."""
        with self._lock:
            self._games.pop(table_id, None)
            self._storage.delete_table(table_id)

    def ring_bell(self, room: str | None = None) -> int:
        """Ring the bell at every running table of a room, or at all; gives at how many."""
        return sum(game.ring_bell() for game in self.running(room))

    def tables_at_a_glance(self, room: str | None = None) -> list[dict[str, Any]]:
        """Give where every running table stands, as plain data: nothing hidden is in it."""
        return [at_a_glance(game) for game in self.running(room)]

    def _running(self) -> list[Any]:
        kept = self._storage.running_tables()
        return [table for table in kept if "engine" in table.settings]


def at_a_glance(game: TableGame) -> dict[str, Any]:
    """Give where a table stands: round, clock, points, and what was refused most often."""
    with game.lock:
        now = stage(game.position)
        return {
            "table": game.id,
            "code": game.code,
            "title": game.game.title,
            "room": game.room,
            "waits_for": len(game.waits_for),
            "round": now.round,
            "turn": now.turn,
            "seat": game.position.seat_to_move,
            "name": game.who(game.position.seat_to_move),
            "made": game.made,
            "last": game.entries[-1].made if game.entries else game.made,
            "bell": game.bell_round is not None,
            "over": game.over_by,
            "seats": [
                {
                    "seat": seat,
                    "name": game.who(seat),
                    "points": game.position.points(seat),
                    "claims": game.position.claims(seat),
                }
                for seat in range(game.tables.seats)
            ],
            "refused": most_refused(game, MOST_REFUSED),
        }
