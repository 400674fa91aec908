"""The plate of game lengths: one hatched hill a table size, over one axis, beside the goal."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from markupsafe import Markup

from nervure.game import Game
from nervure.records import Histogram, PlaytestResult, say_count, say_figure, say_range
from nervure.report import charts
from nervure.report.charts import Scale, chart, ticks
from nervure.report.playtest_plate import LEFT, RIGHT, Plate, Table
from nervure.report.playtest_words import Talk
from nervure.report.svg import element, number, text
from nervure.report.type_widths import width

HILL = 74.0


def lengths_plate(result: PlaytestResult, game: Game, talk: Talk) -> Plate | None:
    """Draw a hill of game lengths for each table size; None where nothing was played."""
    hills = result.lengths
    if not hills:
        return None
    in_turns = "turns" in game.goals.ranges and "minutes" not in game.goals.ranges
    unit = "turns" if in_turns else "minutes"
    factor = 1.0 if in_turns else result.seconds_per_turn / 60
    goal = game.goals.ranges.get(unit)
    starts = [hill.start * factor for hill in hills]
    ends = [(hill.start + hill.width * len(hill.counts)) * factor for hill in hills]
    low, high = min(starts), max(ends)
    if goal is not None:
        low, high = min(low, goal[0]), max(high, goal[1])
    room = (high - low) * 0.04
    scale = Scale(max(0.0, low - room), high + room, LEFT, RIGHT)
    top = 40.0 if goal is not None else 16.0
    steepest = max(max(hill.counts) / sum(hill.counts) / hill.width for hill in hills)
    parts: list[str] = []
    if goal is not None:
        parts += _goal_over(scale, goal, talk.tell("lengths.goal", goal=say_range(*goal, unit)))
    for line, hill in enumerate(hills):
        base = top + (line + 1) * (HILL + 26) - 26
        measure = result.measure(unit, hill.players)
        parts += _hill(hill, scale, factor, base, steepest)
        parts.append(talk.row_name("players", hill.players, base - 6))
        if measure is not None:
            parts += _marks(measure.details, scale, base, talk, is_first=line == 0)
    base = top + len(hills) * (HILL + 26) - 26
    labels = {value: say_figure(value, unit) for value in ticks(scale.low, scale.high, 8)}
    parts += charts.axis_across(scale, base + 6, labels)
    parts.append(
        text(talk.tell(f"unit.{unit}"), RIGHT, base + 44, class_="note", text_anchor="end")
    )
    told = " ".join(_length_told(result, hill, unit, talk) for hill in hills)
    rows = tuple(
        (
            talk.amount("players", hill.players),
            say_figure(start, "turns"),
            say_figure(start + hill.width - 1, "turns"),
            say_figure(start * result.seconds_per_turn / 60, "minutes"),
            say_count(count),
        )
        for hill in hills
        for start, count in _bins(hill)
        if count
    )
    return Plate(
        "lengths",
        talk.tell("lengths.title"),
        talk.tell("lengths.caption-goal" if goal is not None else "lengths.caption"),
        Markup(chart("lengths", told, *parts, height=base + 48)),
        Table(talk.tell("lengths.table"), talk.head("lengths.head"), rows),
    )


def _bins(hill: Histogram) -> Iterator[tuple[float, int]]:
    for place, count in enumerate(hill.counts):
        yield hill.start + place * hill.width, count


def _goal_over(scale: Scale, goal: tuple[float, float], label: str) -> Iterator[str]:
    left, right = scale(goal[0]), scale(goal[1])
    path = f"M{number(left)} 34V26H{number(right)}V34"
    yield element("path", d=path, class_="bracket")
    half = width(label, 14) / 2
    middle = min(RIGHT - half, max(LEFT + half, (left + right) / 2))
    yield text(label, middle, 18, class_="note", text_anchor="middle")


def _hill(
    hill: Histogram, scale: Scale, factor: float, base: float, steepest: float
) -> Iterator[str]:
    yield charts.hair(LEFT, base, RIGHT, base)
    total = sum(hill.counts)
    for start, count in _bins(hill):
        # A game of 20 turns stands at 20: its bar lies around that place.
        left, right = (scale.kept((start + end) * factor) for end in (-0.5, hill.width - 0.5))
        high = HILL * 0.8 * count / total / hill.width / steepest
        yield charts.bar(left, base - high, right - left, high)


def _marks(
    details: Mapping[str, Any], scale: Scale, base: float, talk: Talk, *, is_first: bool
) -> Iterator[str]:
    at: dict[float, list[str]] = {}
    for name in ("p50", "p10", "p90"):
        if name in details:
            at.setdefault(details[name], []).append(name)
    for value, names in at.items():
        x = scale(value)
        top = base - HILL + (4 if "p50" in names else 26)
        path = f"M{number(x)} {number(top)}V{number(base)}"
        yield element("path", d=path, class_="dashed")
        figure = say_figure(value, "minutes")
        if is_first:
            said = ", ".join(talk.tell(f"lengths.{name}") for name in sorted(names))
            figure = talk.tell("lengths.mark", names=said, figure=figure)
        anchor, shift = ("end", -5) if names == ["p10"] else ("start", 5)
        yield text(figure, x + shift, top + 8, class_="value", text_anchor=anchor)


def _length_told(result: PlaytestResult, hill: Histogram, unit: str, talk: Talk) -> str:
    measure = result.measure(unit, hill.players)
    details = measure.details if measure is not None else {}
    figures = {name: say_figure(details.get(name, 0.0), unit) for name in ("p10", "p50", "p90")}
    return talk.tell(
        "lengths.told",
        players=talk.amount("players", hill.players),
        unit=talk.tell(f"unit.{unit}"),
        **figures,
    )
