"""Estimates and intervals, against published examples and statsmodels."""

import math

import numpy as np
import pytest
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.proportion import proportion_confint

from nervure.playtest import statistics as s


@pytest.mark.parametrize(
    ("x", "n", "low", "high"),
    [
        # Newcombe RG. Stat Med 1998;17:857-872, the four examples of table I (which examples
        # is from memory; the values were recomputed and agree with statsmodels below).
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson_gives_the_published_intervals(x: int, n: int, low: float, high: float) -> None:
    interval = s.wilson(x / n, n)

    assert interval == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize("x", range(0, 41, 5))
def test_wilson_agrees_with_statsmodels(x: int) -> None:
    expected = proportion_confint(x, 40, method="wilson")

    assert s.wilson(x / 40, 40) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(
    ("styles", "multiplier"), [(3, 2.394), (4, 2.638), (5, 2.807), (6, 2.935), (8, 3.124)]
)
def test_bonferroni_multipliers_for_all_pairs(styles: int, multiplier: float) -> None:
    pairs = styles * (styles - 1) // 2

    assert s.critical_value(pairs) == pytest.approx(multiplier, abs=5e-4)


def test_holm_agrees_with_statsmodels() -> None:
    p_values = [0.2, 0.001, 0.04, 0.04, 0.9, 0.012]

    expected = multipletests(p_values, method="holm")[1]

    assert s.holm(p_values) == pytest.approx(list(expected))


def test_correlated_rotations_do_not_count_twice() -> None:
    rng = np.random.default_rng(1)
    deals = rng.random(500) < 0.5
    doubled = np.repeat(deals, 2).astype(float)

    _, averaged = s.share_over_deals(s.per_deal(doubled, 2))
    _, single = s.share_over_deals(deals.astype(float))

    assert averaged == pytest.approx(single)


def test_a_share_of_independent_games_has_the_plain_wilson_interval() -> None:
    outcomes = np.r_[np.ones(300), np.zeros(700)]

    _, interval = s.share_over_deals(outcomes)

    # The standard error divides by n - 1, Wilson by n: a difference of one in a thousand.
    assert interval == pytest.approx(s.wilson(0.3, 1000), abs=2e-5)


def test_a_share_without_spread_falls_back_on_the_number_of_deals() -> None:
    estimate, interval = s.share_over_deals(np.ones(20))

    assert estimate.value == 1
    assert interval == pytest.approx(s.wilson(1.0, 20))


def test_the_largest_gap_covers_no_gap_when_seats_are_equal() -> None:
    rng = np.random.default_rng(7)
    winner = rng.integers(0, 3, 4000)
    shares = np.eye(3)[winner]

    value, (low, high) = s.largest_gap(shares)

    assert low == 0
    assert low <= value <= high
    assert high < 0.08


def test_the_largest_gap_finds_a_gap() -> None:
    rng = np.random.default_rng(7)
    winner = rng.choice(2, 4000, p=[0.6, 0.4])
    shares = np.eye(2)[winner]

    value, (low, high) = s.largest_gap(shares)

    assert low < 0.2 < high
    # By hand: D = p1 - p2 = 0.2, SE = sqrt((1 - 0.04) / 4000) = 0.01549.
    assert high - value == pytest.approx(1.96 * math.sqrt(0.96 / 4000), rel=0.02)


def test_with_and_without_is_the_difference_of_two_groups_when_seats_are_single() -> None:
    rng = np.random.default_rng(3)
    held = (rng.random(6000) < 0.4)[:, None]
    share = (rng.random((6000, 1)) < np.where(held, 0.7, 0.5)).astype(float)

    estimate = s.with_and_without(share, held)

    assert estimate is not None
    a, b = share[held], share[~held]
    classic = math.sqrt(a.var() / len(a) + b.var() / len(b))
    assert estimate.value == pytest.approx(a.mean() - b.mean())
    assert estimate.error == pytest.approx(classic, rel=1e-9)


def test_with_and_without_is_silent_where_nobody_held_the_card() -> None:
    assert s.with_and_without(np.ones((5, 2)), np.zeros((5, 2), dtype=bool)) is None
