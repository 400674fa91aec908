"""Games whose columns are written by hand, and a bundled game that is played in earnest."""

from collections.abc import Callable
from dataclasses import fields
from typing import Any

import numpy as np
import pytest

from nervure import maps
from nervure.engine import Games
from nervure.game import Game, read_game
from nervure.project import read_folder

MakeGames = Callable[..., Games]

BY_SEAT = {
    "player",
    "share",
    "points",
    "claims",
    "full_claims",
    "first_claim",
    "points_length",
    "points_bonus",
    "opening",
}
BY_TARGET = {"target_open", "target_claimed", "claim_length", "claim_wait"}
BY_KIND = {"card_drawn", "card_played", "card_claimed", "card_left"}


@pytest.fixture(scope="session")
def make_games() -> MakeGames:
    """Give a maker of games: named columns as lists, a row a game; all others are 0."""

    def make(count: int, seats: int = 2, targets: int = 1, kinds: int = 1, **given: Any) -> Games:
        columns = {}
        for column in fields(Games):
            name = column.name
            shape: tuple[int, ...] = (count,)
            if name in BY_SEAT:
                shape = (count, seats)
            elif name in BY_TARGET:
                shape = (count, targets)
            elif name in BY_KIND:
                shape = (count, kinds)
            wide = {"deal": np.int64, "opening": np.uint64}.get(name, np.int32)
            columns[name] = np.zeros(shape, dtype=wide)
            if name in given:
                columns[name][:] = np.array(given.pop(name)).reshape(shape)
            elif name == "player":
                columns[name][:] = np.arange(seats)
        assert not given, f"no such column: {sorted(given)}"
        return Games(**columns)

    return make


@pytest.fixture(scope="session")
def small_game() -> Game:
    """Give the bundled game of the lock-keepers."""
    return read_game(read_folder(maps.game_folder("lock-keepers")))
