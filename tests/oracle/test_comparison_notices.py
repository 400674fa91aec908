"""The comparison fails where one side plays by another rule: it can tell."""

from __future__ import annotations

import pytest
from comparing import compare_by_chance, compare_step_by_step
from slow_rules import StrandBook, Table


class _Lenient(StrandBook):
    """Holds every strand of two cards for joined."""

    def joined(self, slots):
        return super().joined(slots) or sum(slot is not None for slot in slots) == 2


class _Stingy(StrandBook):
    """Holds no strand for full."""

    def full(self, slots, minimum=None):
        return frozenset()


@pytest.mark.parametrize(("book", "column"), [(_Lenient, "choices"), (_Stingy, "full_claims")])
def test_a_strand_judged_otherwise_is_noticed(bundled_game, book, column):
    game = bundled_game("giants-leg")
    with pytest.raises(AssertionError, match=column):
        compare_by_chance(game, 2, seed=1, deals=10, book=book(game))


def test_a_move_left_out_of_the_list_is_noticed_at_once(bundled_game, monkeypatch):
    def one_less(table):
        return legal_moves(table)[:-1]

    from slow_rules import table as table_module

    legal_moves = table_module.legal_moves
    monkeypatch.setattr(table_module, "legal_moves", one_less)
    with pytest.raises(AssertionError, match=r"turn 1: .*legal"):
        compare_step_by_step(bundled_game("giants-leg"), 2, seed=1, deal=0)


def test_a_card_that_goes_missing_is_noticed(bundled_game):
    table = Table(bundled_game("giants-leg"), 2, 1, 0)
    table.stock.pop()
    with pytest.raises(AssertionError):
        table.apply(table.legal[0])
