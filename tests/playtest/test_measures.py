"""Measures from columns that are written by hand; the values are worked out beside them."""

import math
from itertools import product
from typing import Any

import numpy as np
import pytest

from nervure.engine import EndedBy, Games, Tie
from nervure.playtest.measures import game_measures, seat_shares, turn_histogram
from nervure.records import Measure


def measured(games: Games, name: str, rotations: int = 1, seconds: float = 30) -> Measure:
    return {m.name: m for m in game_measures(games, rotations, seconds)}[name]


@pytest.mark.parametrize(
    ("name", "columns", "value"),
    [
        ("turns", {"turns": [10, 20, 30]}, 20),
        # 20 turns of 30 seconds.
        ("minutes", {"turns": [10, 20, 30]}, 10),
        # Seats claim first at turns 3 and 5, 4 and never in 10 turns: (4 + (4 + 11) / 2) / 2.
        ("first_claim", {"turns": [10, 10], "first_claim": [[3, 5], [4, -1]]}, 5.75),
        ("finish", {"ended_by": [0, 1, 2, EndedBy.UNFINISHED]}, 0.75),
        ("tie_share", {"tie": [Tie.CLEAR, Tie.TIE_BREAK, Tie.SHARED, Tie.SHARED]}, 0.5),
        ("margin", {"points": [[9, 4], [3, 6]]}, 4),
        # 20 moves to choose from at 7 decisions, not the mean of 3 and 2.8.
        ("choices", {"choices": [6, 14], "decisions": [2, 5]}, 20 / 7),
        ("forced", {"forced": [1, 0], "decisions": [2, 5]}, 1 / 7),
        ("idle", {"idle": [1, 3], "turns_judged": [10, 10]}, 0.2),
        ("stuck", {"stuck": [5, 0], "turns_judged": [10, 40]}, 0.1),
        ("lead_changes", {"lead_changes": [0, 1, 5]}, 2),
        # Somebody leads alone at three quarters in two games, and wins one of them.
        (
            "open_late",
            {"leader_three_quarters": [0, 1, -1], "share": [[60, 0], [60, 0], [0, 60]]},
            0.5,
        ),
        # The leader shares the win: half of it went elsewhere.
        ("open_late", {"leader_three_quarters": [1], "share": [[30, 30]]}, 0.5),
        ("points", {"points": [[4, 2], [0, 6]]}, 3),
        ("claims", {"claims": [[2, 1], [1, 0]]}, 1),
        ("full_claims", {"claims": [[2, 1], [1, 0]], "full_claims": [[1, 0], [0, 0]]}, 0.25),
    ],
)
def test_a_measure_has_the_value_worked_out_by_hand(
    make_games: Any, name: str, columns: dict[str, Any], value: float
) -> None:
    count = len(next(iter(columns.values())))

    assert measured(make_games(count, **columns), name).value == pytest.approx(value)


def test_two_dice_tie_and_differ_as_counted(make_games: Any) -> None:
    # All 36 throws of one die each, the higher wins: 6 ties, differences summing to 70.
    throws = list(product(range(1, 7), repeat=2))
    ties = [Tie.SHARED if a == b else Tie.CLEAR for a, b in throws]

    games = make_games(36, points=throws, tie=ties)

    assert measured(games, "tie_share").value == pytest.approx(1 / 6)
    assert measured(games, "margin").value == pytest.approx(70 / 36)


def test_seats_of_an_alternate_race_differ_as_its_formula_says(make_games: Any) -> None:
    # Who first succeeds with chance 1/2 a turn: seat 1 wins 1 / (2 - 1/2) = 2/3 (geometric
    # series p q^i / (1 - q^n)); D = 1/3, SE = sqrt((1 - 1/9) / 299) over 300 deals.
    games = make_games(300, share=[[60, 0], [60, 0], [0, 60]] * 100)

    gap = measured(games, "seat_gap")

    assert gap.value == pytest.approx(1 / 3)
    half = 1.959964 * math.sqrt((1 - 1 / 9) / 299)
    assert gap.interval == pytest.approx((1 / 3 - half, 1 / 3 + half))
    assert [share for share, _ in seat_shares(games)] == pytest.approx([2 / 3, 1 / 3])


def test_seats_of_unlike_players_say_nothing_of_fairness(make_games: Any) -> None:
    names = {measure.name for measure in game_measures(make_games(4), 2, 30)}

    assert "seat_gap" not in names


def test_a_ratio_has_the_error_of_its_residuals(make_games: Any) -> None:
    # 1 and 3 idle turns of 10 each: residuals (1 - 2) / 10 and (3 - 2) / 10 have standard
    # deviation sqrt(0.02), over two deals an error of 0.1.
    idle = measured(make_games(2, idle=[1, 3], turns_judged=[10, 10]), "idle")

    assert idle.interval == pytest.approx((0.2 - 0.1959964, 0.2 + 0.1959964))


def test_a_mean_has_the_error_of_its_deals(make_games: Any) -> None:
    # Rotations 10, 20 and 30, 40 of two deals: means 15 and 35, SE = sqrt(200) / sqrt(2) = 10.
    turns = measured(make_games(4, turns=[10, 20, 30, 40]), "turns", rotations=2)

    assert turns.value == 25
    assert turns.interval == pytest.approx((25 - 19.59964, 25 + 19.59964))


def test_one_deal_gives_a_figure_without_limits(make_games: Any) -> None:
    low, high = measured(make_games(1, turns=[12]), "turns").interval

    assert low < -1e8
    assert high > 1e8


def test_the_wait_is_the_others_turns(make_games: Any) -> None:
    assert measured(make_games(1, seats=4), "wait").value == 1.5


def test_who_never_claims_is_counted(make_games: Any) -> None:
    games = make_games(2, turns=[9, 9], first_claim=[[3, 5], [4, -1]])

    assert measured(games, "first_claim").details["never"] == 0.25


def test_percentiles_stand_beside_the_mean(make_games: Any) -> None:
    details = measured(make_games(11, turns=list(range(0, 110, 10))), "turns").details

    assert (details["p10"], details["p50"], details["p90"]) == (10, 50, 90)


def test_a_histogram_counts_every_game_once(make_games: Any) -> None:
    # 28 whole numbers from 3 to 30 need bins of two for at most 24: 3-4, 5-6, … 29-30.
    found = turn_histogram([make_games(4, turns=[3, 4, 5, 30])])

    assert (found.start, found.width) == (3, 2)
    assert found.counts == (2, 1, *[0] * 11, 1)


def test_a_histogram_of_equal_games_is_one_bin(make_games: Any) -> None:
    found = turn_histogram([make_games(3, turns=np.full(3, 7))])

    assert (found.start, found.width, found.counts) == (7, 1, (3,))
