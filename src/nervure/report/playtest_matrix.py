"""The plate of styles: a matrix a table size, squares whose area is the share of the wins."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from markupsafe import Markup

from nervure.records import PlaytestResult, StylePair, say_count, say_figure
from nervure.report import charts
from nervure.report.charts import WIDTH, chart
from nervure.report.pages import percent
from nervure.report.playtest_plate import Plate, Table
from nervure.report.playtest_words import Talk
from nervure.report.svg import element, text

CELL, CELL_HIGH = 48.0, 54.0
LARGEST_SQUARE = 32.0
NAMES = 76.0
"""Room for the names of the rows."""


def styles_plate(result: PlaytestResult, talk: Talk) -> Plate | None:
    """Draw a matrix for each table size; None where no pair of styles was played."""
    if not result.styles:
        return None
    names = list(dict.fromkeys(name for pair in result.styles for name in (pair.style,)))
    names.sort(key=partial(_strength, result.styles))
    sizes = sorted({pair.players for pair in result.styles})
    wide = len(names) * CELL + 12
    in_a_line = max(1, int((WIDTH - NAMES) // wide))
    parts: list[str] = []
    high = 58 + len(names) * CELL_HIGH
    for at, size in enumerate(sizes):
        line, column = divmod(at, in_a_line)
        x, y = NAMES + column * wide, line * (high + 18)
        if column == 0:
            for row, name in enumerate(names):
                middle = y + 52 + (row + 0.5) * CELL_HIGH
                parts.append(text(name, NAMES - 12, middle + 5, class_="row", text_anchor="end"))
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
        talk.tell("styles.title"),
        talk.tell("styles.caption"),
        Markup(
            chart("styles", _styles_told(result, talk), *parts, height=lines * (high + 18) - 10)
        ),
        Table(talk.tell("styles.table"), talk.head("styles.head"), rows),
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
    figure = percent(pair.share).removesuffix("\u202f%")
    strong = "value" if kind == "above" else "tick figure"
    yield text(figure, x, top + CELL_HIGH - 4, class_=strong, text_anchor="middle")


def told_apart(pair: StylePair, even: float) -> str:
    """Tell whether the share is surely above the even share, surely below it, or unsure."""
    low, high = pair.share_interval
    return "above" if low > even else "below" if high < even else "unsure"


def _styles_told(result: PlaytestResult, talk: Talk) -> str:
    sure = [
        talk.tell(
            "styles.wins",
            style=pair.style,
            against=pair.against,
            players=talk.amount("players", pair.players),
            share=say_figure(pair.share, "share", 0),
        )
        for pair in result.styles
        if told_apart(pair, 1 / pair.players) == "above"
    ]
    return " ".join(sure) if sure else talk.tell("styles.none")
