"""``[goals]``: the ranges that the author wants for measures of a playtest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from nervure.errors import Fault
from nervure.game._door import bad_setting, plain, unknown_key

# Measure -> the largest value that a range may name (None: no bound).
GOAL_MEASURES: Mapping[str, float | None] = MappingProxyType(
    {
        "turns": None,
        "minutes": None,
        "wait": None,
        "first_claim": None,
        "finish": 1,
        "seat_gap": 1,
        "tie_share": 1,
        "margin": None,
        "choices": None,
        "forced": 1,
        "idle": 1,
        "stuck": 1,
        "lead_changes": None,
        "open_late": 1,
        "style_edge": 1,
        "skill_ladder": 1,
        "luck": 1,
        "knowledge_edge": 1,
        "coverage_1": 1,
        "coverage_3": 1,
        "objectives_1": 1,
        "objectives_3": 1,
        "refused": 1,
        "untrue_claims": 1,
        "comeback": 1,
        "suspense": None,
        "surprise": None,
    }
)
DEFAULT_SECONDS_PER_TURN = 35.0


@dataclass(frozen=True)
class Goals:
    """Wanted ranges by measure, the table sizes that they are judged at, seconds a turn.

    ``players`` empty: every number of players of the rules. ``seconds_per_turn`` is used
    until enough games on paper or at the table have been timed.
    """

    ranges: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    players: tuple[int, ...] = ()
    seconds_per_turn: float = DEFAULT_SECONDS_PER_TURN


def read_goals(table: object, table_sizes: range) -> tuple[Goals, list[Fault]]:
    """Read the table; a goal with a fault is left out."""
    if not isinstance(table, Mapping):
        return Goals(), [bad_setting("goals", table, "game.accepts.table")]
    ranges: dict[str, tuple[float, float]] = {}
    players: tuple[int, ...] = ()
    seconds = DEFAULT_SECONDS_PER_TURN
    faults: list[Fault] = []
    for name, value in plain(table).items():
        key = f"goals.{name}"
        if name == "players" and _fits_players(value, table_sizes):
            players = (value,) if isinstance(value, int) else value
        elif name == "seconds_per_turn" and _is_number(value) and 1 <= value <= 3600:
            seconds = float(value)
        elif name in ("players", "seconds_per_turn"):
            faults.append(bad_setting(key, value))
        elif name not in GOAL_MEASURES:
            known = (*GOAL_MEASURES, "players", "seconds_per_turn")
            faults.append(unknown_key(key, [f"goals.{measure}" for measure in known]))
        elif _is_range(value, GOAL_MEASURES[name]):
            ranges[name] = (float(value[0]), float(value[1]))
        else:
            bounded = GOAL_MEASURES[name] is not None
            accepts = "share" if bounded else "range"
            faults.append(bad_setting(key, value, f"game.accepts.goals.{accepts}"))
    return Goals(MappingProxyType(ranges), players, seconds), faults


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _is_range(value: Any, most: float | None) -> bool:
    if not isinstance(value, tuple) or len(value) != 2 or not all(map(_is_number, value)):
        return False
    low, high = value
    # An edge may be negative (a style that loses), so the lower bound mirrors the upper.
    return bool(low <= high and (most is None or -most <= low <= high <= most))


def _fits_players(value: Any, table_sizes: range) -> bool:
    numbers = value if isinstance(value, tuple) else (value,)
    return bool(numbers) and all(
        isinstance(number, int) and not isinstance(number, bool) and number in table_sizes
        for number in numbers
    )
