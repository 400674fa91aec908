"""Designs and tables for tests of the table: the bundled games, the small ones of the goldens."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from nervure.engine import Move, MoveNumber, Position
from nervure.engine.layout import SEAT_MASKS, SEAT_NUMBERS, Mask, Number, Seat, SeatMask
from nervure.errors import BadUsage
from nervure.game.tables import MOST_KINDS, MOST_SECRET_TARGETS, Rule
from nervure.maps import bundled_games, game_folder
from nervure.table import SeatPlan, Storage, TableGame, open_storage, seat_view
from nervure.table.design import copy_design, game_of, tables_of
from nervure.table.moves import move_id

GOLDEN = Path(__file__).resolve().parents[1] / "golden" / "designs"


@cache
def design_of(name: str) -> str:
    """Give the design of a bundled game or of a folder of tests/golden/designs."""
    return copy_design(game_folder(name) if name in bundled_games() else GOLDEN / name)


class Lab:
    """What several test modules do with a design by name."""

    design = staticmethod(design_of)

    @staticmethod
    def game(name: str) -> Any:
        return game_of(design_of(name))

    @staticmethod
    def tables(name: str, seats: int) -> Any:
        return tables_of(design_of(name), seats)

    @staticmethod
    def positions(name: str, seats: int, seed: int, every: int = 1) -> Iterator[Position]:
        """Give copies of every nth decision of a random game."""
        rng = random.Random(seed)
        position = Position.start(tables_of(design_of(name), seats), seed)
        decision = 0
        while not position.finished:
            if decision % every == 0:
                yield position.clone()
            decision += 1
            position.apply(rng.choice(position.legal_moves()))

    @staticmethod
    def every_move(position: Position, seat: int) -> Iterator[Move]:
        """Give every move with arguments in range, legal or not, bonuses apart."""
        tables = position.tables
        strands, kinds = len(position.strands(seat)), len(tables.placed_kinds)
        hand_kinds, targets = len(tables.hand_kinds), len(tables.targets)
        for number in (
            MoveNumber.END,
            MoveNumber.PASS,
            MoveNumber.DRAW_STOCK,
            MoveNumber.LET,
            MoveNumber.CANCEL,
        ):
            yield Move(number)
        for number in (MoveNumber.DRAW_DISPLAY, MoveNumber.SWAP):
            yield from (Move(number, (kind,)) for kind in range(hand_kinds))
        yield from (Move(MoveNumber.LAY, (kind,)) for kind in range(kinds))
        for strand in range(strands + 1):
            yield from (Move(MoveNumber.LIFT, (strand, end)) for end in (0, 1))
            for number in (MoveNumber.ATTACH, MoveNumber.ATTACH_GAP):
                yield from (Move(number, (strand, kind)) for kind in range(kinds))
            yield from (Move(MoveNumber.CLAIM, (strand, target)) for target in range(targets))
            yield from (
                Move(MoveNumber.JOIN, (strand, later)) for later in range(strand + 1, strands)
            )
            for on in range(1, tables.seats):
                yield from (
                    Move(MoveNumber.TAKE_LOOSE, (on, strand, kind)) for kind in range(kinds)
                )

    @staticmethod
    def dealt_anew(position: Position, seat: int | None, rng: random.Random) -> Position | None:
        """Give a copy in which all that a seat (None: a spectator) cannot see lies otherwise.

        None where the seat to move would then have nothing to decide.
        """
        copy = position.clone()
        numbers, masks, tables = copy._numbers, copy._masks, position.tables
        others = [other for other in range(tables.seats) if other != seat]
        kinds = len(tables.hand_kinds)
        top, size = int(numbers[Number.STOCK_TOP]), int(numbers[Number.STOCK_SIZE])
        ring = int(tables.rules[Rule.PART_CARDS])
        stock = [Number.STOCK + (top + place) % ring for place in range(size)]
        unseen = [int(numbers[place]) for place in stock]
        sizes = {}
        for other in others:
            hand = Number.HAND + other * MOST_KINDS
            held = [kind for kind in range(kinds) for _ in range(int(numbers[hand + kind]))]
            sizes[other] = len(held)
            unseen += held
        rng.shuffle(unseen)
        for place in stock:
            numbers[place] = unseen.pop()
        for other in others:
            hand = Number.HAND + other * MOST_KINDS
            numbers[hand : hand + kinds] = 0
            for kind in [unseen.pop() for _ in range(sizes[other])]:
                numbers[hand + kind] += 1
            mask = sum(1 << kind for kind in range(kinds) if numbers[hand + kind])
            masks[Mask.SEATS + other * SEAT_MASKS + SeatMask.HAND] = mask
        top, size = int(numbers[Number.TARGET_TOP]), int(numbers[Number.TARGET_SIZE])
        ring = int(tables.rules[Rule.TARGET_CARDS])
        places = [Number.TARGET_STOCK + (top + place) % ring for place in range(size)]
        for other in others:
            first = Number.SEATS + other * SEAT_NUMBERS + Seat.SECRET
            places += [p for p in range(first, first + MOST_SECRET_TARGETS) if numbers[p] >= 0]
        targets = [int(numbers[place]) for place in places]
        rng.shuffle(targets)
        for place, target in zip(places, targets, strict=True):
            numbers[place] = target
        for other in others:
            first = Number.SEATS + other * SEAT_NUMBERS + Seat.SECRET
            held = [t for t in numbers[first : first + MOST_SECRET_TARGETS].tolist() if t >= 0]
            for half in range(2):
                word = sum({1 << t - 64 * half for t in held if t // 64 == half})
                masks[Mask.SEATS + other * SEAT_MASKS + SeatMask.SECRET + half] = word
        copy._go_on()
        same = (copy.turn, copy.seat_to_move) == (position.turn, position.seat_to_move)
        return copy if same and copy.finished == position.finished else None

    @staticmethod
    def try_on(table: TableGame, tokens: dict[int, str], rng: random.Random) -> Any:
        """Make one move as a learner does, from all that is shown: an attempt, now and then."""
        if table.turn_of_computer:
            return table.step(table.number)
        seat = table.position.seat_to_move
        shown = [one["id"] for one in seat_view(table, seat)["moves"]]
        for choice in rng.sample(shown, len(shown)):
            before = table.version
            try:
                return table.move(tokens[seat], table.number, choice)
            except BadUsage:  # no room for it, or tried before: nothing changes
                assert table.version == before
        raise AssertionError("nothing that was shown can be done")

    @staticmethod
    def play_on(table: TableGame, tokens: dict[int, str], rng: random.Random) -> Any:
        """Make one move: the computer's own, or a random choice of a person's."""
        if table.turn_of_computer:
            return table.step(table.number)
        seat = table.position.seat_to_move
        legal = {move_id(move) for move in table.position.legal_moves()}
        shown = [one["id"] for one in seat_view(table, seat)["moves"] if one["id"] in legal]
        return table.move(tokens[seat], table.number, rng.choice(shown))


@pytest.fixture(scope="session")
def lab() -> type[Lab]:
    return Lab


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "workbench.sqlite3"


@pytest.fixture
def kept(file: Path) -> Iterator[Storage]:
    """Give a storage for tables."""
    with open_storage(file) as opened:
        yield opened


@pytest.fixture
def lay(kept: Storage) -> Callable[..., tuple[TableGame, dict[int, str]]]:
    """Lay a table of a design by name; seats as "Ana" (a person) or "=builder" (a style)."""
    codes = iter(["BCDF", "GHJK", "MNPR", "STWX"])

    def laid(name: str, *seats: str, **how: Any) -> tuple[TableGame, dict[int, str]]:
        plans = [
            SeatPlan("computer", style=seat[1:])
            if seat.startswith("=")
            else SeatPlan("person", seat)
            for seat in seats
        ]
        how.setdefault("seed", 11)
        return TableGame.lay(kept, name, design_of(name), plans, code=next(codes), **how)

    return laid
