"""The bundled games keep what they promise: a table without a computer can referee them."""

import shutil
from pathlib import Path

import pytest

from nervure import maps
from nervure.game import Game, check_game, read_game
from nervure.project import read_folder


@pytest.fixture(params=maps.bundled_games())
def game(request: pytest.FixtureRequest, tmp_path: Path) -> Game:
    shutil.copytree(maps.game_folder(request.param), tmp_path / "game")
    return read_game(read_folder(tmp_path / "game"))


def test_a_bundled_game_has_no_error(game: Game) -> None:
    assert game.ok


def test_the_printed_test_of_a_bundled_game_has_no_exception(game: Game) -> None:
    assert check_game(game).printed_test.is_exact


def test_no_card_of_a_bundled_game_is_idle(game: Game) -> None:
    assert check_game(game).idle_cards == ()


def test_no_card_lists_a_structure_that_has_no_card(game: Game) -> None:
    for name in game.carded:
        assert game.carded.issuperset(game.prints.part_lists(name))
