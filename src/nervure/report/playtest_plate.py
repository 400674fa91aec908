"""A plate of the playtest page: a chart with its caption and its figures as a table."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from nervure.report.charts import WIDTH
from nervure.report.svg import text

LEFT = 86.0
"""Where a chart begins that has the names of its rows at the left."""

RIGHT = WIDTH - 14


@dataclass(frozen=True, slots=True)
class Table:
    """Figures of a chart; the first cell of a row is its head."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Plate:
    """A chart as the page shows it; ``key`` is its place on the page."""

    key: str
    title: str
    caption: str
    svg: Markup
    table: Table


def unit_note(label: str, y: float) -> str:
    """Give what an axis counts, below its right end."""
    return text(label, RIGHT, y, class_="note", text_anchor="end")
