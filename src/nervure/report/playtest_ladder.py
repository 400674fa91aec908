"""The plate of the ladder: each better style against the one below it, with its interval."""

from __future__ import annotations

from markupsafe import Markup

from nervure.records import (
    Measure,
    PlaytestResult,
    ladder_steps,
    say_count,
    say_figure,
    say_ladder,
)
from nervure.report import charts
from nervure.report.charts import Scale, chart, ticks
from nervure.report.playtest_plate import RIGHT, Plate, Table
from nervure.report.playtest_words import Talk
from nervure.report.svg import element, number, text

NAMED = 208.0
"""Where the names of the steps end."""

LINE = 30.0


def ladder_plate(result: PlaytestResult, talk: Talk) -> Plate | None:
    """Draw the ladder at the fewest seats it was played at; None where it was not."""
    ladder = _ladder(result)
    if ladder is None:
        return None
    steps = ladder_steps(ladder)
    low = min(0.4, *(step["interval"][0] for step in steps))
    scale = Scale(100 * (low // 0.1) / 10, 100, NAMED + 14, RIGHT - 66)
    parts: list[str] = []
    rows = []
    y = 30.0
    for step in steps:
        y += LINE
        name = talk.tell("ladder.step", style=step["style"], below=step["below"])
        parts.append(text(name, NAMED, y + 5, class_="row", text_anchor="end"))
        parts.append(charts.hair(NAMED + 14, y, RIGHT, y))
        ends = [100 * end for end in step["interval"]]
        parts.append(charts.interval(scale, ends[0], ends[1], y, 7))
        place = scale(100 * step["share"])
        parts.append(charts.dot(place, y, 5.4, is_open=not step["clear"]))
        figure = say_figure(step["share"], "share", 1)
        parts.append(text(figure, RIGHT, y + 5, class_="value", text_anchor="end"))
        said = [say_figure(end, "share", 1) for end in step["interval"]]
        rows.append((name, figure, *said, say_count(step["games"])))
    y += LINE - 6
    half = scale(50)
    line = element("path", d=f"M{number(half)} 28V{number(y)}", class_="even")
    note = text(talk.tell("ladder.half"), half, 20, class_="note", text_anchor="middle")
    labels = {value: say_figure(value / 100, "share") for value in ticks(scale.low, 100, 8)}
    parts = [line, note, *parts, *charts.axis_across(scale, y, labels)]
    axis = talk.tell("ladder.axis" if ladder.players == 2 else "ladder.axis-many")
    parts.append(text(axis, scale.end, y + 40, class_="note", text_anchor="end"))
    told = say_ladder(ladder, talk.language)
    caption = talk.tell(
        "ladder.caption", players=talk.amount("players", ladder.players), count=len(steps)
    )
    return Plate(
        "ladder",
        talk.tell("ladder.title"),
        f"{caption} {told}",
        Markup(chart("ladder", told, *parts, height=y + 46)),
        Table(talk.tell("ladder.table"), talk.head("ladder.head"), tuple(rows)),
    )


def _ladder(result: PlaytestResult) -> Measure | None:
    found = [m for m in result.measures if m.name == "skill_ladder" and ladder_steps(m)]
    return min(found, key=lambda measure: measure.players, default=None)
