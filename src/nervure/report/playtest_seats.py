"""The plate of seats: how far each seat's wins lie from an even share, with the interval."""

from __future__ import annotations

from markupsafe import Markup

from nervure.records import PlaytestResult, say_figure
from nervure.report import charts
from nervure.report.charts import Scale, chart, nice_step, ticks
from nervure.report.playtest_plate import RIGHT, Plate, Table
from nervure.report.playtest_words import Talk
from nervure.report.svg import element, number, text

NAMED = 140.0
"""Where the names of the seats end."""


def seats_plate(result: PlaytestResult, talk: Talk) -> Plate | None:
    """Draw each seat's share of the wins around an even one; None where nobody sat."""
    tables = {int(size): shares for size, shares in result.seats.items()}
    if not tables:
        return None
    off = [
        100 * abs(end - 1 / size)
        for size, shares in tables.items()
        for share, ends in shares
        for end in (share, *ends)
    ]
    step = nice_step(2 * max(*off, 1.0), 8)
    reach = step * -(-max(*off, 1.0) // step)
    scale = Scale(-reach, reach, NAMED + 10, RIGHT - 62)
    parts: list[str] = []
    y = 26.0
    rows = []
    for size, shares in tables.items():
        y += 20
        parts.append(talk.row_name("players", size, y + 5))
        for seat, (share, ends) in enumerate(shares, 1):
            named = talk.tell("seats.seat", seat=seat)
            parts.append(text(named, NAMED, y + 5, class_="row", text_anchor="end"))
            parts.append(charts.hair(NAMED + 10, y, RIGHT, y))
            low, high = (100 * (end - 1 / size) for end in ends)
            parts.append(charts.interval(scale, low, high, y, 7))
            parts.append(charts.dot(scale(100 * (share - 1 / size)), y, 5.4))
            figure = say_figure(share, "share", 1)
            parts.append(text(figure, RIGHT, y + 5, class_="value", text_anchor="end"))
            said = [say_figure(end, "share", 1) for end in ends]
            rows.append((talk.amount("players", size), str(seat), figure, *said))
            y += 25
    even = scale(0)
    line = element("path", d=f"M{number(even)} 22V{number(y)}", class_="even")
    note = text(talk.tell("seats.even"), even, 14, class_="note", text_anchor="middle")
    labels = {value: talk.signed(value) for value in ticks(-reach, reach, 8)}
    parts = [line, *parts, note, *charts.axis_across(scale, y, labels)]
    parts.append(
        text(talk.tell("seats.axis"), scale.end, y + 40, class_="note", text_anchor="end")
    )
    told = " ".join(
        talk.tell(
            "seats.told",
            players=talk.amount("players", size),
            shares=", ".join(say_figure(share, "share", 1) for share, _ in shares),
        )
        for size, shares in tables.items()
    )
    return Plate(
        "seats",
        talk.tell("seats.title"),
        talk.tell("seats.caption", style=talk.reference(result)),
        Markup(chart("seats", told, *parts, height=y + 46)),
        Table(talk.tell("seats.table"), talk.head("seats.head"), tuple(rows)),
    )
