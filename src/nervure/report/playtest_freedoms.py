"""The plate of freedoms: what a player scores less when one is taken from everybody."""

from __future__ import annotations

from markupsafe import Markup

from nervure.game import Game
from nervure.records import FreedomRow, PlaytestResult, say_count, say_figure
from nervure.report import charts
from nervure.report.charts import Scale, chart, nice_step, ticks
from nervure.report.playtest_plate import RIGHT, Plate, Table
from nervure.report.playtest_words import Talk
from nervure.report.svg import element, number, text

NAMED = 196.0
"""Where the names of the freedoms end."""

LINE = 25.0
BONUS = "bonus:"
UNKNOWN = 1e8


def freedoms_plate(result: PlaytestResult, game: Game, talk: Talk) -> Plate | None:
    """Draw what each freedom is worth at each table; None where none was taken away."""
    rows = result.restricted
    if not rows:
        return None
    ends = [
        end for row in rows for end in (row.points, *row.points_interval) if abs(end) < UNKNOWN
    ]
    span = max(max(*ends, 0.0) - min(*ends, 0.0), 0.1)
    step = nice_step(span, 6)
    low = step * (min(*ends, 0.0) // step)
    high = step * -(-max(*ends, 0.0) // step)
    scale = Scale(low, high, NAMED + 14, RIGHT - 62)
    parts: list[str] = []
    y = 26.0
    for without in dict.fromkeys(row.without for row in rows):
        y += 8
        for place, row in enumerate(r for r in rows if r.without == without):
            y += LINE
            if place == 0:
                parts.append(text(_name(without, game, talk), 0, y + 5, class_="row"))
            players = talk.amount("players", row.players)
            parts.append(text(players, NAMED, y + 5, class_="note", text_anchor="end"))
            parts.append(charts.hair(NAMED + 14, y, RIGHT, y))
            parts.append(charts.interval(scale, *row.points_interval, y, 7))
            is_sure = row.points_interval[0] > 0 or row.points_interval[1] < 0
            parts.append(charts.dot(scale(row.points), y, 5.4, is_open=not is_sure))
            figure = talk.signed(row.points, 2)
            parts.append(text(figure, RIGHT, y + 5, class_="value", text_anchor="end"))
    y += LINE - 6
    nought = scale(0)
    line = element("path", d=f"M{number(nought)} 28V{number(y)}", class_="even")
    note = text(talk.tell("freedoms.nought"), nought, 20, class_="note", text_anchor="middle")
    labels = {value: talk.signed(value) for value in ticks(low, high, 7)}
    parts = [line, note, *parts, *charts.axis_across(scale, y, labels)]
    parts.append(
        text(talk.tell("freedoms.axis"), scale.end, y + 40, class_="note", text_anchor="end")
    )
    told = _told(rows, game, talk)
    return Plate(
        "freedoms",
        talk.tell("freedoms.title"),
        f"{talk.tell('freedoms.caption', style=talk.reference(result))} {told}",
        Markup(chart("freedoms", told, *parts, height=y + 46)),
        Table(
            talk.tell("freedoms.table"),
            talk.head("freedoms.head"),
            tuple(_row(row, game, talk) for row in rows),
        ),
    )


def _name(without: str, game: Game, talk: Talk) -> str:
    if not without.startswith(BONUS):
        return talk.tell(f"freedoms.{without}")
    return talk.tell("freedoms.bonus", bonus=without.removeprefix(BONUS).replace("-", " "))


def _told(rows: tuple[FreedomRow, ...], game: Game, talk: Talk) -> str:
    """Name the freedoms without which players score surely less, and those that change nothing."""
    sure = {row.without for row in rows if row.points_interval[0] > 0}
    sides = {True: "freedoms.worth", False: "freedoms.idle"}
    found = []
    for is_sure, key in sides.items():
        names = [
            _name(without, game, talk)
            for without in dict.fromkeys(row.without for row in rows)
            if (without in sure) is is_sure
        ]
        if names:
            found.append(talk.tell(key, names=talk.listed(names)))
    return " ".join(found)


def _row(row: FreedomRow, game: Game, talk: Talk) -> tuple[str, ...]:
    return (
        _name(row.without, game, talk),
        talk.amount("players", row.players),
        talk.signed(row.points, 2),
        talk.interval(row.points_interval, "points", 2),
        talk.signed(row.claims, 2),
        talk.interval(row.claims_interval, "claims", 2),
        talk.signed(row.turns, 2),
        talk.interval(row.turns_interval, "turns", 2),
        "" if row.other_winner is None else say_figure(row.other_winner, "share", 0),
        say_count(row.games),
    )
