"""The weigher, its line-ups, and how well it plays the bundled games."""

from functools import cache

import numpy as np
import pytest

from nervure.engine import play
from nervure.engine.layout import Style
from nervure.engine.line_up import line_up_numbers, searches, style_of
from nervure.engine.weight_sets import set_for
from nervure.errors import BadUsage, UnknownName
from nervure.game import read_game
from nervure.game.compile import compile_game
from nervure.maps import game_folder
from nervure.project import read_folder

GAMES = ("giants-leg", "lock-keepers")


@cache
def bundled(name, seats):
    return compile_game(read_game(read_folder(game_folder(name))), seats)


def share_against(name, one, other, deals):
    """Give the mean win share at two seats, both rotations, and its standard error."""
    games = play(bundled(name, 2), [one, other], seed=77, deals=deals, rotations="all")
    won = np.where(games.player == 0, games.share, 0).sum(axis=1).reshape(deals, 2).mean(axis=1)
    return won.mean() / 60, won.std(ddof=1) / 60 / np.sqrt(deals)


@pytest.mark.parametrize("other", ["sprinter", "builder"])
@pytest.mark.parametrize("name", GAMES)
def test_the_weigher_beats_the_greedy_styles_beyond_doubt(name, other):
    # Deals that no weight was learned on (their seeds are below 100,000 apart from the last
    # comparison's); five standard errors.
    share, error = share_against(name, "weigher", other, 600)

    assert share - 5 * error > 0.5


@pytest.mark.long
def test_the_searcher_beats_the_weigher():
    share, error = share_against("giants-leg", "searcher:100", "weigher", 500)

    assert share - 1.96 * error > 0.5


@pytest.mark.parametrize("name", GAMES)
@pytest.mark.parametrize("seats", [2, 3, 4])
def test_a_bundled_game_is_played_with_its_own_weights(name, seats):
    assert set_for(bundled(name, seats)).name == name


def test_a_searcher_is_named_with_its_playouts():
    assert style_of("searcher:250")[:2] == (Style.SEARCHER, 250)
    assert style_of("searcher:7/builder/9/50/4/1/70") == (
        Style.SEARCHER,
        7,
        Style.BUILDER,
        9,
        50,
        4,
        1,
        70,
    )


@pytest.mark.parametrize(
    "name", ["searcher", "searcher:", "searcher:0", "searcher:9999999", "searcher:5/nobody"]
)
def test_a_searcher_without_a_number_of_playouts_is_no_style(name):
    with pytest.raises(UnknownName, match="searcher:100"):
        style_of(name)


def test_only_line_ups_with_a_searcher_search():
    tables = bundled("lock-keepers", 2)

    assert searches(line_up_numbers(["weigher", "chance"], tables)) == 0
    assert searches(line_up_numbers(["searcher:30", "searcher:50"], tables)) == 50


def test_a_line_up_has_as_many_players_as_the_table():
    with pytest.raises(BadUsage, match="1 players for a table of 2"):
        line_up_numbers(["weigher"], bundled("lock-keepers", 2))
