"""The plates of the playtest page: length, seats, styles, points, each with caption and table.

Every chart comes with the sentence that stands for it, the caption that says how to read
it, and its figures as a table.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from markupsafe import Markup

from nervure.game import Game
from nervure.records import (
    Histogram,
    PlaytestResult,
    StylePair,
    TargetRow,
    say_count,
    say_figure,
    say_range,
)
from nervure.report import charts
from nervure.report.charts import WIDTH, Scale, chart, nice_step, ticks
from nervure.report.playtest_words import Talk
from nervure.report.svg import element, number, text
from nervure.report.type_widths import SANS, width

LEFT = 86.0
RIGHT = WIDTH - 14
HILL = 74.0
CELL, CELL_HIGH = 48.0, 54.0
LARGEST_SQUARE = 32.0


@dataclass(frozen=True, slots=True)
class Table:
    """Figures of a chart; the first cell of a row is its head."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Plate:
    """A chart as the page shows it."""

    key: str
    number: int
    title: str
    caption: str
    svg: Markup
    table: Table


def plates(result: PlaytestResult, game: Game, talk: Talk) -> tuple[Plate, ...]:
    """Give the plates that the result has figures for, numbered from 1."""
    makers = (_lengths, _seats, _styles, _points)
    found: list[Plate] = []
    for make in makers:
        plate = make(result, game, talk, len(found) + 1)
        if plate is not None:
            found.append(plate)
    return tuple(found)


def _unit_note(label: str, y: float) -> str:
    return text(label, RIGHT, y, class_="note", text_anchor="end")


# Length of a game


