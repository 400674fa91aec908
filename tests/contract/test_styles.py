"""What every style keeps to, on small invented designs that use every kind of rule.

A new style is done when its name stands in `STYLES` here and everything passes.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from nervure.engine import Position, digest, play
from nervure.engine.layout import SEAT_MASKS, SEAT_NUMBERS, Mask, Number, Seat, SeatMask
from nervure.game import read_game
from nervure.game.compile import compile_game
from nervure.game.tables import MOST_KINDS, MOST_SECRET_TARGETS, Rule, Tables
from nervure.project import read_folder

STYLES = ("chance", "sprinter", "builder", "weigher", "searcher:20")
STYLES += ("sprinter@0.5", "builder@0.25", "weigher@0")
DESIGNS = Path(__file__).resolve().parent.parent / "golden" / "designs"
# Between them: takes and replies, secret targets, gaps, wild cards, bonuses, lifts, passes.
TABLES = (("plain", 2), ("thieves", 4), ("secrets", 3), ("jokers", 3), ("toolbox", 2))
TABLES += (("passers", 1), ("crowd", 6), ("neighbours", 2), ("slow", 2), ("charters", 2))

each_style = pytest.mark.parametrize("style", STYLES)
each_table = pytest.mark.parametrize(("design", "seats"), TABLES, ids=[t[0] for t in TABLES])


@cache
def tables_of(design: str, seats: int) -> Tables:
    return compile_game(read_game(read_folder(DESIGNS / design)), seats)


def shuffle_what_is_hidden(position: Position, chance: np.random.Generator) -> None:
    """Deal anew all that the seat to move cannot see: rivals' hands and secrets, stocks."""
    numbers, masks = position._numbers, position._masks
    rules, kinds = position.tables.rules, len(position.tables.hand_kinds)
    seat = position.seat_to_move
    rivals = [other for other in range(position.tables.seats) if other != seat]

    top, ring = int(numbers[Number.STOCK_TOP]), int(rules[Rule.PART_CARDS])
    stock = Number.STOCK + (top + np.arange(numbers[Number.STOCK_SIZE])) % max(ring, 1)
    hands = [slice(Number.HAND + r * MOST_KINDS, Number.HAND + r * MOST_KINDS + kinds)
             for r in rivals]  # fmt: skip
    sizes = [int(numbers[hand].sum()) for hand in hands]
    unseen = [*numbers[stock].tolist()]
    for hand in hands:
        unseen += np.repeat(np.arange(kinds), numbers[hand]).tolist()
    unseen = chance.permutation(np.array(unseen, dtype=np.int64))
    numbers[stock], unseen = unseen[: len(stock)], unseen[len(stock) :]
    for rival, hand, size in zip(rivals, hands, sizes, strict=True):
        held, unseen = unseen[:size], unseen[size:]
        numbers[hand] = np.bincount(held, minlength=kinds)
        mask = sum(1 << int(kind) for kind in set(held.tolist()))
        masks[Mask.SEATS + rival * SEAT_MASKS + SeatMask.HAND] = mask

    top, ring = int(numbers[Number.TARGET_TOP]), int(rules[Rule.TARGET_CARDS])
    places = [*(Number.TARGET_STOCK + (top + np.arange(numbers[Number.TARGET_SIZE])) % ring)]
    for rival in rivals:
        first = Number.SEATS + rival * SEAT_NUMBERS + Seat.SECRET
        places += [p for p in range(first, first + MOST_SECRET_TARGETS) if numbers[p] >= 0]
    numbers[places] = chance.permutation(numbers[places])
    for rival in rivals:
        first = Number.SEATS + rival * SEAT_NUMBERS + Seat.SECRET
        held = [t for t in numbers[first : first + MOST_SECRET_TARGETS].tolist() if t >= 0]
        for half in range(2):
            word = sum({1 << t - 64 * half for t in held if t // 64 == half})
            masks[Mask.SEATS + rival * SEAT_MASKS + SeatMask.SECRET + half] = word


@each_table
@each_style
def test_a_style_makes_legal_moves_only(style: str, design: str, seats: int) -> None:
    for deal in range(2):
        position = Position.start(tables_of(design, seats), 3, deal, line_up=[style] * seats)
        while not position.finished:
            move = position.choose([style] * seats)
            assert move in position.legal_moves(), position.name(move)
            position.apply(move)


@each_table
@each_style
def test_the_same_seed_gives_the_same_games(style: str, design: str, seats: int) -> None:
    tables = tables_of(design, seats)

    once, again = (play(tables, [style] * seats, seed=4, deals=3) for _ in range(2))

    assert digest([once]) == digest([again])


@each_table
@each_style
def test_a_move_does_not_depend_on_what_its_seat_cannot_see(
    style: str, design: str, seats: int
) -> None:
    chance = np.random.default_rng(5)
    line_up = [style] * seats
    compared = 0

    for deal in range(2):
        position = Position.start(tables_of(design, seats), 6, deal, line_up=line_up)
        while not position.finished:
            other = position.clone()
            shuffle_what_is_hidden(other, chance)
            move = position.choose(line_up)
            assert other.choose(line_up) == move
            compared += len(position.legal_moves()) > 1
            position.apply(move)
    assert compared > 0


@each_table
@each_style
def test_every_game_comes_to_an_end(style: str, design: str, seats: int) -> None:
    tables = tables_of(design, seats)

    games = play(tables, [style] * seats, seed=8, deals=10)

    # docs/rules.md, Closing a turn: no game is longer than this.
    assert np.all(games.turns <= 4 * tables.rules[Rule.PART_CARDS] + 100)
    assert np.all(games.decisions > 0)


@each_table
@each_style
def test_a_game_played_alone_is_the_game_of_the_block(style: str, design: str, seats: int) -> None:
    tables = tables_of(design, seats)
    line_up = [style] + ["chance"] * (seats - 1)
    block = play(tables, line_up, seed=9, deals=2).columns()

    for deal in range(2):
        position = Position.start(tables, 9, deal, line_up=line_up)
        while not position.finished:
            position.apply(position.choose(line_up))
        for name, column in position.result().columns().items():
            if name != "deal":
                assert np.array_equal(column[0], block[name][deal]), name


def test_the_shuffle_changes_what_is_hidden_and_nothing_else() -> None:
    hands, secrets, stocks, target_stocks = (set() for _ in range(4))

    for position in (Position.start(tables_of(*table), 6) for table in TABLES[1:3]):
        for seed in range(20):
            other = position.clone()
            shuffle_what_is_hidden(other, np.random.default_rng(seed))
            assert other.hand(0) == position.hand(0)
            assert other.secret_targets(0) == position.secret_targets(0)
            assert other.open_targets == position.open_targets
            assert other.display == position.display
            assert other.legal_moves() == position.legal_moves()
            assert sum(other.hand(1).values()) == sum(position.hand(1).values())
            hands.add(tuple(other.hand(1).items()))
            secrets.add(other.secret_targets(1))
            stocks.add(other.stock)
            target_stocks.add(other.target_stock)

    assert all(len(seen) > 2 for seen in (hands, secrets, stocks, target_stocks))
