"""Seconds a turn: from games that people played where five or more were timed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from nervure.game import Game

FEWEST_TIMED_GAMES = 5


@dataclass(frozen=True, slots=True)
class TimedGame:
    """A recorded game of people: how many of its turns were clocked, and their seconds."""

    seconds: float
    turns: int


def seconds_per_turn(
    game: Game, mean_turns: Mapping[int, float], recorded: Sequence[TimedGame] = ()
) -> float:
    """Give seconds a turn of games on paper and at the table, all seconds by all turns.

    Below five timed games the figure of ``[goals]`` is given. The turns of a game on paper
    are not known: simulated games of its table size take ``mean_turns``.
    """
    paper = [
        play for play in game.folder.plays if play.minutes is not None and play.seats in mean_turns
    ]
    clocked = [play for play in recorded if play.turns]
    if len(paper) + len(clocked) < FEWEST_TIMED_GAMES:
        return float(game.goals.seconds_per_turn)
    seconds = sum(60 * (play.minutes or 0.0) for play in paper)
    seconds += sum(play.seconds for play in clocked)
    turns = sum(mean_turns[play.seats] for play in paper) + sum(play.turns for play in clocked)
    return seconds / turns
