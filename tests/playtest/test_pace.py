"""Seconds a turn, worked out by hand from timed games."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nervure.errors import Place
from nervure.game import Game
from nervure.playtest import TimedGame
from nervure.playtest.pace import seconds_per_turn
from nervure.project.records import PaperPlay


def with_paper(game: Game, *minutes: float | None) -> Game:
    plays = tuple(
        PaperPlay("2026-05-01", 2, timed, (), "", "", Place("plays.csv", row, ""))
        for row, timed in enumerate(minutes, start=2)
    )
    return replace(game, folder=replace(game.folder, plays=plays))


def test_four_timed_games_are_too_few(small_game: Game) -> None:
    recorded = [TimedGame(600, 10)] * 4

    assert seconds_per_turn(small_game, {2: 20}, recorded) == small_game.goals.seconds_per_turn


def test_five_recorded_games_give_all_seconds_by_all_turns(small_game: Game) -> None:
    # 4 games of 600 s and 10 turns, one of 100 s and 40 turns: 2500 / 80.
    recorded = [TimedGame(600, 10)] * 4 + [TimedGame(100, 40)]

    assert seconds_per_turn(small_game, {2: 20}, recorded) == pytest.approx(31.25)


def test_games_on_paper_and_recorded_ones_count_together(small_game: Game) -> None:
    # On paper 10 and 14 minutes for 20 simulated turns each; three of 300 s and 10 turns:
    # (24 * 60 + 900) / (40 + 30).
    paper = with_paper(small_game, 10, 14)

    found = seconds_per_turn(paper, {2: 20}, [TimedGame(300, 10)] * 3)

    assert found == pytest.approx(2340 / 70)


def test_games_without_a_time_do_not_count(small_game: Game) -> None:
    paper = with_paper(small_game, 10, 10, 10, 10, None)

    found = seconds_per_turn(paper, {2: 20}, [TimedGame(0, 0)])

    assert found == small_game.goals.seconds_per_turn
