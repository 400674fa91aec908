"""The parts that charts of a page are drawn from, as inline SVG in the colours of the page.

Drawn here rather than by a charting engine: bars are hatched, marks tell themselves apart
without colour, text stays text in the page's own faces, and the style sheet gives light,
dark and print, all of which need the SVG to be the page's own. Nothing is imported for it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from html import escape

from nervure.report.svg import element, number, text

WIDTH = 560.0
"""Pixels of a chart's own; the page scales it."""

HATCH_PITCH = 4.5


@dataclass(frozen=True, slots=True)
class Scale:
    """From values to pixels along one axis; ``logarithmic`` for values above 0."""

    low: float
    high: float
    start: float
    end: float
    logarithmic: bool = False

    def __call__(self, value: float) -> float:
        """Give the place of a value, pixels."""
        low, high = self._worked(self.low), self._worked(self.high)
        share = (self._worked(value) - low) / (high - low)
        return self.start + share * (self.end - self.start)

    def kept(self, value: float) -> float:
        """Give the place of a value, of the nearer end where it lies outside."""
        return self(min(self.high, max(self.low, value)))

    def _worked(self, value: float) -> float:
        return math.log(value) if self.logarithmic else value


def nice_step(span: float, most: int = 6) -> float:
    """Give a step of 1, 2 or 5 times a power of ten that divides a span into few parts.

    >>> nice_step(10), nice_step(0.43), nice_step(57, 3)
    (2.0, 0.1, 20.0)
    """
    rough = span / most
    power = math.floor(math.log10(rough))
    factor = next(f for f in (1, 2, 5, 10) if f * 10.0**power >= rough * (1 - 1e-9))
    return round(factor * 10.0**power, max(0, -power))


def ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Give round values from low to high, both included where they are round.

    >>> ticks(0, 10), ticks(-0.05, 0.12, 4)
    ([0.0, 2.0, 4.0, 6.0, 8.0, 10.0], [-0.05, 0.0, 0.05, 0.1])
    """
    step = nice_step(high - low, most)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(place * step, 10) + 0.0 for place in range(first, last + 1)]


def chart(key: str, told: str, *content: str, width: float = WIDTH, height: float) -> str:
    """Give a whole chart; ``told`` is the sentence that says what it shows."""
    title = element("title", escape(told, quote=False), id=f"{key}-told")
    return (
        f'<svg class="chart" viewBox="0 0 {number(width)} {number(height)}" role="img" '
        f'aria-labelledby="{key}-told">{title}{"".join(content)}</svg>'
    )


def hatched(x: float, y: float, width: float, height: float) -> str:
    """Give the lines that hatch a box, slanting up to the right, cut at its edges."""
    pieces = []
    place = HATCH_PITCH
    while place < width + height:
        x1, y1 = (x + place, y) if place <= width else (x + width, y + place - width)
        x2, y2 = (x, y + place) if place <= height else (x + place - height, y + height)
        pieces.append(f"M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}")
        place += HATCH_PITCH
    return element("path", d="".join(pieces), class_="hatch") if pieces else ""


def bar(x: float, y: float, width: float, height: float) -> str:
    """Give a hatched bar with its outline."""
    if width <= 0 or height <= 0:
        return ""
    box = element("rect", x=x, y=y, width=width, height=height, class_="bar")
    return hatched(x, y, width, height) + box


def interval(scale: Scale, low: float, high: float, y: float, cap: float = 6) -> str:
    """Give an interval as a bar with end caps; an end outside the axis has an arrow head."""
    left, right = scale.kept(low), scale.kept(high)
    pieces = [f"M{number(left)} {number(y)}H{number(right)}"]
    for end, place, inward in ((low, left, 1), (high, right, -1)):
        if scale.low <= end <= scale.high:
            pieces.append(f"M{number(place)} {number(y - cap)}V{number(y + cap)}")
        else:
            inner = place + 5 * inward
            pieces.append(f"M{number(inner)} {number(y - 4)}L{number(place)} {number(y)}")
            pieces.append(f"L{number(inner)} {number(y + 4)}")
    return element("path", d="".join(pieces), class_="interval")


def dot(x: float, y: float, radius: float = 5, *, is_open: bool = False) -> str:
    """Give an estimate, filled or open."""
    return element("circle", cx=x, cy=y, r=radius, class_="dot open" if is_open else "dot")


def axis_across(
    scale: Scale, y: float, labels: dict[float, str], start: float | None = None
) -> Iterator[str]:
    """Give an axis under a chart with the labels at their values."""
    left = scale.start if start is None else start
    yield element("line", x1=left, x2=scale.end, y1=y, y2=y, class_="axis")
    for value, label in labels.items():
        x = scale(value)
        yield element("line", x1=x, x2=x, y1=y, y2=y + 5, class_="axis")
        yield text(label, x, y + 20, class_="tick", text_anchor="middle")


def hair(x1: float, y1: float, x2: float, y2: float) -> str:
    """Give a thin guide line."""
    return element("line", x1=x1, x2=x2, y1=y1, y2=y2, class_="hair")


def triangle(x: float, y: float, *, points_up: bool, size: float = 8) -> str:
    """Give a triangle that points the way a value should go."""
    turn = -1 if points_up else 1
    tip, base = number(y + turn * size), number(y - turn * size * 0.7)
    return element(
        "path",
        d=f"M{number(x)} {tip}L{number(x + size)} {base}H{number(x - size)}Z",
        class_="arrow",
    )
