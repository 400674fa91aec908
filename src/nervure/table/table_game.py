"""`TableGame`: one running game of people and computer players, rebuilt from its log at will.

A table is its design, its secret seed and an append-only log. Every entry is worked out on
a copy, written to the storage, and only then taken over and answered: after a crash the log
plays the same game again. Legal moves and what they do come from the engine; why they hold
or not, from the referee. Nothing here is sent to anyone: see `nervure.table.seat_view`.

The module holds one class, the table with its log, and is as long as its log has kinds.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from threading import RLock
from typing import Any, Literal

from nervure import words
from nervure.engine import RESULT_VERSION, Move, MoveNumber, Position
from nervure.errors import BadUsage
from nervure.game import Game, Tables
from nervure.table.design import design_digest, game_of, tables_of
from nervure.table.events import Claim, Event, happened, move_sentence
from nervure.table.kept import Move as Line
from nervure.table.naming import Naming
from nervure.table.referee import CONNECTIONS, Explanation, Referee
from nervure.table.seats import (
    Seated,
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
from nervure.table.state import stage
from nervure.table.storage import Storage

EntryKind = Literal["seat", "help", "move", "attempt", "undo", "bell", "stop"]
IN_GAME = ("move", "attempt", "undo")
NOBODY = -1
HELP_LEVELS = (0, 1, 2, 3)
DEFAULT_SECONDS_PER_TURN = 35


@dataclass(frozen=True, slots=True)
class Attempt:
    """A connection that was tried and refused. ``junction``: the ids that do not go together."""

    seat: int
    turn: int
    move: Move
    code: str
    junction: tuple[str, ...]
    target: str | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the log as it was taken in.

    ``number``: the table's position number after it; ``sentence``: the first thing to tell.
    """

    index: int
    number: int
    kind: EntryKind
    seat: int | None
    move: Move | None
    by: str
    turn: int
    made: str
    events: tuple[Event, ...]


@dataclass(frozen=True, slots=True)
class _Moment:
    """All that an entry of the game changes and an undo brings back."""

    position: Position
    claims: tuple[Claim, ...] = ()
    attempts: tuple[Attempt, ...] = ()
    tried: frozenset[Move] = frozenset()


@dataclass(frozen=True, slots=True)
class _Decided:
    """A decision that can still be taken back."""

    seat: int
    by: str
    before: _Moment


