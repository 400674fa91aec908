"""The searcher on tiny games that are solved to the end, move by move.

Two seats with all cards dealt and none to draw: the rival's hand is what one's own is not,
so that the best share of the win is found by looking at every line of play. One seat with a
few cards in the stock: the best mean of points over every order that these can lie in.
"""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from nervure.engine import Move, Position
from nervure.engine.layout import Mask, Number, Seat
from nervure.game.tables import MOST_KINDS, Rule

PLAIN = "searcher:1000/chance/99/0/0/0/70"
USUAL = "searcher:300"
WHAT_MATTERS = [Number.SEAT, Number.STILL, Number.LAST_ROUND, Number.DRAWS, Number.PLAYS]
WHAT_MATTERS += [Number.BEGAN, Number.FRESH, Number.ROUND, Number.ENDED]


def looks_of(position: Position) -> tuple[object, ...]:
    """Give all of a position that its future depends on, but for the order of the stock."""
    numbers, seats = position._numbers, range(position.tables.seats)
    return (
        numbers[WHAT_MATTERS].tobytes(),
        numbers[Number.HAND : Number.HAND + len(seats) * MOST_KINDS].tobytes(),
        position.open_targets,
        tuple(position.strands(seat) for seat in seats),
        tuple((position.points(seat), position.claims(seat)) for seat in seats),
        tuple(int(numbers[Number.SEATS + 32 * seat + Seat.FULL_CLAIMS]) for seat in seats),
        tuple(sorted(position.stock)),
    )


class Solved:
    """The value of a tiny game's positions to seat 0, by every line of play."""

    def __init__(self) -> None:
        self.known: dict[tuple[object, ...], float] = {}

    def value(self, position: Position) -> float:
        """Give the share of the win of seat 0, or the points of the only seat."""
        if position.finished:
            if position.tables.seats == 1:
                return float(position.points(0))
            return float(position.result().share[0, 0]) / 60
        key = looks_of(position)
        if key not in self.known:
            values = self.by_move(position).values()
            self.known[key] = max(values) if position.seat_to_move == 0 else min(values)
        return self.known[key]

    def by_move(self, position: Position) -> dict[Move, float]:
        """Give the value of every legal move, a mean over all orders of the stock."""
        found = {}
        for move in position.legal_moves():
            values = []
            for after in orders_of_stock(position):
                after.apply(move)
                values.append(self.value(after))
            found[move] = float(np.mean(values))
        return found


def orders_of_stock(position: Position) -> list[Position]:
    numbers = position._numbers
    size, top = int(numbers[Number.STOCK_SIZE]), int(numbers[Number.STOCK_TOP])
    ring = int(position.tables.rules[Rule.PART_CARDS])
    places = Number.STOCK + (top + np.arange(size)) % ring
    copies = []
    for order in permutations(numbers[places].tolist()):
        copy = position.clone()
        copy._numbers[places] = order
        copies.append(copy)
    return copies


def right_choices(position: Position, style: str, solved: Solved, least: float) -> list[bool]:
    """Play a game by best moves; where moves differ by `least`, tell if the style is right."""
    line_up = [style] * position.tables.seats
    right = []
    while not position.finished:
        values = solved.by_move(position)
        sign = 1 if position.seat_to_move == 0 else -1
        best = max(values.values(), key=lambda value: sign * value)
        if max(values.values()) - min(values.values()) >= least:
            chosen = values[position.clone().choose(line_up)]
            right.append(abs(chosen - best) < least)
        position.apply(next(move for move, value in values.items() if value == best))
    return right


@pytest.mark.parametrize("style", [PLAIN, USUAL])
def test_two_seats_with_all_cards_dealt_are_played_perfectly(make_tables, make_tree, style):
    tables = make_tables(
        make_tree(sizes=(2, 4), targets=4, seed=3),
        2,
        copies=1,
        hand=3,
        display=0,
        draws=0,
        end_claims=2,
        points=(0, 0, 2, 2, 2, 2, 2),
    )
    solved, right = Solved(), []
    for deal in range(12):
        right += right_choices(Position.start(tables, 2, deal), style, solved, 0.25)

    assert len(right) >= 8
    assert sum(right) / len(right) >= 0.95, right


@pytest.mark.parametrize("style", [PLAIN, USUAL])
def test_one_seat_with_a_few_unseen_cards_plays_for_the_best_mean(make_tables, make_tree, style):
    tables = make_tables(
        make_tree(sizes=(2, 3), targets=3, seed=5),
        1,
        copies=1,
        hand=2,
        display=0,
        refill=0,
        draws=5,
        open_targets=2,
        end_claims=0,
        end_rounds=3,
    )
    solved, right = Solved(), []
    for deal in range(12):
        right += right_choices(Position.start(tables, 2, deal), style, solved, 0.5)

    assert len(right) >= 8
    assert sum(right) / len(right) >= 0.9, right


def test_the_solver_finds_the_value_of_a_game_worked_by_hand(make_tables, make_tree):
    # One seat, one card a tier, both in hand, nothing to draw, one target: lay, attach, claim
    # pays the two points of two cards.
    tables = make_tables(
        make_tree(sizes=(1, 1), targets=1),
        1,
        copies=1,
        hand=2,
        display=0,
        draws=0,
        open_targets=1,
        end_claims=1,
    )

    assert Solved().value(Position.start(tables, 1, 0)) == 2


def test_searching_leaves_the_game_as_it_is(tree_tables):
    position = Position.start(tree_tables, 4)
    before = position._numbers[: len(position._numbers) // 2].copy()
    masks = position._masks[: Mask.SIZE // 2].copy()

    position.choose(["searcher:50"] * 3)

    chosen = slice(Number.CHOSEN, Number.SEATS)
    before[chosen] = position._numbers[chosen]
    masks[Mask.STREAM] = position._masks[Mask.STREAM]
    assert np.array_equal(position._numbers[: len(before)], before)
    assert np.array_equal(position._masks[: len(masks)], masks)
