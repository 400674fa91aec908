"""Two playtests side by side: the same measures of two results, and how far they differ."""

from __future__ import annotations

import math
from dataclasses import dataclass

from nervure.records import UNKNOWN, Interval, Measure, PlaytestResult


@dataclass(frozen=True, slots=True)
class Difference:
    """A measure of two results at one number of players; ``value`` = now − before."""

    now: Measure
    before: Measure
    value: float
    interval: Interval

    @property
    def is_sure(self) -> bool:
        """Whether the interval leaves out 0."""
        return self.interval[0] > 0 or self.interval[1] < 0


def compare(now: PlaytestResult, before: PlaytestResult) -> tuple[Difference, ...]:
    """Give the difference of every measure that both results have, in the order of ``now``.

    Not corrected for the number of measures.
    """
    found = []
    for measure in now.measures:
        other = before.measure(measure.name, measure.players)
        if other is not None and other.unit == measure.unit:
            value, interval = difference(
                measure.value, measure.interval, other.value, other.interval
            )
            found.append(Difference(measure, other, value, interval))
    return tuple(found)


def difference(
    value: float, interval: Interval, other: float, other_interval: Interval
) -> tuple[float, Interval]:
    """Give value − other with its interval, from the intervals of both.

    The distances from each figure to the end of its interval are added in squares. That
    holds for figures from games of their own; two designs of one seed play the same deals,
    and are then mostly closer than this says.

    References
    ----------
    Newcombe RG. Interval estimation for the difference between independent proportions:
    comparison of eleven methods. Stat Med 1998;17:873-890, method 10. In general: Zou GY,
    Donner A. Construction of confidence limits about effect measures. Stat Med
    2008;27:1693-1702. From memory; checked against statsmodels in tests.
    """
    below = math.hypot(value - interval[0], other_interval[1] - other)
    above = math.hypot(interval[1] - value, other - other_interval[0])
    found = value - other
    return found, (max(-UNKNOWN, found - below), min(UNKNOWN, found + above))