class TableGame:
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
        self.seats: list[Seated] = [seated_of(dict(seat)) for seat in settings["seats"]]
        self.game: Game = game_of(kept.design)
        self.tables: Tables = tables_of(kept.design, len(self.seats))
        self.naming = Naming(self.game)
        self.referee = Referee(self.game)
        self.help_level = int(settings["help"])
        self.entries: list[Entry] = []
        self._number = 0
        self._undoable: list[_Decided] = []
        self._barrier = ""
        self.bell_round: int | None = None
        self._stopped = False
        self.views: dict[int | None, dict[str, Any]] = {}  # what each seat was last shown
        self._moment = _Moment(Position.start(self.tables, int(kept.seed)))
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

    @property
    def position(self) -> Position:
        """The game as it stands. Holds what is hidden; not to be changed."""
        return self._moment.position

    @property
    def claims(self) -> tuple[Claim, ...]:
        """The claims made, undone ones left out."""
        return self._moment.claims

    @property
    def attempts(self) -> tuple[Attempt, ...]:
        """The connections that people tried and that were refused."""
        return self._moment.attempts

    @property
    def number(self) -> int:
        """The position number that a move must carry: how many entries changed the game."""
        return self._number

    @property
    def version(self) -> int:
        """How many lines the log has; changes whenever anything does."""
        return len(self.entries)

    @property
    def over_by(self) -> str | None:
        """How the table ended: a way of the engine, "bell" or "stopped"; None while it runs."""
        ended = self.position.ended_by
        if ended is not None:
            return ended.name.lower().replace("_", "-")
        if self._stopped:
            return "stopped"
        if self.bell_round is not None and stage(self.position).round > self.bell_round:
            return "bell"
        return None

    @property
    def waits_for(self) -> tuple[int, ...]:
        """The seats where somebody has still to sit down."""
        return tuple(seat for seat, held in enumerate(self.seats) if held.is_free)

    @property
    def turn_of_computer(self) -> bool:
        """Whether `step` has something to do."""
        return (
            self.over_by is None
            and not self.waits_for
            and self.seats[self.position.seat_to_move].kind == "computer"
        )

    def who(self, seat: int) -> str:
        """Give what a seat is called in sentences."""
        return self.seats[seat].called(seat)

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

    def parse_move(self, text: str) -> Move:
        """Give the move of an id: its number and arguments, with dots between.

        Raises
        ------
        BadUsage
            It is no such text, or its arguments are out of range.
        """
        try:
            number, *args = (int(part) for part in text.split("."))
            if not text.isascii() or not self._is_well_formed(number, args):
                raise ValueError(text)
        except (ValueError, AttributeError) as problem:
            raise BadUsage(words.say("table.cannot.move", move=str(text)[:40])) from problem
        return Move(number, tuple(args))

    def _is_well_formed(self, number: int, args: Sequence[int]) -> bool:
        tables = self.tables
        kinds, placed = len(tables.hand_kinds), len(tables.placed_kinds)
        limits: Mapping[int, tuple[int, ...]] = {
            MoveNumber.DRAW_DISPLAY: (kinds,),
            MoveNumber.SWAP: (kinds,),
            MoveNumber.TAKE_LOOSE: (tables.seats, 400, placed),
            MoveNumber.LIFT: (400, 2),
            MoveNumber.LAY: (placed,),
            MoveNumber.ATTACH: (400, placed),
            MoveNumber.ATTACH_GAP: (400, placed),
            MoveNumber.JOIN: (400, 400),
            MoveNumber.CLAIM: (400, len(tables.targets)),
        }
        if number not in list(MoveNumber) or any(value < 0 for value in args):
            return False
        if number == MoveNumber.USE:
            return 1 <= len(args) <= 7 and args[0] < len(tables.bonus_ids)
        most = limits.get(number, ())
        return len(args) == len(most) and all(
            value < limit for value, limit in zip(args, most, strict=True)
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
            move = self.parse_move(move_id)
            deciding = self.position.seat_to_move
            if deciding != seat:
                raise BadUsage(
                    words.say("table.cannot.not-your-seat", seat=deciding + 1, own=seat + 1)
                )
            if move.number == MoveNumber.JOIN and move.args[0] > move.args[1]:
                move = Move(move.number, move.args[::-1])
            if move in self.position.legal_moves():
                return self._write(seat, _move_data("move", move, "person"))
            why = self.referee.explain(self.position, seat, move)
            if not why.of_facts or move.number not in CONNECTIONS:
                raise BadUsage(why.sentence)
            if move in self._moment.tried:
                raise BadUsage(words.say("table.cannot.tried", why=why.sentence))
            if not hasattr(self.position, "refuse"):
                raise BadUsage(words.say("table.cannot.not-yet", why=why.sentence))
            return self._write(seat, _move_data("attempt", move, "person"))

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
            chosen = self.position.clone().choose(self._line_up(seat))
            kind = "move" if chosen in self.position.legal_moves() else "attempt"
            return self._write(seat, _move_data(kind, chosen, "computer"))

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
            back = self._undo_depth(seat)
            return self._write(seat, {"kind": "undo", "back": back})

    def may_undo(self, seat: int) -> bool:
        """Tell whether a seat has something to take back."""
        with self.lock:
            try:
                self._undo_depth(seat)
            except BadUsage:
                return False
            return self.over_by is None and not self.waits_for

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

    def _undo_depth(self, seat: int) -> int:
        own = [
            place
            for place, held in enumerate(self._undoable)
            if held.seat == seat and held.by == "person"
        ]
        if not own:
            if self._barrier:
                raise BadUsage(words.say(f"table.cannot.{self._barrier}"))
            raise BadUsage(words.say("table.cannot.nothing-to-undo", seat=seat + 1))
        for held in self._undoable[own[-1] + 1 :]:
            if held.by == "person":
                raise BadUsage(words.say("table.cannot.undo-other", who=self.who(held.seat)))
        return len(self._undoable) - own[-1]

    # The log

    def _write(self, seat: int, data: Mapping[str, Any]) -> Entry:
        """Work an entry out, put it on the disk, take it over."""
        taken = self._worked_out(seat, data)
        line = self._storage.append_move(self.id, len(self.entries), seat, data)
        entry = self._take_over(line, taken)
        if self.over_by is not None:
            self._storage.end_table(self.id)
        return entry

    def _replay(self, lines: Sequence[Line]) -> None:
        for line in lines:
            try:
                taken = self._worked_out(line.seat, line.move, again=True)
            except (BadUsage, KeyError, IndexError, ValueError) as problem:
                raise BadUsage(words.say("table.damaged", entry=line.position)) from problem
            self._take_over(line, taken)
        if self.over_by is not None and self._kept.ended is None:
            self._storage.end_table(self.id)  # the process died between move and end

    def _worked_out(
        self, seat: int, data: Mapping[str, Any], again: bool = False
    ) -> tuple[_Moment, list[Event]]:
        """Give what an entry leads to, with nothing changed yet."""
        kind = data["kind"]
        if kind == "move":
            return self._moved(seat, _move_of(data), data["by"], again)
        if kind == "attempt":
            return self._attempted(seat, _move_of(data), data["by"], again)
        if kind == "undo":
            back = int(data["back"])
            text = self.naming.tell("event.undo", who=self.who(seat), count=back)
            return self._undoable[-back].before, [Event("undo", seat, text)]
        values: dict[str, object] = {"seat": seat + 1}
        name = str(kind)
        if kind == "seat":
            sits = seated_of(dict(data))
            name = "computer" if sits.kind == "computer" else "sits" if sits.name else "free"
            values |= {"who": sits.called(seat), "style": sits.style}
        elif kind == "help":
            values["level"] = int(data["level"])
        elif kind == "stop":
            name = "stopped"
        return self._moment, [Event(name, None, self.naming.tell(f"event.{name}", **values))]

    def _moved(self, seat: int, move: Move, by: str, again: bool) -> tuple[_Moment, list[Event]]:
        before = self._moment.position
        after = before.clone()
        if by == "computer":
            after.choose(self._line_up(seat, again))  # the player's stream goes on
        why = None
        if move.number in CONNECTIONS:
            why = self.referee.explain(before, seat, move)
        after.apply(move)
        events, claims = happened(self.naming, before, after, seat, move, self.who)
        if why is not None:
            events.insert(1, Event("why", seat, why.sentence, ids=why.ids))
        same_turn = after.turn == before.turn
        return (
            _Moment(
                after,
                (*self._moment.claims, *claims),
                self._moment.attempts,
                self._moment.tried if same_turn else frozenset(),
            ),
            events,
        )

    def _attempted(
        self, seat: int, move: Move, by: str, again: bool
    ) -> tuple[_Moment, list[Event]]:
        before = self._moment.position
        why = self.referee.explain(before, seat, move)
        after = before.clone()
        if by == "computer":
            after.choose(self._line_up(seat, again))
        after.refuse(move)  # type: ignore[attr-defined]
        text = move_sentence(self.naming, before, seat, move, self.who, "event.attempt")
        attempt = Attempt(
            seat, before.turn, move, why.code, *_junction(why), sentence=why.sentence
        )
        events = [Event("attempt", seat, text), Event("refused", seat, why.sentence, ids=why.ids)]
        events += happened_after_refusal(self, before, after)
        tried = self._moment.tried | {move} if after.turn == before.turn else frozenset()
        moment = replace(
            self._moment,
            position=after,
            attempts=(*self._moment.attempts, attempt),
            tried=tried,
        )
        return moment, events

    def _line_up(self, seat: int, again: bool = False) -> list[str]:
        """Give the line-up to choose by; replaying, a searcher only uses up its chance."""
        style = self.seats[seat].style
        if again and style.startswith("searcher"):
            style = "searcher:1"
        player = self.position.player_at(seat)
        return [style if place == player else "chance" for place in range(len(self.seats))]

    def _take_over(self, line: Line, taken: tuple[_Moment, list[Event]]) -> Entry:
        moment, events = taken
        data, seat = line.move, line.seat
        self.views.clear()
        kind: EntryKind = data["kind"]
        before = self._moment
        if kind == "seat":
            self.seats[seat] = seated_of(dict(data))
        elif kind == "help":
            self.help_level = int(data["level"])
        elif kind == "bell":
            self.bell_round = stage(self.position).round
        elif kind == "stop":
            self._stopped = True
        elif kind == "undo":
            del self._undoable[-int(data["back"]) :]
        elif kind == "attempt":
            self._undoable, self._barrier = [], "undo-tried"
        elif _reveals(before.position, moment.position):
            self._undoable, self._barrier = [], "undo-seen"
        else:
            self._undoable.append(_Decided(seat, data["by"], before))
        self._moment = moment
        self._number += kind in IN_GAME
        if self.over_by == "bell" and kind in IN_GAME:
            events.append(Event("over", None, self.naming.tell("ended.bell")))
        entry = Entry(
            index=line.position,
            number=self._number,
            kind=kind,
            seat=None if seat == NOBODY else seat,
            move=_move_of(data) if kind in ("move", "attempt") else None,
            by=str(data.get("by", "")),
            turn=before.position.turn,
            made=line.made,
            events=tuple(events),
        )
        self.entries.append(entry)
        return entry


def happened_after_refusal(table: TableGame, before: Position, after: Position) -> list[Event]:
    """Give what followed a refused attempt by itself: the turn may have closed."""
    if after.turn == before.turn and not after.finished:
        return []
    ending = Move(MoveNumber.END)
    events, _ = happened(table.naming, before, after, before.seat_to_move, ending, table.who)
    return events[1:]


def _reveals(before: Position, after: Position) -> bool:
    """Tell whether somebody has seen a hidden card: a stock is another than it was."""
    return before.stock != after.stock or before.target_stock != after.target_stock


def _move_data(kind: str, move: Move, by: str) -> dict[str, Any]:
    return {"kind": kind, "number": move.number, "args": list(move.args), "by": by}


def _move_of(data: Mapping[str, Any]) -> Move:
    return Move(int(data["number"]), tuple(int(value) for value in data["args"]))


def _junction(why: Explanation) -> tuple[tuple[str, ...], str | None]:
    """Give the fewest ids that a refusal says do not go together, and the target if any."""
    ids = why.ids
    target = ids["target"][0] if "target" in ids else None
    if "one" in ids and "other" in ids:
        return (*ids["one"], *ids["other"]), target
    for role in ("one", "parts", "last"):
        if role in ids:
            return ids[role], target
    cards = ids.get("cards", ())
    return (cards[-1:] if target else cards), target
