"""Differences of two playtests against statsmodels and values of the paper."""

import math
from dataclasses import replace

import pytest
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

from nervure.playtest.comparison import compare, difference
from nervure.records import Measure, PlaytestResult


@pytest.mark.parametrize(
    ("wins", "games", "other_wins", "other_games"),
    [(56, 70, 48, 80), (9, 10, 3, 10), (5, 56, 0, 29), (1200, 2000, 1100, 2000)],
)
def test_a_difference_of_shares_is_newcombes(
    wins: int, games: int, other_wins: int, other_games: int
) -> None:
    # statsmodels' "newcomb" is method 10 of Newcombe 1998: from two Wilson intervals.
    low, high = confint_proportions_2indep(
        wins, games, other_wins, other_games, method="newcomb", compare="diff"
    )
    one = proportion_confint(wins, games, method="wilson")
    other = proportion_confint(other_wins, other_games, method="wilson")

    value, interval = difference(wins / games, one, other_wins / other_games, other)

    assert value == pytest.approx(wins / games - other_wins / other_games)
    assert interval == pytest.approx((low, high), abs=1e-9)


def test_the_first_example_of_the_paper_has_its_interval() -> None:
    # Newcombe 1998, table II, 56/70 - 48/80, method 10: 0.0524 to 0.3339. From memory.
    one = proportion_confint(56, 70, method="wilson")
    other = proportion_confint(48, 80, method="wilson")

    _, interval = difference(0.8, one, 0.6, other)

    assert interval == pytest.approx((0.0524, 0.3339), abs=5e-5)


def test_even_intervals_add_in_squares() -> None:
    # Half-widths 3 and 4: 5, as for two means of known error.
    assert difference(10, (7, 13), 6, (2, 10)) == (4, (-1, 9))


def test_only_what_both_measured_at_one_table_is_compared() -> None:
    def measure(name: str, players: int, value: float, unit: str = "share") -> Measure:
        return Measure(name, players, value, (value - 0.01, value + 0.01), unit, 100)

    now = PlaytestResult(
        title="", design="a", games=1, seed=1, plan=(),
        measures=(measure("idle", 2, 0.3), measure("idle", 3, 0.3), measure("turns", 2, 9)),
        verdicts=(), styles=(), targets=(), cards=(), lengths=(), seats={},
        seconds_per_turn=30, open=(), digest="",
    )  # fmt: skip
    before = replace(now, measures=(measure("idle", 2, 0.2), measure("turns", 2, 9, "turns")))

    (found,) = compare(now, before)

    assert (found.now.name, found.now.players) == ("idle", 2)
    assert found.value == pytest.approx(0.1)
    assert found.is_sure
    assert found.interval == pytest.approx((0.1 - math.sqrt(2) * 0.01, 0.1 + math.sqrt(2) * 0.01))
