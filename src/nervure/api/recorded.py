"""Recorded games of people, as a playtest takes them: their pace and their yardsticks."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

from nervure.game import Game
from nervure.playtest import TimedGame
from nervure.table import Record, measured_pace, parse_record, replay, turn_seconds, yardsticks
from nervure.table.course import Course

KIND = '"kind"'


def read_records(paths: Sequence[str | Path], game: Game) -> list[tuple[Record, Course]]:
    """Read files of records, one record after another in each, and play each again.

    Raises
    ------
    BadUsage
        A record that is damaged, or of another design; names file and line.
    """
    found = []
    for path in map(Path, paths):
        for text, name in _parted(path.read_text("utf-8", errors="replace"), path.name):
            record = parse_record(text, name)
            found.append((record, replay(record, game)))
    return found


def _parted(text: str, name: str) -> list[tuple[str, str]]:
    """Part a file into its records: each begins with a line that says its kind."""
    lines = [line for line in text.splitlines() if line.strip()]
    starts = [at for at, line in enumerate(lines) if at == 0 or KIND in line]
    parts = ["\n".join(lines[a:b]) for a, b in pairwise([*starts, len(lines)])] or [""]
    if len(parts) == 1:
        return [(parts[0], name)]
    return [(part, f"{name} ({number})") for number, part in enumerate(parts, start=1)]


def people_seconds(record: Record, course: Course) -> dict[int, float]:
    """Give the seconds of the turns in which people alone decided, by turn from 1."""
    helped = {
        entry.turn
        for entry in course.entries
        if entry.seat is not None and record.players[entry.seat].kind != "person"
    }
    return {t: s for t, s in turn_seconds(record, course).items() if t not in helped}


def timed_games(played: Sequence[tuple[Record, Course]]) -> tuple[TimedGame, ...]:
    """Give each game's clocked turns and seconds."""
    found = []
    for record, course in played:
        seconds = people_seconds(record, course)
        found.append(TimedGame(sum(seconds.values()), len(seconds)))
    return tuple(found)


def recorded_data(played: Sequence[tuple[Record, Course]], seconds: float) -> dict[str, Any]:
    """Give what was read for the result: how many games, their pace, their yardsticks.

    Parameters
    ----------
    seconds
        A turn, for minutes where no turn of people was clocked.
    """
    pace = measured_pace(people_seconds(*one) for one in played)
    measures = yardsticks((course for _, course in played), pace or seconds)
    return {
        "games": len(played),
        "seconds_per_turn": pace,
        "tables": {
            str(players): {
                measure.name: {
                    "value": measure.value,
                    "interval": list(measure.interval),
                    "unit": measure.unit,
                    "games": measure.games,
                }
                for measure in found
            }
            for players, found in measures.items()
        },
    }
