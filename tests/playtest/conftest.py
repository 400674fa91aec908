"""Games whose columns are written by hand, and a bundled game that is played in earnest."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from nervure import maps
from nervure.engine import Games
from nervure.engine.games import column_names
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
    "refused",
    "untrue_claims",
    "opening",
}
WIDE = {"deal": np.int64, "opening": np.uint64, "enacted": np.uint64}
BY_TARGET = {"target_open", "target_claimed", "claim_length", "claim_wait"}
BY_KIND = {"card_drawn", "card_played", "card_claimed", "card_left"}


@pytest.fixture(scope="session")
def make_games() -> MakeGames:
    """Give a maker of games: named columns as lists, a row a game; all others are 0."""

    def make(count: int, seats: int = 2, targets: int = 1, kinds: int = 1, **given: Any) -> Games:
        columns = {}
        for name in column_names():
            shape: tuple[int, ...] = (count,)
            if name in BY_SEAT:
                shape = (count, seats)
            elif name in BY_TARGET:
                shape = (count, targets)
            elif name in BY_KIND:
                shape = (count, kinds)
            elif name == "enacted":
                shape = (count, seats, 0)
            columns[name] = np.zeros(shape, dtype=WIDE.get(name, np.int32))
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
