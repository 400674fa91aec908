"""A playtest that is looked at, stopped, killed: it goes on as though nothing had happened."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from nervure.game import Game
from nervure.playtest import Experiment, Onlooker, Options, read_result, run
from nervure.playtest.run import round_end

LINE_UP = ("builder", "sprinter")


class Ended(Exception):
    """Stands for the end of a process in the middle of a playtest."""


def small_pieces(_: Experiment) -> int:
    return 37


def played_alone(game: Game, folder: Path, options: Options) -> str:
    return run(game, folder, options).digest


@pytest.mark.parametrize("workers", [1, 2])
def test_pieces_make_no_difference(small_game: Game, tmp_path: Path, workers: int) -> None:
    options = Options(players=2, games=700, seed=3, workers=workers)
    looked_at = run(
        small_game, tmp_path / "a", options, onlooker=Onlooker(small_pieces, lambda: True)
    )

    assert looked_at.digest == played_alone(small_game, tmp_path / "b", options)
    assert not looked_at.stopped


@pytest.mark.parametrize(
    "given",
    [
        {"seats": LINE_UP, "games": 900},
        {"players": 2, "games": 400},
        {"players": 2, "precision": 2.0, "games": 4000},
    ],
)
def test_what_was_ended_between_two_pieces_goes_on_to_the_same_games(
    small_game: Game, tmp_path: Path, given: dict[str, object]
) -> None:
    pieces = 0

    def keep() -> bool:
        nonlocal pieces
        pieces += 1
        if pieces == 6:
            raise Ended
        return pieces % 2 == 0  # the last piece before the end is lost

    options = Options(**given, seed=5)  # type: ignore[arg-type]
    with pytest.raises(Ended):
        run(small_game, tmp_path / "a", options, onlooker=Onlooker(small_pieces, keep))
    so_far = read_result(tmp_path / "a")
    assert so_far is not None
    assert so_far.stopped
    gone_on = run(small_game, tmp_path / "a", Options(**given, seed=5, go_on=True))  # type: ignore[arg-type]

    assert gone_on.to_dict() == run(small_game, tmp_path / "b", options).to_dict()
    assert gone_on.games > so_far.games > 0


def test_a_killed_process_leaves_games_to_go_on_from(small_game: Game, tmp_path: Path) -> None:
    script = (
        "import pathlib, sys\n"
        "from nervure import maps, playtest\n"
        "from nervure.game import read_game\n"
        "from nervure.project import read_folder\n"
        "game = read_game(read_folder(maps.game_folder('lock-keepers')))\n"
        "options = playtest.Options(players=2, games=3000000, seed=5)\n"
        "onlooker = playtest.Onlooker(lambda experiment: 50, lambda: True)\n"
        "playtest.run(game, pathlib.Path(sys.argv[1]), options, onlooker=onlooker)\n"
    )
    process = subprocess.Popen([sys.executable, "-c", script, str(tmp_path / "a")])
    for _ in range(1200):
        found = read_result(tmp_path / "a")
        if found is not None and found.games > 300:
            break
        time.sleep(0.1)
    os.kill(process.pid, signal.SIGKILL if hasattr(signal, "SIGKILL") else signal.SIGTERM)
    process.wait()
    options = Options(players=2, games=300, seed=5, go_on=True)

    assert run(small_game, tmp_path / "a", options).to_dict() == (
        run(small_game, tmp_path / "b", Options(players=2, games=300, seed=5)).to_dict()
    )


def test_fewer_games_than_there_are_give_the_shorter_playtest(
    small_game: Game, tmp_path: Path
) -> None:
    run(small_game, tmp_path / "a", Options(seats=LINE_UP, games=600, seed=5))
    shorter = run(
        small_game, tmp_path / "a", Options(seats=LINE_UP, games=200, go_on=True, seed=5)
    )

    assert shorter.games == 200
    assert shorter.digest == played_alone(
        small_game, tmp_path / "b", Options(seats=LINE_UP, games=200, seed=5)
    )


def test_games_of_another_seed_are_not_gone_on_from(small_game: Game, tmp_path: Path) -> None:
    run(small_game, tmp_path / "a", Options(seats=LINE_UP, games=200, seed=6))
    other = run(small_game, tmp_path / "a", Options(seats=LINE_UP, games=200, go_on=True, seed=5))

    assert other.digest == played_alone(
        small_game, tmp_path / "b", Options(seats=LINE_UP, games=200, seed=5)
    )


def test_results_of_other_playtests_are_kept_to_set_beside(
    small_game: Game, tmp_path: Path
) -> None:
    def kept() -> list[int]:
        files = sorted((tmp_path / "earlier").glob("*.json"))
        return [json.loads(file.read_text("utf-8"))["seed"] for file in files]

    run(small_game, tmp_path, Options(seats=LINE_UP, games=20, seed=1))
    run(small_game, tmp_path, Options(seats=LINE_UP, games=40, seed=1, go_on=True))
    assert kept() == []
    run(small_game, tmp_path, Options(seats=LINE_UP, games=20, seed=2))
    run(small_game, tmp_path, Options(seats=LINE_UP, games=20, seed=3))

    assert kept() == [1, 2]


def test_only_the_latest_results_are_kept(
    small_game: Game, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("nervure.playtest.store.EARLIER_KEPT", 2)
    for seed in range(5):
        run(small_game, tmp_path, Options(seats=LINE_UP, games=10, seed=seed))

    assert [file.name for file in sorted((tmp_path / "earlier").iterdir())] == [
        "0003.json",
        "0004.json",
    ]


def test_a_damaged_result_hinders_nothing(small_game: Game, tmp_path: Path) -> None:
    (tmp_path / "result.json").write_text('{"games": ', "utf-8")

    assert run(small_game, tmp_path, Options(seats=LINE_UP, games=10)).games == 10


def test_rounds_are_short_at_first() -> None:
    assert [round_end(deals, 1000) for deals in (0, 125, 499, 500, 1000, 1001)] == [
        125, 250, 500, 1000, 2000, 2000,
    ]  # fmt: skip
