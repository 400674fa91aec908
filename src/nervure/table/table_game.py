"""`TableGame`: one running game of people and computer players, rebuilt from its log at will.

A table is its design, its secret seed and an append-only log. Every entry is worked out on
a copy (`nervure.table.course`), written to the storage, and only then taken over and
answered: after a crash the log plays the same game again. Here stand who may do what, and
when. Nothing here is sent to anyone: see `nervure.table.seat_view`.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from functools import cached_property
from threading import RLock
from typing import Any

from nervure import words
from nervure.engine import RESULT_VERSION, Move, MoveNumber
from nervure.errors import BadUsage
from nervure.table.course import NOBODY, Course, Entry
from nervure.table.design import design_digest, game_of, tables_of
from nervure.table.kept import Move as Line
from nervure.table.moves import move_data, parse_move
from nervure.table.referee import CONNECTIONS, Explanation
from nervure.table.seats import (
    SeatPlan,
    checked_name,
    checked_style,
    hash_of,
    is_same,
    new_token,
    seat_token,
    seated_of,
    spectator_token,
)
from nervure.table.storage import Storage

HELP_LEVELS = (0, 1, 2, 3)


class TableGame(Course):
    """A running table. Seats are counted from 0. Every method may be called from any thread."""

    def __init__(self, storage: Storage, table_id: int) -> None:
        kept = storage.table(table_id)
        if kept is None:
            raise BadUsage(words.say("table.cannot.no-table", table=table_id))
        self.lock = RLock()
        self._storage = storage
        self._kept = kept
        settings = kept.settings
        if settings["engine"] != RESULT_VERSION:
            raise BadUsage(
                words.say("table.another-engine", found=settings["engine"], played=RESULT_VERSION)
            )
        super().__init__(
            game_of(kept.design),
            tables_of(kept.design, len(settings["seats"])),
            int(kept.seed),
            [seated_of(dict(seat)) for seat in settings["seats"]],
            int(settings["help"]),
        )
        self.views: dict[int | None, dict[str, Any]] = {}  # what each seat was last shown
        self._replay(storage.moves(table_id))

    @classmethod
    def lay(
        cls,
        storage: Storage,
        project: str,
        design: str,
        seats: Sequence[SeatPlan],
        *,
        code: str,
        help_level: int = 2,
        seconds_per_turn: float | None = None,
        seed: int | None = None,
        room: str = "",
    ) -> tuple[TableGame, dict[int, str]]:
        """Lay a table; gives it and the token of every seat that a named person has taken.

        Parameters
        ----------
        design
            From `nervure.table.design.copy_design`.
        code
            Four letters, from `nervure.table.seats.new_code`.
        seed
            None: a secret one.
        room
            Tables of one class have the same.

        Raises
        ------
        BadUsage
            The game is not for so many, or a style, name or level does not exist.
        """
        tables_of(design, len(seats))
        if help_level not in HELP_LEVELS:
            raise BadUsage(words.say("table.cannot.help", level=help_level))
        if seconds_per_turn is None:
            seconds_per_turn = game_of(design).goals.seconds_per_turn
        if not 1 <= seconds_per_turn <= 3600:
            raise BadUsage(words.say("table.cannot.seconds", seconds=seconds_per_turn))
        names = [checked_name(plan.name) if plan.name else "" for plan in seats]
        settings = {
            "code": code,
            "engine": RESULT_VERSION,
            "help": help_level,
            "room": room,
            "seconds_per_turn": seconds_per_turn,
            "seats": [
                {"who": "computer", "style": checked_style(plan.style)}
                if plan.kind == "computer"
                else {"who": "person"}
                for plan in seats
            ],
        }
        secret = secrets.randbits(64) if seed is None else seed
        kept = storage.add_table(project, design, str(secret), settings)
        table = cls(storage, kept.id)
        tokens = {
            seat: table.sit(name, seat, table.host_key(seat))[1]
            for seat, (plan, name) in enumerate(zip(seats, names, strict=True))
            if plan.kind == "person" and name
        }
        return table, tokens

    # What can be asked

    @property
    def id(self) -> int:
        """The table's number in the storage."""
        return self._kept.id

    @property
    def project(self) -> str:
        """The project that the table was laid from."""
        return self._kept.project

    @property
    def code(self) -> str:
        """The four letters to join by."""
        return str(self._kept.settings["code"])

    @property
    def room(self) -> str:
        """What the tables of one class have in common."""
        return str(self._kept.settings.get("room", ""))

    @property
    def made(self) -> str:
        """When the table was laid."""
        return self._kept.made

    @property
    def seed(self) -> int:
        """The secret of the table's chance: to be shown to nobody before the end."""
        return int(self._kept.seed)

    @property
    def design_digest(self) -> str:
        """The SHA-256 of the table's design."""
        return design_digest(self._kept.design)

    @property
    def design(self) -> str:
        """The table's own copy of the project's files, as text."""
        return self._kept.design

    @property
    def seconds_per_turn(self) -> float:
        """How long a turn is meant to take, in seconds."""
        return float(self._kept.settings["seconds_per_turn"])

    def token_seat(self, token: str) -> int | None:
        """Give the seat that a token opens, None for a spectator's token.

        Raises
        ------
        BadUsage
            It opens nothing here.
        """
        hashed = hash_of(token)
        found = [
            seat
            for seat, held in enumerate(self.seats)
            if held.token_hash and is_same(held.token_hash, hashed)
        ]
        if found:
            return found[0]
        if is_same(token, self.watch()):
            return None
        raise BadUsage(words.say("table.cannot.token"))

    def watch(self) -> str:
        """Give the token of spectators."""
        return spectator_token(self._storage.secret("table-spectators"), self.id)

    def host_key(self, seat: int) -> str:
        """Give the token of a seat that was named when the table was laid; it need not be kept."""
        return seat_token(self._secret, self.id, seat)

    @cached_property
    def _secret(self) -> bytes:
        return self._storage.secret("table-seats")

    @property
    def passed_round(self) -> tuple[int, ...]:
        """The seats of people who were named when the table was laid, and play on one device."""
        return tuple(
            seat
            for seat, held in enumerate(self.seats)
            if held.token_hash and is_same(held.token_hash, hash_of(self.host_key(seat)))
        )

    def explain(self, seat: int, move: Move) -> Explanation:
        """Say why a move of a seat holds or is refused now; whoever shows it minds the help."""
        with self.lock:
            return self.referee.explain(self.position, seat, move)

    # What can be done

    def sit(self, name: str, seat: int | None = None, token: str | None = None) -> tuple[int, str]:
        """Let a person sit down, at a seat or the first free one; gives seat and token.

        ``token``: None: a new one.

        Raises
        ------
        BadUsage
            The seat is taken, none is free, or there is no name.
        """
        with self.lock:
            clean = checked_name(name)
            free = self.waits_for
            if seat is None:
                if not free:
                    raise BadUsage(words.say("table.cannot.full"))
                seat = free[0]
            self._check_seat(seat)
            if seat not in free:
                raise BadUsage(words.say("table.cannot.is-taken", seat=seat + 1))
            token = new_token() if token is None else token
            self._write(
                seat, {"kind": "seat", "who": "person", "name": clean, "token": hash_of(token)}
            )
            return seat, token

    def seat_computer(self, seat: int, style: str) -> None:
        """Let a computer player take a seat, also in the middle of the game (someone left)."""
        with self.lock:
            self._check_seat(seat)
            self._write(seat, {"kind": "seat", "who": "computer", "style": checked_style(style)})

    def free_seat(self, seat: int) -> None:
        """Free a seat for another person; the token that it had opens nothing any more."""
        with self.lock:
            self._check_seat(seat)
            self._write(seat, {"kind": "seat", "who": "person"})

    def set_help(self, level: int) -> None:
        """Set how much the referee shows: 0 to 3 (docs/table.md)."""
        with self.lock:
            if level not in HELP_LEVELS:
                raise BadUsage(words.say("table.cannot.help", level=level))
            self._write(NOBODY, {"kind": "help", "level": level})

    def ring_bell(self) -> bool:
        """Ring: the round is finished, then the table is over. False if it was over or rung."""
        with self.lock:
            if self.over_by is not None or self.bell_round is not None:
                return False
            self._write(NOBODY, {"kind": "bell"})
            return True

    def stop(self) -> None:
        """Stop the table where it stands."""
        with self.lock:
            if self.over_by is None:
                self._write(NOBODY, {"kind": "stop"})

    def move(self, token: str, number: int, move_id: str) -> Entry:
        """Make a person's move; it is on the disk when this returns.

        A connection that is refused by the map alone is an attempt: it is written down
        and has its price (docs/rules.md, Knowledge).

        Raises
        ------
        BadUsage
            Stale or double, not this token's turn, or refused by what lies on the table;
            nothing has changed.
        """
        with self.lock:
            seat = self._own_seat(token)
            self._check_number(number)
            self._check_runs()
            move = parse_move(move_id, self.tables)
            deciding = self.position.seat_to_move
            if deciding != seat:
                raise BadUsage(
                    words.say("table.cannot.not-your-seat", seat=deciding + 1, own=seat + 1)
                )
            if move.number == MoveNumber.JOIN and move.args[0] > move.args[1]:
                move = Move(move.number, move.args[::-1])
            if move in self.position.legal_moves():
                return self._write(seat, move_data("move", move, "person"))
            why = self.referee.explain(self.position, seat, move)
            if not why.of_facts or move.number not in CONNECTIONS:
                raise BadUsage(why.sentence)
            if move in self._moment.tried:
                raise BadUsage(words.say("table.cannot.tried", why=why.sentence))
            return self._write(seat, move_data("attempt", move, "person"))

    def step(self, number: int) -> Entry:
        """Let the computer player whose turn it is make one move.

        Raises
        ------
        BadUsage
            Stale or double, or it is no computer player's turn; nothing has changed.
        """
        with self.lock:
            self._check_number(number)
            self._check_runs()
            seat = self.position.seat_to_move
            if self.seats[seat].kind != "computer":
                raise BadUsage(words.say("table.cannot.not-computer"))
            chosen = self.position.clone().choose(self.line_up(seat))
            kind = "move" if chosen in self.position.legal_moves() else "attempt"
            return self._write(seat, move_data(kind, chosen, "computer"))

    def undo(self, token: str, number: int) -> Entry:
        """Take back to the last own decision, if nobody has seen a hidden card since.

        Raises
        ------
        BadUsage
            Stale or double, or there is nothing that may be taken back; nothing has changed.
        """
        with self.lock:
            seat = self._own_seat(token)
            self._check_number(number)
            self._check_runs()
            back = self.undo_depth(seat)
            return self._write(seat, {"kind": "undo", "back": back})

    # Checks

    def _check_seat(self, seat: int) -> None:
        if not 0 <= seat < len(self.seats):
            raise BadUsage(words.say("table.cannot.no-seat", seat=seat + 1, seats=len(self.seats)))
        if self.over_by is not None:
            raise BadUsage(words.say("table.cannot.over"))

    def _own_seat(self, token: str) -> int:
        seat = self.token_seat(token)
        if seat is None:
            raise BadUsage(words.say("table.cannot.spectator"))
        return seat

    def _check_number(self, number: int) -> None:
        if number != self._number:
            raise BadUsage(words.say("table.cannot.stale", asked=number, now=self._number))

    def _check_runs(self) -> None:
        if self.over_by is not None:
            raise BadUsage(words.say("table.cannot.over"))
        if self.waits_for:
            names = self.naming.listing(map(self.who, self.waits_for))
            raise BadUsage(words.say("table.cannot.waiting", who=names))

    # The log

    def _write(self, seat: int, data: Mapping[str, Any]) -> Entry:
        """Work an entry out, put it on the disk, take it over."""
        taken = self.work_out(seat, data)
        line = self._storage.append_move(self.id, len(self.entries), seat, data)
        entry = self.take_over(line, taken)
        self.views.clear()
        if self.over_by is not None:
            self._storage.end_table(self.id)
        return entry

    def _replay(self, lines: Sequence[Line]) -> None:
        for line in lines:
            try:
                taken = self.work_out(line.seat, line.move, again=True)
            except (BadUsage, KeyError, IndexError, ValueError) as problem:
                raise BadUsage(words.say("table.damaged", entry=line.position)) from problem
            self.take_over(line, taken)
        if self.over_by is not None and self._kept.ended is None:
            self._storage.end_table(self.id)  # the process died between move and end
