"""No move of the engine makes, loses or doubles a card, or a point: random designs and ours.

Unlike the tests beside it nothing is compared with the slow table: the laws are read off the
design and the table alone (`conserving`).
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from conserving import Ledger, look_at_rows, play_and_look
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from tiny_designs import bonus_games, games

from nervure.engine import MoveNumber, Position, play
from nervure.game import NOT_PLAYED, Game, read_game
from nervure.game.compile import compile_game
from nervure.project import read_folder

DESIGNS = sorted((Path(__file__).parent.parent / "golden" / "designs").iterdir())
STYLES = ("chance", "sprinter", "builder", "weigher")
EVERY_MOVE = set(MoveNumber) - {MoveNumber.LET, MoveNumber.CANCEL}


def _look_at_designs(number: int, designs: st.SearchStrategy[Game]) -> Counter[int]:
    """Play so many random designs under every law; give the moves by number."""
    moves: Counter[int] = Counter()
    played = 0

    @settings(
        max_examples=number,
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(
        designs,
        st.integers(0, 2**64 - 1),
        st.integers(0, 5),
        st.lists(st.sampled_from(STYLES), min_size=6, max_size=6),
    )
    def conserves(game: Game, seed: int, size: int, styles: list[str]) -> None:
        nonlocal played
        assume(game.ok)
        sizes = game.rules.table_sizes
        seats = sizes[size % len(sizes)]
        ledger = play_and_look(game, seats, seed=seed, deal=seed % 7, line_up=styles[:seats])
        moves.update(ledger.moves)
        tables = compile_game(game, seats)
        look_at_rows(game, play(tables, styles[-seats:], seed=seed, deals=20, rotations="all"))
        played += 1

    conserves()
    assert played >= number
    return moves


def test_two_hundred_random_designs_keep_every_law() -> None:
    moves = _look_at_designs(150, games(without=NOT_PLAYED))
    moves += _look_at_designs(50, bonus_games())

    assert EVERY_MOVE <= set(moves), "moves that no game made"


@pytest.mark.long
def test_ten_thousand_random_designs_keep_every_law() -> None:
    _look_at_designs(8_000, games(without=NOT_PLAYED))
    _look_at_designs(2_000, bonus_games())


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("folder", DESIGNS, ids=lambda folder: folder.name)
def test_a_design_of_the_golden_games_keeps_every_law(folder: Path, style: str) -> None:
    game = read_game(read_folder(folder))
    for seats in game.rules.table_sizes:
        play_and_look(game, seats, seed=5, deal=seats, line_up=[style] * seats)
        look_at_rows(game, play(compile_game(game, seats), [style] * seats, seed=6, deals=60))


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("name", ["giants-leg", "lock-keepers"])
def test_a_bundled_game_keeps_every_law(bundled_game, name: str, style: str) -> None:
    game = bundled_game(name)
    for seats in game.rules.table_sizes:
        play_and_look(game, seats, seed=5, deal=seats, line_up=[style] * seats)
        look_at_rows(game, play(compile_game(game, seats), [style] * seats, seed=6, deals=60))


def test_a_card_too_many_is_noticed(bundled_game) -> None:
    game = bundled_game("giants-leg")
    position = Position.start(compile_game(game, 2), 1)
    ledger = Ledger(game, position)
    position._numbers[np.flatnonzero(position._numbers == 2)[-1]] += 1  # some count or other
    with pytest.raises(AssertionError):
        ledger.look()


@pytest.mark.parametrize(
    "column", ["card_drawn", "card_played", "card_claimed", "card_left", "points", "claims"]
)
def test_a_column_that_is_one_off_is_noticed(bundled_game, column: str) -> None:
    game = bundled_game("giants-leg")
    rows = play(compile_game(game, 2), ["builder"] * 2, seed=6, deals=5)
    rows.columns()[column][2, 0] += 99
    with pytest.raises(AssertionError):
        look_at_rows(game, rows)
