"""A verdict as a ruler: the goal hatched between brackets, the interval a bar, the figure a dot.

The mark beside the word is that ruler in small, so that verdicts differ in shape, not in
colour alone.
"""

from __future__ import annotations

from nervure.records import SIGNED, UNKNOWN, Verdict, said_unit, say_figure, scale_of
from nervure.report.charts import Scale, chart, dot, hatched, interval, ticks
from nervure.report.svg import element, number, text
from nervure.report.type_widths import SANS, SANS_BOLD, width

RULER_WIDTH, RULER_HEIGHT = 400.0, 50.0
EDGE = 16.0
BASE = 28.0
MIDDLE = 16.0
LABEL = 13.0
HIDDEN = 10.0
"""An interval narrower than this lies under its dot, pixels."""

ROOM = 0.35  # of the span of goal and figure, left free beyond them


def axis_limits(verdict: Verdict) -> tuple[float, float]:
    """Give the ends of a ruler's axis, in the unit that is said (percent for shares).

    Goal, figure and interval lie on it, with room beyond them; it does not pass 0, nor 100
    for shares, unless the measure itself can be negative. An interval that is not known, or
    many times wider than all else, is not kept in view.
    """
    factor = scale_of(verdict.unit)
    low, high = verdict.low, verdict.high
    seen = [low, high] if verdict.value is None else [low, high, verdict.value]
    span = max(seen) - min(seen) or abs(seen[0]) * 0.1 or 1 / factor
    if verdict.interval is not None:
        reach = verdict.interval[1] - verdict.interval[0]
        if reach < min(UNKNOWN, 12 * span):
            seen += verdict.interval
    low, high = min(seen), max(seen)
    room = (high - low or span) * ROOM
    lowest = -UNKNOWN if verdict.goal in SIGNED else 0.0
    highest = 1.0 if verdict.unit == "share" else UNKNOWN
    ends = max(lowest, low - room) * factor, min(highest, high + room) * factor
    return _rounded_out(*ends, highest * factor)


def _rounded_out(low: float, high: float, highest: float) -> tuple[float, float]:
    marks = ticks(low, high, 5)
    step = marks[1] - marks[0]
    first = marks[0] - step if low < marks[0] - 1e-9 else marks[0]
    last = marks[-1] + step if high > marks[-1] + 1e-9 else marks[-1]
    return round(first, 10), round(min(highest, last), 10)


def ruler(verdict: Verdict, key: str, told: str, unit: str) -> str:
    """Draw the ruler of a verdict.

    Parameters
    ----------
    key
        Makes its ids unique on the page.
    told
        The sentence that says what it shows.
    unit
        The word at the end of the axis.
    """
    factor = scale_of(verdict.unit)
    low, high = axis_limits(verdict)
    scale = Scale(low, high, EDGE, RULER_WIDTH - EDGE)
    goal = verdict.low * factor, verdict.high * factor
    parts = [_goal(scale, *goal), *_axis(scale, goal, verdict, unit)]
    if verdict.value is not None and verdict.interval is not None:
        ends = verdict.interval[0] * factor, verdict.interval[1] * factor
        left, right = scale.kept(ends[0]), scale.kept(ends[1])
        if right - left > HIDDEN:
            line = f"M{number(left)} {number(MIDDLE)}H{number(right)}"
            parts.append(element("path", d=line, class_="ground-line"))
            parts.append(interval(scale, *ends, MIDDLE))
        place = scale.kept(verdict.value * factor)
        if verdict.verdict == "certain":
            parts.append(_square(place, MIDDLE))
        else:
            parts.append(dot(place, MIDDLE, is_open=verdict.verdict == "watch"))
    return chart(key, told, *parts, width=RULER_WIDTH, height=RULER_HEIGHT)


def _goal(scale: Scale, low: float, high: float) -> str:
    left, right = scale(low), scale(high)
    if right - left < 3:  # a goal of one value, or nearly: one bracket would hide the other
        left, right = left - 1.5, right + 1.5
    leg = min(5.0, (right - left) / 2)
    brackets = (
        f"M{number(left + leg)} 5H{number(left)}V{number(BASE)}"
        f"M{number(right - leg)} 5H{number(right)}V{number(BASE)}"
    )
    return hatched(left, 5, right - left, BASE - 5) + element("path", d=brackets, class_="bracket")


def _axis(scale: Scale, goal: tuple[float, float], verdict: Verdict, unit: str) -> list[str]:
    parts = [element("line", x1=scale.start, x2=scale.end, y1=BASE, y2=BASE, class_="axis")]
    for value in ticks(scale.low, scale.high, 10):
        parts.append(element("line", x1=scale(value), x2=scale(value), y1=BASE, y2=BASE + 4))
    taken: list[tuple[float, float]] = []
    last = scale.high
    for value, is_goal in ((goal[0], True), (goal[1], True), (last, False), (scale.low, False)):
        said = _plain(value, verdict)
        label = f"{said} {unit}".strip() if value == last else said
        wide = width(label, LABEL, SANS_BOLD if is_goal else SANS)
        middle = scale(value)
        left = min(max(0.0, middle - wide / 2), RULER_WIDTH - wide)
        if any(left < end + 5 and start < left + wide + 5 for start, end in taken):
            continue
        taken.append((left, left + wide))
        kind = "tick goal" if is_goal else "tick"
        parts.append(text(label, left, BASE + 20, class_=kind))
    if not any(end > RULER_WIDTH - EDGE - 30 for _, end in taken):
        parts.append(text(unit, RULER_WIDTH, BASE + 20, class_="tick", text_anchor="end"))
    return parts


def _plain(value: float, verdict: Verdict) -> str:
    """Say a value that is in percent already, without its unit."""
    unit = said_unit(verdict.goal, verdict.unit)
    return say_figure(value / scale_of(unit), unit).removesuffix(" %")


def _square(x: float, y: float, half: float = 4.6) -> str:
    return element(
        "rect", x=x - half, y=y - half, width=2 * half, height=2 * half, class_="dot exact"
    )


def mark(verdict: str, *, is_below: bool = False) -> str:
    """Draw the mark of a verdict: the ruler in small.

    holds: a bar inside the brackets; watch: an open dot, the bar across an end; fails: both
    outside; certain: a square inside, without a bar; open: empty brackets, dashed.
    ``is_below``: the figure misses the goal at its lower end, so watch and fails are mirrored.
    """
    low, high = (3, 27) if verdict == "fails" else (6, 34)
    brackets = f"M{low + 5} 3H{low}V21H{low + 5}M{high - 5} 3H{high}V21H{high - 5}"
    kind = "bracket dashed" if verdict == "open" else "bracket"
    parts = [element("path", d=brackets, class_=kind)]
    ends = {"holds": (13, 27), "watch": (14, 46), "fails": (35, 51)}.get(verdict)
    if ends is not None:
        middle = 24.0 if verdict == "watch" else sum(ends) / 2
        parts.append(element("line", x1=ends[0], x2=ends[1], y1=12, y2=12, class_="interval"))
        parts.append(dot(middle, 12, 4.6, is_open=verdict == "watch"))
    elif verdict == "certain":
        parts.append(_square(20, 12))
    turn = "translate(52 0) scale(-1 1)" if is_below and verdict in ("watch", "fails") else None
    drawing = element("g", *parts, transform=turn)
    return f'<svg class="mark" viewBox="0 0 52 24" aria-hidden="true">{drawing}</svg>'
