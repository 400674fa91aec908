"""How figures of a playtest are said: places by the width of their interval, units, ranges.

Pages, verdicts and press say the same figure the same way. Shares are said in percent,
differences of shares in percentage points.
"""

from __future__ import annotations

import math

from nervure import words
from nervure.records.playtest import Interval

DIFFERENCES = frozenset({"seat_gap", "style_edge", "skill_ladder", "knowledge_edge"})
"""Measures that are a difference of two shares: said in percentage points."""

SIGNED = frozenset({"skill_ladder", "knowledge_edge", "luck"})
"""Measures that can be negative, so that 0 is no natural lower end of a range."""

UNKNOWN = 1e8
"""An interval end beyond this stands for "not known": one deal gives no interval."""

MINUS, THIN = "\N{MINUS SIGN}", "\N{NARROW NO-BREAK SPACE}"


def said_unit(name: str, unit: str) -> str:
    """Give the unit that a measure is said in: "difference" for a difference of shares."""
    return "difference" if name in DIFFERENCES else unit


def scale_of(unit: str) -> float:
    """Give the factor between a figure as kept and as said: 100 for shares."""
    return 100.0 if unit in ("share", "difference") else 1.0


def places_for(interval: Interval | None, unit: str) -> int | None:
    """Give the decimal places that an interval justifies; None where it has no width.

    The last place is the one in which half the interval is a few units wide.

    >>> places_for((0.656, 0.663), "share"), places_for((20.0, 30.0), "minutes")
    (1, 0)
    """
    if interval is None:
        return None
    half = (interval[1] - interval[0]) / 2 * scale_of(unit)
    if not 0 < half < UNKNOWN:
        return None
    return min(2, max(0, math.ceil(-math.log10(half / 2))))


def say_figure(value: float, unit: str, places: int | None = None) -> str:
    """Say a figure as people read it: shares as percent, else to one place or two.

    >>> say_figure(0.0312, "share"), say_figure(31.27, "minutes"), say_figure(2.0, "points")
    ('3.1 %', '31.3', '2')
    >>> say_figure(-0.05, "difference"), say_figure(0.66, "share", 1)
    ('−5', '66.0 %')
    """
    value *= scale_of(unit)
    if places is None:
        rough = 0 if abs(value) >= 100 else 1 if abs(value) >= 1 or value == 0 else 2
        text = f"{value:.{rough}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
    else:
        text = f"{value:.{places}f}"
    if text.startswith("-"):
        text = MINUS + text[1:] if float(text) else text[1:]
    return f"{text} %" if unit == "share" else text


def say_range(low: float, high: float, unit: str, *, signed: bool = False) -> str:
    """Say a wanted range: at most, at least, or from to.

    ``signed``: the measure can be negative, so that a low end of 0 is a limit too.
    """
    if low == 0 and not signed:
        return words.say("playtest.at-most", high=say_figure(high, unit))
    if unit == "share" and high >= 1:
        return words.say("playtest.at-least", low=say_figure(low, unit))
    return words.say("playtest.from-to", low=say_figure(low, unit), high=say_figure(high, unit))


def rounded_up(count: int) -> int:
    """Round up to two significant figures: an estimate is no promise.

    >>> rounded_up(863), rounded_up(30481), rounded_up(7)
    (870, 31000, 7)
    """
    step: int = 10 ** max(0, len(str(count)) - 2)
    return -(-count // step) * step


def say_count(count: int) -> str:
    """Write a whole number with its thousands parted by a thin space.

    >>> say_count(4194).split(THIN)
    ['4', '194']
    """
    return f"{count:,}".replace(",", THIN)