def _lengths(result: PlaytestResult, game: Game, talk: Talk, place: int) -> Plate | None:
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
        parts += _goal_over(scale, goal, talk.say("lengths.goal", goal=say_range(*goal, unit)))
    for line, hill in enumerate(hills):
        base = top + (line + 1) * (HILL + 26) - 26
        middle = (result.measure(unit, hill.players), base)
        parts += _hill(hill, scale, factor, base, steepest)
        parts.append(talk.row_name("players", hill.players, base - 6))
        if middle[0] is not None:
            parts += _marks(middle[0].details, scale, base, talk, is_first=line == 0)
    base = top + len(hills) * (HILL + 26) - 26
    labels = {value: say_figure(value, unit) for value in ticks(scale.low, scale.high, 8)}
    parts += charts.axis_across(scale, base + 6, labels)
    parts.append(
        text(talk.say(f"unit.{unit}"), RIGHT, base + 44, class_="note", text_anchor="end")
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
        place,
        talk.say("lengths.title"),
        talk.say("lengths.caption-goal" if goal is not None else "lengths.caption"),
        Markup(chart("lengths", told, *parts, height=base + 48)),
        Table(talk.say("lengths.table"), talk.head("lengths.head"), rows),
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
        left, right = scale(start * factor), scale((start + hill.width) * factor)
        high = HILL * 0.8 * count / total / hill.width / steepest
        yield charts.bar(left, base - high, right - left, high)


def _marks(
    details: object, scale: Scale, base: float, talk: Talk, *, is_first: bool
) -> Iterator[str]:
    if not isinstance(details, dict) or "p10" not in details:
        return
    for name, anchor, shift in (("p10", "end", -5), ("p50", "start", 5), ("p90", "start", 5)):
        x = scale(details[name])
        top = base - HILL + (4 if name == "p50" else 26)
        path = f"M{number(x)} {number(top)}V{number(base)}"
        yield element("path", d=path, class_="dashed")
        figure = say_figure(details[name], "minutes")
        label = talk.say(f"lengths.{name}", figure=figure) if is_first else figure
        yield text(label, x + shift, top + 8, class_="value", text_anchor=anchor)


def _length_told(result: PlaytestResult, hill: Histogram, unit: str, talk: Talk) -> str:
    measure = result.measure(unit, hill.players)
    details = measure.details if measure is not None else {}
    figures = {name: say_figure(details.get(name, 0.0), unit) for name in ("p10", "p50", "p90")}
    return talk.say(
        "lengths.told",
        players=talk.amount("players", hill.players),
        unit=talk.say(f"unit.{unit}"),
        **figures,
    )


# Seats


def _seats(result: PlaytestResult, _: Game, talk: Talk, place: int) -> Plate | None:
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
    scale = Scale(-reach, reach, 150, RIGHT - 62)
    parts: list[str] = []
    y = 26.0
    rows = []
    for size, shares in tables.items():
        y += 20
        parts.append(talk.row_name("players", size, y + 5))
        for seat, (share, ends) in enumerate(shares, 1):
            named = talk.say("seats.seat", seat=seat)
            parts.append(text(named, 140, y + 5, class_="row", text_anchor="end"))
            parts.append(charts.hair(150, y, RIGHT, y))
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
    note = text(talk.say("seats.even"), even, 14, class_="note", text_anchor="middle")
    labels = {value: talk.signed(value) for value in ticks(-reach, reach, 8)}
    parts = [line, *parts, note, *charts.axis_across(scale, y, labels)]
    parts.append(text(talk.say("seats.axis"), scale.end, y + 40, class_="note", text_anchor="end"))
    told = " ".join(
        talk.say(
            "seats.told",
            players=talk.amount("players", size),
            shares=", ".join(say_figure(share, "share", 1) for share, _ in shares),
        )
        for size, shares in tables.items()
    )
    return Plate(
        "seats",
        place,
        talk.say("seats.title"),
        talk.say("seats.caption", style=talk.reference(result)),
        Markup(chart("seats", told, *parts, height=y + 46)),
        Table(talk.say("seats.table"), talk.head("seats.head"), tuple(rows)),
    )


# Styles


def _styles(result: PlaytestResult, _: Game, talk: Talk, place: int) -> Plate | None:
    if not result.styles:
        return None
    names = list(dict.fromkeys(name for pair in result.styles for name in (pair.style,)))
    names.sort(key=partial(_strength, result.styles))
    sizes = sorted({pair.players for pair in result.styles})
    labelled = 76.0
    wide = len(names) * CELL + 12
    in_a_line = max(1, int((WIDTH - labelled) // wide))
    parts: list[str] = []
    high = 58 + len(names) * CELL_HIGH
    for at, size in enumerate(sizes):
        line, column = divmod(at, in_a_line)
        x, y = labelled + column * wide, line * (high + 18)
        if column == 0:
            for row, name in enumerate(names):
                middle = y + 52 + (row + 0.5) * CELL_HIGH
                parts.append(
                    text(name, labelled - 12, middle + 5, class_="row", text_anchor="end")
                )
        pairs = {(p.style, p.against): p for p in result.styles if p.players == size}
        parts += _matrix(pairs, names, size, x, y, talk)
    lines = -(-len(sizes) // in_a_line)
    rows = tuple(
        (
            talk.amount("players", pair.players),
            pair.style,
            pair.against,
            say_figure(pair.share, "share", 1),
            *(say_figure(end, "share", 1) for end in pair.share_interval),
            talk.signed(100 * pair.edge, 1),
            *(talk.signed(100 * end, 1) for end in pair.edge_interval),
            say_count(pair.games),
        )
        for pair in result.styles
    )
    return Plate(
        "styles",
        place,
        talk.say("styles.title"),
        talk.say("styles.caption"),
        Markup(
            chart("styles", _styles_told(result, talk), *parts, height=lines * (high + 18) - 10)
        ),
        Table(talk.say("styles.table"), talk.head("styles.head"), rows),
    )


def _strength(pairs: Sequence[StylePair], style: str) -> float:
    """Order styles by what they win over all tables, the weakest first."""
    return sum(pair.edge for pair in pairs if pair.style == style)


def _matrix(
    pairs: dict[tuple[str, str], StylePair],
    names: Sequence[str],
    size: int,
    x: float,
    y: float,
    talk: Talk,
) -> Iterator[str]:
    middle = x + len(names) * CELL / 2
    yield text(
        talk.amount("players", size), middle, y + 16, class_="matrix-name", text_anchor="middle"
    )
    top = y + 52
    for column, name in enumerate(names):
        centre = x + (column + 0.5) * CELL
        yield text(name, centre, y + 40, class_="note small-note", text_anchor="middle")
    for row, name in enumerate(names):
        line = top + row * CELL_HIGH
        yield charts.hair(x + 2, line, x + len(names) * CELL - 2, line)
        for column, against in enumerate(names):
            centre, high = x + (column + 0.5) * CELL, line + CELL_HIGH / 2
            if name == against:
                yield text("–", centre, high + 5, class_="tick", text_anchor="middle")
            elif (name, against) in pairs:
                yield from _square(pairs[name, against], centre, line, 1 / size)
    bottom = top + len(names) * CELL_HIGH
    yield charts.hair(x + 2, bottom, x + len(names) * CELL - 2, bottom)


def _square(pair: StylePair, x: float, top: float, even: float) -> Iterator[str]:
    side = max(3.0, LARGEST_SQUARE * pair.share**0.5)
    left, upper = x - side / 2, top + 19 - side / 2
    kind = told_apart(pair, even)
    if kind == "unsure":
        yield charts.bar(left, upper, side, side)
    else:
        yield element("rect", x=left, y=upper, width=side, height=side, class_=f"square {kind}")
    figure = f"{100 * pair.share:.0f}"
    strong = "value" if kind == "above" else "tick figure"
    yield text(figure, x, top + CELL_HIGH - 4, class_=strong, text_anchor="middle")


def told_apart(pair: StylePair, even: float) -> str:
    """Tell whether the share is surely above the even share, surely below it, or unsure."""
    low, high = pair.share_interval
    return "above" if low > even else "below" if high < even else "unsure"


def _styles_told(result: PlaytestResult, talk: Talk) -> str:
    sure = [
        talk.say(
            "styles.wins",
            style=pair.style,
            against=pair.against,
            players=talk.amount("players", pair.players),
            share=say_figure(pair.share, "share", 0),
        )
        for pair in result.styles
        if told_apart(pair, 1 / pair.players) == "above"
    ]
    return " ".join(sure) if sure else talk.say("styles.none")


# Points


@dataclass(frozen=True, slots=True)
class _Paid:
    row: TargetRow
    cards: int
    chance: float
    points: int
    asked: float

    @property
    def spot(self) -> tuple[float, int]:
        return (round(self.chance, 4), self.points)


def _paid(row: TargetRow, game: Game) -> _Paid | None:
    if row.paid is None or not row.lengths or row.target not in game.odds:
        return None
    cards = int(max(row.lengths, key=lambda length: row.lengths[length]))
    rung = cards - max(1, game.rules.claim_minimum)
    chance = game.odds[row.target].at(cards, game.odds_cards)
    if chance <= 0:
        return None
    points = row.points[min(max(0, rung), len(row.points) - 1)]
    return _Paid(row, cards, chance, points, points - row.paid)


def _points(result: PlaytestResult, game: Game, talk: Talk, place: int) -> Plate | None:
    found = [paid for row in result.targets if (paid := _paid(row, game)) is not None]
    if not found:
        return None
    off = [paid for paid in found if paid.row.paid]
    chances = [paid.chance for paid in found]
    scale = Scale(min(chances) * 0.7, min(1.0, max(chances) * 1.5), 46, RIGHT, logarithmic=True)
    most = max(*(paid.points for paid in found), *(paid.asked for paid in found), 2)
    up = Scale(0, most + 0.6, 262, 26)
    parts: list[str] = []
    for value in ticks(0, most, 6):
        if value == int(value) and value:
            parts.append(charts.hair(46, up(value), RIGHT, up(value)))
            label = say_figure(value, "points")
            parts.append(text(label, 36, up(value) + 4, class_="tick", text_anchor="end"))
    spots = Counter(paid.spot for paid in found if not paid.row.paid)
    for (chance, points), count in sorted(spots.items()):
        x, y = scale(chance), up(points)
        radius = 4.5 * count**0.5
        parts.append(charts.dot(x, y, radius, is_open=True))
        if count > 1:
            parts.append(text(f"×{count}", x, y - radius - 5, class_="tick", text_anchor="middle"))
    for paid in off:
        parts += _mispaid(paid, scale(paid.chance), up, talk)
    labels = {
        value: say_figure(value, "share")
        for value in (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0)
        if scale.low <= value <= scale.high
    }
    parts += charts.axis_across(scale, 262, labels)
    parts.append(_unit_note(talk.say("points.axis"), 302))
    parts.append(text(talk.say("unit.points"), 0, 14, class_="note"))
    under = [talk.name(paid.row.target) for paid in off if (paid.row.paid or 0) < 0]
    over = [talk.name(paid.row.target) for paid in off if (paid.row.paid or 0) > 0]
    told = (
        talk.say("points.fair")
        if not off
        else talk.say("points.told", under=", ".join(under) or "–", over=", ".join(over) or "–")
    )
    rows = tuple(
        (
            talk.name(paid.row.target),
            str(paid.cards),
            say_figure(paid.chance, "share"),
            str(paid.points),
            say_figure(paid.asked, "points"),
            talk.say(_paid_key(paid)),
        )
        for paid in sorted(found, key=lambda paid: -paid.chance)
    )
    cards = game.odds_cards
    return Plate(
        "points",
        place,
        talk.say("points.title"),
        f"{talk.say('points.caption', cards=cards)} {told}",
        Markup(chart("points", told, *parts, height=308)),
        Table(talk.say("points.table", cards=cards), talk.head("points.head"), rows),
    )


def _paid_key(paid: _Paid) -> str:
    difference = paid.row.paid or 0
    return f"points.{'as-rare' if not difference else 'over' if difference > 0 else 'under'}"


def _mispaid(paid: _Paid, x: float, up: Scale, talk: Talk) -> Iterator[str]:
    y, asked = up(paid.points), up(paid.asked)
    yield element("path", d=f"M{number(x)} {number(y)}V{number(asked)}", class_="even")
    yield charts.triangle(x, y, points_up=asked < y)
    name = talk.name(paid.row.target)
    if x + 14 + width(name, 13, SANS) < RIGHT:
        yield text(name, x + 14, y + 5, class_="value small-note")
    else:
        yield text(name, x - 14, y + 5, class_="value small-note", text_anchor="end")
