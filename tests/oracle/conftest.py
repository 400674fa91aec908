"""The slow table and its helpers stand beside the tests; games that several tests play."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from nervure.game import Game, read_game
from nervure.maps import game_folder
from nervure.project import read_folder

sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture
def bundled_game(tmp_path: Path) -> Callable[[str], Game]:
    """Read a copy of a bundled game by its name."""

    def read(name: str) -> Game:
        game = read_game(read_folder(Path(shutil.copytree(game_folder(name), tmp_path / name))))
        assert game.ok
        return game

    return read
