"""Moves as text and as data: the id that a page sends back, the line that a log keeps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from nervure import words
from nervure.engine import Move, MoveNumber
from nervure.errors import BadUsage
from nervure.game.tables import MOST_PART_CARDS, Tables

MOST_USE_ARGUMENTS = 7


def move_id(move: Move) -> str:
    """Give the id of a move: its number and arguments, with dots between.

    >>> move_id(Move(8, (0, 13)))
    '8.0.13'
    """
    return ".".join(map(str, (move.number, *move.args)))


def parse_move(text: str, tables: Tables) -> Move:
    """Give the move of an id at a table of these tables.

    Raises
    ------
    BadUsage
        It is no such text, or its arguments are out of range.
    """
    try:
        number, *args = (int(part) for part in text.split("."))
        if not text.isascii() or not is_well_formed(number, args, tables):
            raise ValueError(text)
    except (ValueError, AttributeError) as problem:
        raise BadUsage(words.say("table.cannot.move", move=str(text)[:40])) from problem
    return Move(number, tuple(args))


def is_well_formed(number: int, args: Sequence[int], tables: Tables) -> bool:
    """Tell whether a move names kinds, targets and seats that there are."""
    kinds, placed = len(tables.hand_kinds), len(tables.placed_kinds)
    limits: Mapping[int, tuple[int, ...]] = {
        MoveNumber.DRAW_DISPLAY: (kinds,),
        MoveNumber.SWAP: (kinds,),
        MoveNumber.TAKE_LOOSE: (tables.seats, MOST_PART_CARDS, placed),
        MoveNumber.LIFT: (MOST_PART_CARDS, 2),
        MoveNumber.LAY: (placed,),
        MoveNumber.ATTACH: (MOST_PART_CARDS, placed),
        MoveNumber.ATTACH_GAP: (MOST_PART_CARDS, placed),
        MoveNumber.JOIN: (MOST_PART_CARDS, MOST_PART_CARDS),
        MoveNumber.CLAIM: (MOST_PART_CARDS, len(tables.targets)),
    }
    if number not in list(MoveNumber) or any(value < 0 for value in args):
        return False
    if number == MoveNumber.USE:
        return 1 <= len(args) <= MOST_USE_ARGUMENTS and args[0] < len(tables.bonus_ids)
    most = limits.get(number, ())
    return len(args) == len(most) and all(
        value < limit for value, limit in zip(args, most, strict=True)
    )


def move_data(kind: str, move: Move, by: str) -> dict[str, Any]:
    """Give a move as a log keeps it."""
    return {"kind": kind, "number": move.number, "args": list(move.args), "by": by}


def move_of(data: Mapping[str, Any]) -> Move:
    """Give the move of a line of a log."""
    return Move(int(data["number"]), tuple(int(value) for value in data["args"]))
