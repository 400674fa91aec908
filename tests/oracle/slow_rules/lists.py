"""The list of legal moves at a decision, in the order of docs/rules.md."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slow_rules.bonus_moves import uses
from slow_rules.moves import (
    CANCEL,
    END,
    LET,
    PASS,
    USE,
    Move,
    claims,
    joins,
    legal_draws,
    legal_plays,
)

if TYPE_CHECKING:
    from slow_rules.table import Table


def legal_moves(table: Table) -> list[Move]:
    """Give the moves to choose from, in order; none if the turn closes by itself."""
    if table.take_in_question is not None:
        return [LET, CANCEL]
    rules = table.game.rules
    draws = legal_draws(table) if table.draws > 0 and not table.began else []
    plays = legal_plays(table) if not draws and table.plays > 0 else []
    free = legal_free(table)
    moves = [*draws, *plays, *free]
    if not moves:
        return []
    if not draws and (not plays or not rules.must_play):
        moves.append((END,))
    if table.fresh and may_pass(table):
        moves.append((PASS,))
    return sorted(moves)


def may_pass(table: Table) -> bool:
    """Tell whether the rules let the seat pass now."""
    allowed = table.game.rules.may_pass
    return allowed == "always" or (allowed == "stock-empty" and not table.stock)


def legal_free(table: Table) -> list[Move]:
    """Give the free actions that are legal now."""
    found: list[Move] = []
    if table.game.rules.join == "any-time":
        found += joins(table)
    if table.game.rules.claim == "any-time":
        found += claims(table)
    return [*found, *((USE, *arguments) for arguments in uses(table))]
