"""Designs and tables for tests of the table: the bundled games, the small ones of the goldens."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from nervure.engine import Move, MoveNumber, Position
from nervure.maps import bundled_games, game_folder
from nervure.table import SeatPlan, Storage, TableGame, open_storage
from nervure.table.design import copy_design, game_of, tables_of

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
