"""The plate of knowledge: what one who knows the map wins, by how much the others know."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from markupsafe import Markup

from nervure.game import Game
from nervure.records import Measure, PlaytestResult, say_count, say_figure
from nervure.report import charts
from nervure.report.charts import Scale, chart, nice_step, ticks
from nervure.report.playtest_plate import RIGHT, Plate, Table
from nervure.report.playtest_words import Talk
from nervure.report.svg import element, number, text

NAMED = 196.0
"""Where the names of the steps end."""

LINE = 25.0
LISTED = 5

Step = Mapping[str, Any]


def knowledge_plate(result: PlaytestResult, game: Game, talk: Talk) -> Plate | None:
    """Draw the curve of knowledge at each table; None where it was not played."""
    found = [m for m in result.measures if m.name == "knowledge_edge" and m.details.get("curve")]
    if not found:
        return None
    ends = [
        100 * end for measure in found for step, _ in _steps(measure) for end in step["interval"]
    ]
    step = nice_step(max(*ends, 0.0) - min(*ends, 0.0) or 1.0, 7)
    low, high = step * (min(*ends, 0.0) // step), step * -(-max(*ends, 0.0) // step)
    scale = Scale(low, high, NAMED + 14, RIGHT - 62)
    parts: list[str] = []
    rows = []
    y = 26.0
    for measure in found:
        y += 8
        for place, (row, is_control) in enumerate(_steps(measure)):
            y += LINE
            if place == 0:
                parts.append(talk.row_name("players", measure.players, y + 5))
            knows = say_figure(row["knows"], "share")
            key = "knowledge.control" if is_control else "knowledge.step"
            name = talk.tell(key, knows=knows)
            parts.append(text(name, NAMED, y + 5, class_="note", text_anchor="end"))
            parts.append(charts.hair(NAMED + 14, y, RIGHT, y))
            start, end = (100 * end for end in row["interval"])
            parts.append(charts.interval(scale, start, end, y, 7))
            parts.append(charts.dot(scale(100 * row["edge"]), y, 5.4, is_open=is_control))
            figure = talk.signed(100 * row["edge"], 1)
            parts.append(text(figure, RIGHT, y + 5, class_="value", text_anchor="end"))
            table = talk.amount("players", measure.players)
            said = [talk.signed(100 * end, 1) for end in row["interval"]]
            rows.append((table, name, figure, *said, say_count(row["games"])))
    y += LINE - 6
    even = scale(0)
    line = element("path", d=f"M{number(even)} 28V{number(y)}", class_="even")
    note = text(talk.tell("knowledge.even"), even, 20, class_="note", text_anchor="middle")
    labels = {value: talk.signed(value) for value in ticks(low, high, 7)}
    parts = [line, note, *parts, *charts.axis_across(scale, y, labels)]
    parts.append(
        text(talk.tell("knowledge.axis"), scale.end, y + 40, class_="note", text_anchor="end")
    )
    told = _told(result, game, talk)
    return Plate(
        "knowledge",
        talk.tell("knowledge.title"),
        f"{talk.tell('knowledge.caption')} {told}",
        Markup(chart("knowledge", told, *parts, height=y + 46)),
        Table(talk.tell("knowledge.table"), talk.head("knowledge.head"), tuple(rows)),
    )


def _steps(measure: Measure) -> Iterator[tuple[Step, bool]]:
    for step in measure.details["curve"]:
        yield step, False
    if "control" in measure.details:
        yield measure.details["control"], True


def _told(result: PlaytestResult, game: Game, talk: Talk) -> str:
    """Name what is most often tried in vain, in the map's words."""
    names = [
        talk.tell(
            "knowledge.false",
            start=talk.card(row.start),
            end=talk.name(row.end) if row.is_supply else talk.card(row.end),
            times=say_figure(row.per_game, "times"),
        )
        for row in result.refusals[:LISTED]
    ]
    return (
        talk.tell("knowledge.refused", names="; ".join(names))
        if names
        else talk.tell("knowledge.none-refused")
    )
