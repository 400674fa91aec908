"""`Course`: how a game of people goes from entry to entry, wherever its entries come from.

Each entry is first worked out, with nothing changed, and then taken over; in between the
table writes it to the disk. Records are played again by the same steps. Legal moves and what
they do come from the engine, and why they hold or not from the referee.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from nervure import words
from nervure.engine import Move, MoveNumber, Position
from nervure.errors import BadUsage
from nervure.game import Game, Tables
from nervure.table.events import Claim, Event, happened, move_sentence
from nervure.table.kept import Move as Line
from nervure.table.moves import move_of
from nervure.table.naming import Naming
from nervure.table.referee import CONNECTIONS, Explanation, Referee
from nervure.table.seats import Seated, seated_of
from nervure.table.state import stage

EntryKind = Literal["seat", "help", "move", "attempt", "undo", "bell", "stop"]
IN_GAME = ("move", "attempt", "undo")
NOBODY = -1


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

    ``number``: the table's position number after it; ``back``: how many decisions an undo
    took back.
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
    back: int = 0


@dataclass(frozen=True, slots=True)
class Moment:
    """All that an entry of the game changes and an undo brings back."""

    position: Position
    claims: tuple[Claim, ...] = ()
    attempts: tuple[Attempt, ...] = ()
    tried: frozenset[Move] = frozenset()


@dataclass(frozen=True, slots=True)
class Decided:
    """A decision that can still be taken back."""

    seat: int
    by: str
    before: Moment


class Course:
    """A game with its seats, its entries so far, and what can still be taken back."""

    def __init__(
        self, game: Game, tables: Tables, seed: int, seats: Sequence[Seated], help_level: int
    ) -> None:
        self.game, self.tables = game, tables
        self.naming = Naming(game)
        self.referee = Referee(game)
        self.seats: list[Seated] = list(seats)
        self.help_level = help_level
        self.entries: list[Entry] = []
        self.bell_round: int | None = None
        self._number = 0
        self._undoable: list[Decided] = []
        self._barrier = ""
        self._stopped = False
        self._moment = Moment(Position.start(tables, seed))

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
    def undoable(self) -> int:
        """How many decisions could be taken back, whoever made them."""
        return len(self._undoable)

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

    def may_undo(self, seat: int) -> bool:
        """Tell whether a seat has something to take back."""
        try:
            self.undo_depth(seat)
        except BadUsage:
            return False
        return self.over_by is None and not self.waits_for

    def undo_depth(self, seat: int) -> int:
        """Give how many decisions an undo of a seat takes back.

        Raises
        ------
        BadUsage
            There is nothing that may be taken back.
        """
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

    def work_out(
        self, seat: int, data: Mapping[str, Any], again: bool = False
    ) -> tuple[Moment, list[Event]]:
        """Give what an entry leads to, with nothing changed yet."""
        kind = data["kind"]
        if kind == "move":
            return self._moved(seat, move_of(data), data["by"], again)
        if kind == "attempt":
            return self._attempted(seat, move_of(data), data["by"], again)
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

    def _moved(self, seat: int, move: Move, by: str, again: bool) -> tuple[Moment, list[Event]]:
        before = self._moment.position
        after = before.clone()
        if by == "computer":
            after.choose(self.line_up(seat, again))  # the player's stream goes on
        why = None
        if move.number in CONNECTIONS:
            why = self.referee.explain(before, seat, move)
        after.apply(move)
        events, claims = happened(self.naming, before, after, seat, move, self.who)
        if why is not None:
            events.insert(1, Event("why", seat, why.sentence, ids=why.ids))
        same_turn = after.turn == before.turn
        return (
            Moment(
                after,
                (*self._moment.claims, *claims),
                self._moment.attempts,
                self._moment.tried if same_turn else frozenset(),
            ),
            events,
        )

    def _attempted(
        self, seat: int, move: Move, by: str, again: bool
    ) -> tuple[Moment, list[Event]]:
        before = self._moment.position
        why = self.referee.explain(before, seat, move)
        after = before.clone()
        if by == "computer":
            after.choose(self.line_up(seat, again))
        after.refuse(move)
        text = move_sentence(self.naming, before, seat, move, self.who, "attempt")
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

    def line_up(self, seat: int, again: bool = False) -> list[str]:
        """Give the line-up to choose by; replaying, a searcher only uses up its chance."""
        style = self.seats[seat].style
        if again and style.startswith("searcher"):
            style = "searcher:1"
        player = self.position.player_at(seat)
        return [style if place == player else "chance" for place in range(len(self.seats))]

    def take_over(self, line: Line, taken: tuple[Moment, list[Event]]) -> Entry:
        """Take over what an entry led to."""
        moment, events = taken
        data, seat = line.move, line.seat
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
            self._undoable.append(Decided(seat, data["by"], before))
        self._moment = moment
        self._number += kind in IN_GAME
        if self.over_by == "bell" and kind in IN_GAME:
            events.append(Event("over", None, self.naming.tell("ended.bell")))
        entry = Entry(
            index=line.position,
            number=self._number,
            kind=kind,
            seat=None if seat == NOBODY else seat,
            move=move_of(data) if kind in ("move", "attempt") else None,
            by=str(data.get("by", "")),
            turn=before.position.turn,
            made=line.made,
            events=tuple(events),
            back=int(data.get("back", 0)),
        )
        self.entries.append(entry)
        return entry


def happened_after_refusal(course: Course, before: Position, after: Position) -> list[Event]:
    """Give what followed a refused attempt by itself: the turn may have closed."""
    if after.turn == before.turn and not after.finished:
        return []
    ending = Move(MoveNumber.END)
    events, _ = happened(course.naming, before, after, before.seat_to_move, ending, course.who)
    return events[1:]


def _reveals(before: Position, after: Position) -> bool:
    """Tell whether somebody has seen a hidden card: a stock is another than it was."""
    return before.stock != after.stock or before.target_stock != after.target_stock


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
