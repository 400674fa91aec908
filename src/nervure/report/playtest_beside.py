"""Two playtests side by side: each measure twice on one ruler, and how far they differ."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from nervure.records import Interval, Measure, places_for, said_unit, say_figure, scale_of
from nervure.report import charts
from nervure.report.charts import Scale
from nervure.report.playtest_words import Talk
from nervure.report.svg import element

WIDE, HIGH = 220.0, 30.0


@dataclass(frozen=True, slots=True)
class Beside:
    """A measure now and before: figures ready to show, both drawn on one ruler."""

    name: str
    label: str
    players: int
    unit: str
    now: str
    now_interval: str
    before: str
    before_interval: str
    difference: str
    interval: str
    is_sure: bool
    ruler: Markup


def beside_line(
    now: Measure,
    before: Measure,
    difference: float,
    interval: Interval,
    talk: Talk,
) -> Beside:
    """Give a measure of two playtests as a row.

    Parameters
    ----------
    difference, interval
        Of the two figures, in the measure's unit.
    """
    unit = said_unit(now.name, now.unit)
    said = "difference" if unit == "share" else unit
    places = places_for(interval, said)
    return Beside(
        name=now.name,
        label=talk.tell(f"measure.{now.name}") if talk.has(f"measure.{now.name}") else now.name,
        players=now.players,
        unit=talk.tell(f"unit.{said}") if talk.has(f"unit.{said}") else said,
        now=_figure(now, unit),
        now_interval=talk.interval(now.interval, unit, places_for(now.interval, unit)),
        before=_figure(before, unit),
        before_interval=talk.interval(before.interval, unit, places_for(before.interval, unit)),
        difference=talk.signed(difference * scale_of(said), places),
        interval=talk.interval(interval, said, places),
        is_sure=interval[0] > 0 or interval[1] < 0,
        ruler=Markup(_ruler((now, before))),
    )


def _figure(measure: Measure, unit: str) -> str:
    return say_figure(measure.value, unit, places_for(measure.interval, unit))


def _ruler(pair: Sequence[Measure]) -> str:
    """Draw now above, filled, and before below, an open square; on one axis."""
    ends = [end for measure in pair for end in (measure.value, *measure.interval)]
    middle = sum(measure.value for measure in pair) / len(pair)
    reach = max(abs(end - middle) for end in ends if abs(end) < 1e7) or 1.0
    scale = Scale(middle - reach * 1.1, middle + reach * 1.1, 6, WIDE - 6)
    now, before = pair
    half = 3.6
    x = scale.kept(before.value)
    parts = [
        charts.hair(0, HIGH / 2, WIDE, HIGH / 2),
        charts.interval(scale, *now.interval, 9, 4),
        charts.dot(scale.kept(now.value), 9, 4),
        charts.interval(scale, *before.interval, 22, 4),
        element(
            "rect", x=x - half, y=22 - half, width=2 * half, height=2 * half, class_="dot open"
        ),
    ]
    return (
        f'<svg class="small-chart" width="{WIDE:g}" height="{HIGH:g}" '
        f'viewBox="0 0 {WIDE:g} {HIGH:g}" aria-hidden="true">{"".join(parts)}</svg>'
    )
