"""What playtests left in ``out/playtest/``, and how it stands to the design as it is now."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from nervure.game import Game
from nervure.playtest import judge
from nervure.playtest.store import EARLIER, RESULT
from nervure.records import SCHEMA_VERSION, PlaytestResult

MOST_BYTES = 50_000_000
GOOD = ("holds", "certain")
OF_CARDS: dict[str, Any] = {
    field.name: ()
    for field in fields(PlaytestResult)
    if field.name in ("targets", "cards", "facts", "refusals")
}
"""Rows that name cards or facts, and are counted over all tables."""


@dataclass(frozen=True, slots=True)
class Found:
    """A result on the disk; ``name`` "" for the last one, else its number in ``earlier/``."""

    name: str
    result: PlaytestResult
    written: datetime


def last_of(project: Path) -> Found | None:
    """Give the last result; None if there is none that can be read."""
    return _found(project / "out" / "playtest" / RESULT, "")


def is_damaged(project: Path) -> bool:
    """Tell whether there is a last result that cannot be read."""
    return (project / "out" / "playtest" / RESULT).is_file() and last_of(project) is None


def earlier_of(project: Path) -> tuple[Found, ...]:
    """Give the results that are kept to set beside, newest first."""
    folder = project / "out" / "playtest" / EARLIER
    files = (file for file in folder.glob("*.json") if file.stem.isdecimal())
    found = (_found(file, file.stem) for file in sorted(files, reverse=True))
    return tuple(one for one in found if one is not None)


def _found(file: Path, name: str) -> Found | None:
    try:
        status = file.stat()
    except OSError:
        return None
    result = _read(file, status.st_mtime_ns, status.st_size)
    if result is None:
        return None
    return Found(name, result, datetime.fromtimestamp(status.st_mtime))


@lru_cache(maxsize=64)
def _read(file: Path, changed: int, size: int) -> PlaytestResult | None:
    """Read a result; None for what is none, or is one of another schema."""
    if size > MOST_BYTES:
        return None
    try:
        data = json.loads(file.read_text("utf-8"))
        if data["schema"] != SCHEMA_VERSION:
            return None
        return PlaytestResult.from_dict(data)
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None


def is_stale(result: PlaytestResult, game: Game) -> bool:
    """Tell whether the design has changed since the result."""
    return result.design != game.version


def judged_now(result: PlaytestResult, game: Game) -> PlaytestResult:
    """Judge a result of the design by the goals as they stand now."""
    goals = {verdict.goal: (verdict.low, verdict.high) for verdict in result.verdicts}
    if goals == dict(game.goals.ranges):
        return result
    return replace(result, verdicts=judge(game.goals.ranges, result.measures, _proved(result)))


def at_table(result: PlaytestResult, players: int) -> PlaytestResult:
    """Give what was found at one number of players, judged by itself.

    Claims and cards are counted over all tables, and are left out.
    """
    measures = tuple(m for m in result.measures if m.players == players)
    goals = {verdict.goal: (verdict.low, verdict.high) for verdict in result.verdicts}
    plan = tuple(step for step in result.plan if len(step["line_up"]) == players)
    return replace(
        result,
        games=sum(step["played"] for step in plan),
        plan=plan,
        measures=measures,
        verdicts=judge(goals, measures, _proved(result)),
        styles=tuple(pair for pair in result.styles if pair.players == players),
        lengths=tuple(hill for hill in result.lengths if hill.players == players),
        seats={size: row for size, row in result.seats.items() if size == str(players)},
        **OF_CARDS,
    )


def without_cards(result: PlaytestResult) -> PlaytestResult:
    """Leave out what belongs to cards and targets of a design that is gone."""
    return replace(result, **OF_CARDS)


def _proved(result: PlaytestResult) -> dict[str, float]:
    return {
        verdict.goal: verdict.value
        for verdict in result.verdicts
        if verdict.players is None and verdict.value is not None
    }


def answers(result: PlaytestResult, options: Mapping[str, Any], line_ups: Sequence[Any]) -> bool:
    """Tell whether a result is one of a job: same design, seed and line-ups."""
    played = [tuple(step["line_up"]) for step in result.plan]
    return (result.design, result.seed) == (options["design"], options["seed"]) and (
        played == [tuple(line_up) for line_up in line_ups]
    )


def has_trouble(result: PlaytestResult) -> bool:
    """Tell whether a goal does not hold, or the playtest was stopped."""
    return result.stopped or any(v.verdict not in GOOD for v in result.verdicts)
