"""Whole playtests of a bundled game: the same games whatever the workers, going on, stores."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from nervure.errors import BadUsage
from nervure.game import Game
from nervure.playtest import Options, read_result, run
from nervure.playtest.request import plan_of
from nervure.playtest.store import read_games
from nervure.records import PlaytestResult

LINE_UP = ("builder", "sprinter")
GAMES = 1200  # three chunks of the engine, so that two workers share them


@pytest.fixture(scope="module")
def played(
    small_game: Game, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Path, PlaytestResult]:
    folder = tmp_path_factory.mktemp("playtest")
    return folder, run(small_game, folder, Options(seats=LINE_UP, games=GAMES, seed=5))


def test_two_workers_play_the_same_games(
    small_game: Game, played: tuple[Path, PlaytestResult], tmp_path: Path
) -> None:
    again = run(small_game, tmp_path, Options(seats=LINE_UP, games=GAMES, seed=5, workers=2))

    assert again.digest == played[1].digest


def test_another_process_plays_the_same_games(played: tuple[Path, PlaytestResult]) -> None:
    script = (
        "import sys, pathlib\n"
        "from nervure import maps, playtest\n"
        "from nervure.game import read_game\n"
        "from nervure.project import read_folder\n"
        "game = read_game(read_folder(maps.game_folder('lock-keepers')))\n"
        f"options = playtest.Options(seats={LINE_UP}, games={GAMES}, seed=5)\n"
        "print(playtest.run(game, pathlib.Path(sys.argv[1]), options).digest)\n"
    )

    done = subprocess.run(
        [sys.executable, "-c", script, str(played[0] / "again")],
        capture_output=True,
        text=True,
        check=True,
    )

    assert done.stdout.split() == [played[1].digest]


def test_another_seed_plays_other_games(
    small_game: Game, played: tuple[Path, PlaytestResult], tmp_path: Path
) -> None:
    other = run(small_game, tmp_path, Options(seats=LINE_UP, games=GAMES, seed=6))

    assert other.digest != played[1].digest


def test_more_games_make_one_longer_playtest(
    small_game: Game, played: tuple[Path, PlaytestResult], tmp_path: Path
) -> None:
    run(small_game, tmp_path, Options(seats=LINE_UP, games=GAMES // 2, seed=5))
    longer = run(small_game, tmp_path, Options(seats=LINE_UP, games=GAMES // 2, seed=5, more=True))

    assert longer.games == GAMES
    assert longer.digest == played[1].digest
    assert longer.measures == played[1].measures


def test_more_without_an_earlier_playtest_is_refused(small_game: Game, tmp_path: Path) -> None:
    with pytest.raises(BadUsage):
        run(small_game, tmp_path, Options(seats=LINE_UP, games=10, more=True))


def test_a_result_reads_back_as_it_was_written(played: tuple[Path, PlaytestResult]) -> None:
    folder, result = played
    back = read_result(folder)

    assert back is not None
    assert back.to_dict() == result.to_dict()


def test_games_read_back_as_they_were_played(
    small_game: Game, played: tuple[Path, PlaytestResult], tmp_path: Path
) -> None:
    options = Options(seats=LINE_UP, games=GAMES, seed=5)
    (part,) = read_games(played[0], small_game.version, plan_of(small_game, options), 5)

    assert len(part.games) == GAMES
    assert part.games.opening.dtype == np.uint64
    assert part.games.share.shape == (GAMES, 2)
    assert set(part.games.share.sum(axis=1).tolist()) == {60}


def test_games_of_another_design_are_not_taken_up(
    small_game: Game, played: tuple[Path, PlaytestResult]
) -> None:
    plan = plan_of(small_game, Options(seats=LINE_UP, games=GAMES, seed=5))

    assert read_games(played[0], "another", plan, 5) == ()


def test_a_stopped_playtest_keeps_what_is_done(small_game: Game, tmp_path: Path) -> None:
    asked: list[bool] = []

    def stop_after_two() -> bool:
        asked.append(True)
        return len(asked) > 2

    result = run(small_game, tmp_path, Options(players=2, games=40), stop=stop_after_two)

    assert result.stopped
    assert 0 < result.games < sum(step["games"] for step in result.plan)


def test_the_plan_is_played_at_every_table_of_the_rules(small_game: Game, tmp_path: Path) -> None:
    result = run(small_game, tmp_path, Options(games=24))

    assert sorted(result.seats) == ["2", "3", "4"]
    assert {pair.players for pair in result.styles} == {2, 3, 4}


def test_precision_plays_on_until_the_goals_are_settled(small_game: Game, tmp_path: Path) -> None:
    # 'finish' and 'untrue_claims' are proved: no number of games is played for them, though
    # no interval of a few thousand games would be as narrow as their goals ask.
    result = run(small_game, tmp_path, Options(players=2, precision=2.0, games=4000, seed=1))

    assert not {"finish", "untrue_claims"} & set(result.open)
    assert result.open == ()
    assert result.games < sum(step["games"] for step in result.plan)
    assert not result.stopped
