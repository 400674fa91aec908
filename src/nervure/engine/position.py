"""`Position`: one game at people's speed, on the same kernel that plays thousands.

For the table, examples of play and tests. Nothing here knows a rule: legal moves, their
order and what they do come from the kernel. One class, and so one file, past 400 lines: most of
them give what lies on the table, by name.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nervure import words
from nervure.engine.attempts import can_be_paid
from nervure.engine.batch import Work, games_of_rows, make_store, make_work
from nervure.engine.cache import load_kernel, load_search_kernel
from nervure.engine.desk import Desk, decks_of, desk_of, sizes_of
from nervure.engine.games import EndedBy, Games
from nervure.engine.layout import (
    SEAT_MASKS,
    SEAT_NUMBERS,
    SEAT_STRANDS,
    STRAND_NUMBERS,
    Mask,
    MoveNumber,
    Number,
    Seat,
    SeatMask,
)
from nervure.engine.line_up import KNOWS_ALL, line_up_numbers, searches, shares_of
from nervure.errors import BadUsage
from nervure.game.tables import (
    MOST_KINDS,
    MOST_OPEN_TARGETS,
    MOST_SEATS,
    MOST_SECRET_TARGETS,
    Rule,
    Tables,
)

ARGUMENTS: dict[MoveNumber, tuple[str, ...]] = {
    MoveNumber.DRAW_DISPLAY: ("hand kind",),
    MoveNumber.SWAP: ("hand kind",),
    MoveNumber.TAKE_LOOSE: ("seats on", "strand", "placed kind"),
    MoveNumber.LIFT: ("strand", "end"),
    MoveNumber.LAY: ("placed kind",),
    MoveNumber.ATTACH: ("strand", "placed kind"),
    MoveNumber.ATTACH_GAP: ("strand", "placed kind"),
    MoveNumber.JOIN: ("strand", "strand"),
    MoveNumber.CLAIM: ("strand", "target"),
}
"""What the arguments of each move are; a move that is not named has none."""


@dataclass(frozen=True, slots=True)
class Move:
    """A legal move: its number (`MoveNumber`), and its arguments as docs/rules.md lists them."""

    number: int
    args: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class TableStrand:
    """A strand or loose card on the table.

    ``slots``: placed kind by deck tier, None empty. ``gap``: the most proximal tier of the
    distal side, 0 where there is no gap. ``copies``: how many equal ones there are.
    """

    slots: tuple[str | None, ...]
    gap: int
    copies: int


class Position:
    """One game of a design. Seats are counted from 0. Changed in place by `apply`."""

    def __init__(
        self, tables: Tables, work: Work, rotation: int = 0, desk: Desk | None = None
    ) -> None:
        self.tables = tables
        self._work = work
        self._desk = desk_of(tables) if desk is None else desk
        self._kernel = load_kernel()
        self._rotation = rotation
        self._total = 0
        self._knowledge: tuple[int, ...] = (KNOWS_ALL,) * MOST_SEATS

    @classmethod
    def start(
        cls,
        tables: Tables,
        seed: int,
        deal: int = 0,
        *,
        rotation: int = 0,
        reversed_order: bool = False,
        line_up: Sequence[str] = (),
    ) -> Position:
        """Set up a game; the same seed and deal give the game that `play` plays.

        Player p sits in seat (p + rotation) mod n, or (n - 1 - p + rotation) mod n.
        ``line_up``: who plays, if any knows only a part of the map (``STYLE@K``); that seat is
        then offered what its player believes.
        """
        styles = line_up_numbers(line_up or ["chance"] * tables.seats, tables)
        position = cls(tables, make_work(tables), rotation)
        position._knowledge = tuple(shares_of(styles))
        position._kernel.start_game(
            position._desk,
            decks_of(tables),
            styles,
            np.uint64(seed % 2**64),
            np.uint64(deal),
            rotation,
            reversed_order,
            position._work,
        )
        position._go_on()
        return position

    def clone(self) -> Position:
        """Give a copy that goes its own way, with the same chance to come."""
        copy = Position(self.tables, _copied(self._work), self._rotation, self._desk)
        copy._total = self._total
        copy._knowledge = self._knowledge
        return copy

    @property
    def finished(self) -> bool:
        """Whether the game is over."""
        return bool(self._numbers[Number.ENDED])

    @property
    def ended_by(self) -> EndedBy | None:
        """Why the game ended; None while it runs."""
        return EndedBy(int(self._numbers[Number.ENDED]) - 1) if self.finished else None

    @property
    def turn(self) -> int:
        """The turn, from 1."""
        return int(self._numbers[Number.TURN])

    @property
    def seat_to_move(self) -> int:
        """The seat that decides next: in a reply the robbed one."""
        robbed = int(self._numbers[Number.ROBBED])
        return robbed if robbed >= 0 else int(self._numbers[Number.SEAT])

    def player_at(self, seat: int) -> int:
        """Give the player of the line-up who sits in a seat."""
        return self._seat(seat, Seat.PLAYER)

    def legal_moves(self) -> list[Move]:
        """Give the moves offered in canonical order; empty when the game is over.

        They are the legal ones, but for a seat whose player knows only a part of the map.
        """
        if self._total == 0:
            return []
        moves = np.zeros((self._total, 8), dtype=np.int32)
        self._kernel.write_moves(self._desk, self._numbers, self._masks, self._total, moves)
        return [self._move(row) for row in moves.tolist()]

    def apply(self, move: Move | int) -> None:
        """Make a legal move, given as itself or by its place in the list.

        Raises
        ------
        BadUsage
            It is not legal here, or the game is over.
        """
        if self._total == 0:
            raise BadUsage(words.say("engine.over"))
        legal = self.legal_moves()
        if isinstance(move, Move):
            if move not in legal:
                raise BadUsage(words.say("engine.illegal", total=len(legal)))
        elif not 0 <= move < len(legal):
            raise BadUsage(words.say("engine.illegal", total=len(legal)))
        chosen = move if isinstance(move, Move) else legal[move]
        row = self._numbers[Number.CHOSEN : Number.CHOSEN + 8]
        row[:] = 0
        row[0] = chosen.number
        row[1 : 1 + len(chosen.args)] = chosen.args
        self._do()

    def is_attempt(self, move: Move) -> bool:
        """Tell whether a move that is offered would be refused."""
        after = self.clone()
        seat = self.seat_to_move
        after.apply(move)
        return after.refused(seat) > self.refused(seat)

    def refuse(self, move: Move) -> None:
        """Let the seat to move pay for an attempt that the rules refuse, and change nothing else.

        A play is used, for a rival's loose card a draw too; a join or a claim costs nothing
        where it is free. The turn goes on, and closes if nothing is left to do.

        Raises
        ------
        BadUsage
            It is no attempt: the game is over, the move is legal, is no attach, join, take or
            claim, or there is nothing left to pay it with.
        """
        if self._total == 0:
            raise BadUsage(words.say("engine.over"))
        if move in self.legal_moves():
            if not self.is_attempt(move):
                raise BadUsage(words.say("engine.not-refused"))
            self.apply(move)
            return
        if not can_be_paid(self.tables.rules, self._numbers, move.number):
            raise BadUsage(words.say("engine.not-refused"))
        self._kernel.refuse_chosen(self._desk, self._numbers, move.number)
        self._go_on()

    def choose(self, line_up: Sequence[str]) -> Move:
        """Give the move that the seat to move would make as its style in a line-up.

        ``chance`` and ``searcher`` draw from the player's stream, which goes on by one.

        Raises
        ------
        BadUsage
            The game is over, or was started with a player who knows another share of the map.
        """
        if self._total == 0:
            raise BadUsage(words.say("engine.over"))
        styles = line_up_numbers(line_up, self.tables)
        player = self.player_at(self.seat_to_move)
        if shares_of(styles)[player] != self._knowledge[player]:
            raise BadUsage(words.say("engine.other-knowledge"))
        playouts = searches(styles)
        if playouts:
            store = make_store(self.tables, playouts)
            load_search_kernel().search_choose(self._desk, styles, self._total, self._work, store)
        else:
            self._kernel.choose(self._desk, styles, self._total, self._work)
        return self._move(self._numbers[Number.CHOSEN : Number.CHOSEN + 8].tolist())

    def result(self) -> Games:
        """Give the row of the finished game, as `play` does (deal is left 0)."""
        row = np.zeros((1, sizes_of(self.tables).row), dtype=np.int32)
        self._kernel.finish_row(self._desk, self._numbers, self._masks, row[0], self._rotation)
        openings = np.array(
            [
                [
                    self._masks[Mask.SEATS + seat * SEAT_MASKS + SeatMask.OPENING]
                    for seat in range(self.tables.seats)
                ]
            ],
            dtype=np.uint64,
        )
        enacted = np.zeros((1, self.tables.seats, 0), dtype=np.uint64)
        return games_of_rows(self.tables, row, openings, enacted, 0, 1)

    def name(self, move: Move) -> tuple[str, ...]:
        """Give a move in words of the design: its name, then its arguments by name."""
        kinds = ARGUMENTS.get(MoveNumber(move.number), ())
        named = [
            self._argument(kind, value) for kind, value in zip(kinds, move.args, strict=False)
        ]
        return (MoveNumber(move.number).name.lower().replace("_", "-"), *named)

    def hand(self, seat: int) -> dict[str, int]:
        """Give a hand: hand kind -> cards, those that it holds."""
        return self._counts(Number.HAND + seat * MOST_KINDS, self.tables.hand_kinds)

    @property
    def display(self) -> dict[str, int]:
        """The face-up part cards: hand kind -> cards."""
        return self._counts(Number.DISPLAY, self.tables.hand_kinds)

    @property
    def pile(self) -> dict[str, int]:
        """The swapped cards: hand kind -> cards."""
        return self._counts(Number.PILE, self.tables.hand_kinds)

    @property
    def stock(self) -> tuple[str, ...]:
        """The stock, top first. Hidden from every seat."""
        top, size = int(self._numbers[Number.STOCK_TOP]), int(self._numbers[Number.STOCK_SIZE])
        ring = int(self.tables.rules[Rule.PART_CARDS])
        places = [Number.STOCK + (top + offset) % ring for offset in range(size)]
        return tuple(self.tables.hand_kinds[self._numbers[place]] for place in places)

    @property
    def target_stock(self) -> tuple[str, ...]:
        """The target stock, top first. Hidden from every seat."""
        top, size = int(self._numbers[Number.TARGET_TOP]), int(self._numbers[Number.TARGET_SIZE])
        ring = int(self.tables.rules[Rule.TARGET_CARDS])
        places = [Number.TARGET_STOCK + (top + offset) % ring for offset in range(size)]
        return tuple(self.tables.targets[self._numbers[place]] for place in places)

    @property
    def open_targets(self) -> tuple[str | None, ...]:
        """The open targets by place; None where none lies any more."""
        shown = int(self.tables.rules[Rule.OPEN_TARGETS])
        places = self._numbers[Number.OPEN : Number.OPEN + min(shown, MOST_OPEN_TARGETS)]
        return tuple(self._target(number) for number in places.tolist())

    def secret_targets(self, seat: int) -> tuple[str, ...]:
        """Give a seat's secret targets."""
        start = Number.SEATS + seat * SEAT_NUMBERS + Seat.SECRET
        found = self._numbers[start : start + MOST_SECRET_TARGETS].tolist()
        return tuple(self.tables.targets[number] for number in found if number >= 0)

    def strands(self, seat: int) -> tuple[TableStrand, ...]:
        """Give a seat's strands in order: those of two or more cards, then loose cards."""
        found = []
        for strand in range(self._seat(seat, Seat.STRANDS)):
            place = Number.STRANDS + (seat * SEAT_STRANDS + strand) * STRAND_NUMBERS
            key, copies = int(self._numbers[place]), int(self._numbers[place + 3])
            slots = self._slots(key >> 9, key & 63)
            found.append(TableStrand(slots, key >> 6 & 7, copies))
        for kind, name in enumerate(self.tables.placed_kinds):
            copies = int(self._numbers[Number.LOOSE + seat * MOST_KINDS + kind])
            if copies:
                alone: list[str | None] = [None for _ in self.tables.tiers]
                alone[int(self.tables.strands.kind_tier[kind])] = name
                found.append(TableStrand(tuple(alone), 0, copies))
        return tuple(found)

    def points(self, seat: int) -> int:
        """Give a seat's points."""
        return self._seat(seat, Seat.POINTS)

    def claims(self, seat: int) -> int:
        """Give the number of a seat's claims."""
        return self._seat(seat, Seat.CLAIMS)

    def refused(self, seat: int) -> int:
        """Give how many attempts of a seat have been refused."""
        return self._seat(seat, Seat.REFUSED)

    @property
    def card_claimed(self) -> dict[str, int]:
        """The cards that left with claims: hand kind -> cards."""
        return self._counts(Number.CLAIMED, self.tables.hand_kinds)

    @property
    def _numbers(self) -> np.ndarray[tuple[int], np.dtype[np.int32]]:
        return self._work[0]

    @property
    def _masks(self) -> np.ndarray[tuple[int], np.dtype[np.uint64]]:
        return self._work[1]

    def _seat(self, seat: int, column: Seat) -> int:
        return int(self._numbers[Number.SEATS + seat * SEAT_NUMBERS + column])

    def _counts(self, start: int, names: Sequence[str]) -> dict[str, int]:
        counts = self._numbers[start : start + len(names)].tolist()
        return {name: count for name, count in zip(names, counts, strict=True) if count}

    def _target(self, number: int) -> str | None:
        return self.tables.targets[number] if number >= 0 else None

    def _slots(self, code: int, any_tiers: int) -> tuple[str | None, ...]:
        strands, names = self.tables.strands, self.tables.placed_kinds
        structures = int(self.tables.rules[Rule.STRUCTURES])
        first_any = int(self.tables.rules[Rule.FIRST_ANY_KIND])
        slots: list[str | None] = []
        first = 0
        for tier, size in enumerate(strands.sizes.tolist()):
            digit = code // int(strands.places[tier]) % (size + 2)
            if digit == 0:
                slots.append(None)
            elif digit <= size:
                slots.append(names[first + digit - 1])
            elif any_tiers >> tier & 1:
                slots.append(names[first_any + tier])
            else:
                own = strands.kind_tier[structures:first_any].tolist().index(tier)
                slots.append(names[structures + own])
            first += size
        return tuple(slots)

    def _move(self, row: Sequence[int]) -> Move:
        if row[0] == MoveNumber.USE:
            end = row.index(-1) if -1 in row else len(row)
            return Move(row[0], tuple(row[1:end]))
        count = len(ARGUMENTS.get(MoveNumber(row[0]), ()))
        return Move(row[0], tuple(row[1 : 1 + count]))

    def _argument(self, kind: str, value: int) -> str:
        if kind == "hand kind":
            return self.tables.hand_kinds[value]
        if kind == "placed kind":
            return self.tables.placed_kinds[value]
        if kind == "target":
            return self.tables.targets[value]
        return str(value)

    def _do(self) -> None:
        self._kernel.do_chosen(self._desk, self._numbers, self._masks, self._total)
        self._go_on()

    def _go_on(self) -> None:
        self._total = int(self._kernel.go_to_decision(self._desk, self._numbers, self._masks))


def _copied(work: Work) -> Work:
    return (
        work[0].copy(),
        work[1].copy(),
        work[2].copy(),
        work[3].copy(),
        work[4].copy(),
        work[5].copy(),
        work[6].copy(),
    )
