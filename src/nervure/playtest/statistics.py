"""Estimates with intervals. The deal is the unit: rotations of one deal are averaged first.

Only the standard library and numpy: importing scipy would double the start of a playtest.
Formulae are named beside each function; `docs/measures.md` lists them with their sources.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from nervure.records import Interval

FloatArray = npt.NDArray[np.float64]

_NORMAL = NormalDist()


def critical_value(comparisons: int = 1, level: float = 0.95) -> float:
    """Give the two-sided normal multiplier, Bonferroni-corrected for several comparisons.

    >>> round(critical_value(), 3), round(critical_value(3), 3)
    (1.96, 2.394)
    """
    return _NORMAL.inv_cdf(1 - (1 - level) / (2 * comparisons))


@dataclass(frozen=True, slots=True)
class Estimate:
    """A mean over deals with its standard error (NaN from one deal)."""

    value: float
    error: float
    deals: int

    def interval(self, z: float | None = None) -> Interval:
        """Give value ± z standard errors; z defaults to 95 %."""
        half = (critical_value() if z is None else z) * self.error
        return (self.value - half, self.value + half)


def mean_over_deals(values: npt.ArrayLike) -> Estimate:
    """Give the mean of one figure a deal, shape (deals,), with its standard error."""
    array = np.asarray(values, dtype=np.float64)
    error = float(array.std(ddof=1) / math.sqrt(len(array))) if len(array) > 1 else math.nan
    return Estimate(float(array.mean()), error, len(array))


def per_deal(values: npt.ArrayLike, rotations: int) -> FloatArray:
    """Average games within a deal: (deals·rotations,) or (deals·rotations, k) → (deals, …)."""
    array = np.asarray(values, dtype=np.float64)
    averaged: FloatArray = array.reshape(-1, rotations, *array.shape[1:]).mean(axis=1)
    return averaged


def wilson(share: float, n: float, z: float | None = None) -> Interval:
    """Give Wilson's score interval of a share from n independent cases.

    References
    ----------
    Wilson EB. Probable inference, the law of succession, and statistical inference.
    J Am Stat Assoc 1927;22:209-212. Checked in tests/reference/ against the worked
    examples that Newcombe 1998 uses and against statsmodels.

    Examples
    --------
    >>> [round(end, 4) for end in wilson(81 / 263, 263)]
    [0.2553, 0.3662]
    """
    z = critical_value() if z is None else z
    if n <= 0:
        return (0.0, 1.0)
    centre = (share + z * z / (2 * n)) / (1 + z * z / n)
    half = z * math.sqrt(share * (1 - share) / n + z * z / (4 * n * n)) / (1 + z * z / n)
    return (max(0.0, centre - half), min(1.0, centre + half))


def share_over_deals(values: npt.ArrayLike, z: float | None = None) -> tuple[Estimate, Interval]:
    """Give a mean share (each value 0 to 1, one a deal) with a Wilson interval.

    The effective number of cases is p(1−p)/SE², the number of deals if SE is 0, so that
    correlated games of one deal do not count twice. (Our construction.)
    """
    estimate = mean_over_deals(values)
    p = min(1.0, max(0.0, estimate.value))
    if estimate.error > 0 and 0 < p < 1:
        cases = p * (1 - p) / estimate.error**2
    else:
        cases = float(estimate.deals)
    return estimate, wilson(p, cases, z)


def largest_gap(shares: FloatArray) -> tuple[float, Interval]:
    """Give the largest distance between two seats' mean shares, with its interval.

    Parameters
    ----------
    shares
        Win share by deal and seat, shape (deals, seats), two seats or more.

    Returns
    -------
    ``max|D|`` over all pairs, and ``[max(0, max(|D| − z·SE)), max(|D| + z·SE)]`` with D
    the mean difference within deals and z corrected for the number of pairs.
    """
    seats = shares.shape[1]
    pairs = [(a, b) for a in range(seats) for b in range(a + 1, seats)]
    z = critical_value(len(pairs))
    gaps = [mean_over_deals(shares[:, a] - shares[:, b]) for a, b in pairs]
    low = max(0.0, *(abs(gap.value) - z * gap.error for gap in gaps))
    high = max(abs(gap.value) + z * gap.error for gap in gaps)
    return max(abs(gap.value) for gap in gaps), (low, high)


def two_sided_p(estimate: Estimate) -> float:
    """Give the two-sided p-value of "the mean is 0" by the normal approximation."""
    if not estimate.error > 0:
        return 1.0 if estimate.value == 0 else 0.0
    return 2 * (1 - _NORMAL.cdf(abs(estimate.value) / estimate.error))


def holm(p_values: Sequence[float]) -> list[float]:
    """Give p-values adjusted for their number by Holm's step-down method.

    References
    ----------
    Holm S. A simple sequentially rejective multiple test procedure. Scand J Stat
    1979;6:65-70.

    Examples
    --------
    >>> holm([0.01, 0.04, 0.03, 0.005])
    [0.03, 0.06, 0.06, 0.02]
    """
    order = sorted(range(len(p_values)), key=lambda index: p_values[index])
    adjusted = [0.0] * len(p_values)
    running = 0.0
    for rank, index in enumerate(order):
        running = max(running, min(1.0, (len(p_values) - rank) * p_values[index]))
        adjusted[index] = running
    return adjusted


def with_and_without(share: FloatArray, held: npt.NDArray[np.bool_]) -> Estimate | None:
    """Give the mean share of seats that held a card minus that of seats that did not.

    Parameters
    ----------
    share, held
        Win share, and whether the card was held, by deal and seat: shape (deals, seats).

    Returns
    -------
    The difference of the two ratios with a standard error over deals by linearisation
    (delta method: each deal's residual, divided by the count it belongs to); None where
    every seat held the card, or none did.
    """
    counts_with, counts_without = int(held.sum()), int((~held).sum())
    if not counts_with or not counts_without:
        return None
    mean_with = float(share[held].mean())
    mean_without = float(share[~held].mean())
    residuals = (np.where(held, share - mean_with, 0)).sum(axis=1) / counts_with - (
        np.where(held, 0, share - mean_without)
    ).sum(axis=1) / counts_without
    return Estimate(
        mean_with - mean_without, float(math.sqrt((residuals**2).sum())), share.shape[0]
    )


def correlation(first: FloatArray, second: FloatArray) -> tuple[float, Interval]:
    """Give Pearson's correlation of two figures a deal, shape (deals,), four deals or more.

    The interval is tanh(atanh r ± z / √(deals − 3)) (Fisher 1921); NaN where one of the two
    figures is the same in every deal.
    """
    a, b = first - first.mean(), second - second.mean()
    spread = math.sqrt(float((a * a).sum() * (b * b).sum()))
    if not spread:
        return math.nan, (math.nan, math.nan)
    r = float(np.clip((a * b).sum() / spread, -1, 1))
    if abs(r) == 1:
        return r, (r, r)
    half = critical_value() / math.sqrt(len(a) - 3)
    return r, (math.tanh(math.atanh(r) - half), math.tanh(math.atanh(r) + half))
