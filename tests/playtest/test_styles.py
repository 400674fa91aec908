"""Styles against one another, from a published table of results and from matrices by hand."""

from typing import Any

import pytest

from nervure.engine import Games
from nervure.playtest import Experiment
from nervure.playtest.styles import style_edge, style_pairs

# Wins of 13 games a pair, American League East 1987: Milwaukee 7-6 Detroit, Milwaukee 9-4
# Toronto, Detroit 7-6 Toronto (Agresti A. Categorical Data Analysis, 2nd ed. 2002, section
# 10.6). Three teams stand for three styles here.
MILWAUKEE, DETROIT, TORONTO = "sprinter", "builder", "chance"
BASEBALL = {
    (MILWAUKEE, DETROIT): (7, 6),
    (MILWAUKEE, TORONTO): (9, 4),
    (DETROIT, TORONTO): (7, 6),
}


def duel(make_games: Any, wins: int, losses: int) -> Games:
    """Games of two players, two rotations a deal: player 0 wins both or loses both."""
    deals = wins + losses
    first = [deal < wins for deal in range(deals)]
    return make_games(
        2 * deals,
        player=[[0, 1], [1, 0]] * deals,
        share=[
            seats for won in first for seats in ([[60, 0], [0, 60]] if won else [[0, 60], [60, 0]])
        ],
    )


@pytest.fixture(scope="module")
def baseball(make_games: Any) -> dict[Experiment, Games]:
    return {
        Experiment("styles", pair, 13): duel(make_games, *result)
        for pair, result in BASEBALL.items()
    }


@pytest.mark.parametrize(
    ("style", "against", "share"),
    [
        (MILWAUKEE, DETROIT, 7 / 13),
        (DETROIT, MILWAUKEE, 6 / 13),
        (MILWAUKEE, TORONTO, 9 / 13),
        (TORONTO, DETROIT, 6 / 13),
    ],
)
def test_pairs_give_the_published_results(
    baseball: dict[Experiment, Games], style: str, against: str, share: float
) -> None:
    found = {(pair.style, pair.against): pair for pair in style_pairs(baseball, 2)}

    assert found[style, against].share == pytest.approx(share)


def test_edges_of_a_pair_are_opposite(baseball: dict[Experiment, Games]) -> None:
    found = {(pair.style, pair.against): pair.edge for pair in style_pairs(baseball, 2)}

    assert found[MILWAUKEE, TORONTO] == pytest.approx(5 / 26)
    assert found[TORONTO, MILWAUKEE] == pytest.approx(-5 / 26)


def test_the_style_edge_is_the_best_against_the_mixture_of_the_others(
    baseball: dict[Experiment, Games],
) -> None:
    # Milwaukee: ((7 - 6) / 26 + (9 - 4) / 26) / 2 = 3/26; Detroit 0; Toronto -3/26.
    edge = style_edge(baseball, 2, [MILWAUKEE, DETROIT, TORONTO])

    assert edge is not None
    assert edge.value == pytest.approx(3 / 26)
    assert edge.details["style"] == MILWAUKEE
    assert edge.details["styles"][DETROIT]["value"] == pytest.approx(0)


def test_the_largest_edge_is_never_said_to_be_negative(
    baseball: dict[Experiment, Games],
) -> None:
    edge = style_edge(baseball, 2, [MILWAUKEE, DETROIT, TORONTO])

    assert edge is not None
    assert edge.interval[0] == 0


def test_a_circle_of_styles_has_no_edge(make_games: Any) -> None:
    # Rock, paper, scissors: each beats one and loses to one.
    circle = [("chance", "sprinter"), ("sprinter", "builder"), ("builder", "chance")]
    played = {Experiment("styles", pair, 8): duel(make_games, 8, 0) for pair in circle}

    edge = style_edge(played, 2, ["chance", "sprinter", "builder"])

    assert edge is not None
    assert edge.value == pytest.approx(0)


def test_with_three_seats_each_style_is_alone_once(make_games: Any) -> None:
    # One builder among two sprinters wins 6 of 12 games, one sprinter among two builders 3 of
    # 12: edge (1/2 - 1/4) / 2.
    def alone_wins(games: int) -> Games:
        # The one sits in every seat in turn; who wins otherwise sits one seat further.
        rows = []
        for game in range(12):
            seat = game % 3
            winner = seat if game < games else (seat + 1) % 3
            rows.append([60 if place == winner else 0 for place in range(3)])
        players = [[(seat - game) % 3 for seat in range(3)] for game in range(12)]
        return make_games(12, seats=3, player=players, share=rows)

    played = {
        Experiment("styles", ("builder", "sprinter", "sprinter"), 4): alone_wins(6),
        Experiment("styles", ("sprinter", "builder", "builder"), 4): alone_wins(3),
    }

    found = {pair.style: pair for pair in style_pairs(played, 3)}

    assert found["builder"].share == pytest.approx(1 / 2)
    assert found["builder"].reverse == pytest.approx(1 / 4)
    assert found["builder"].edge == pytest.approx(1 / 8)
    assert found["builder"].games == 24


def test_an_edge_keeps_a_width_where_every_deal_ends_alike(make_games: Any) -> None:
    # 20 of 20: by symmetry the published interval of 0 of 20, 0 to 0.1611 (Newcombe RG. Stat
    # Med 1998;17:857-872; which examples is from memory), here of 1/2 + edge.
    played = {Experiment("styles", ("builder", "chance"), 20): duel(make_games, 20, 0)}

    (pair,) = [found for found in style_pairs(played, 2) if found.style == "builder"]

    assert pair.edge == 0.5
    assert pair.edge_interval == pytest.approx((0.5 - 0.1611, 0.5), abs=5e-5)


def test_a_style_without_all_its_rivals_has_no_edge(make_games: Any) -> None:
    played = {Experiment("styles", ("builder", "chance"), 5): duel(make_games, 5, 0)}

    assert style_edge(played, 2, ["sprinter", "builder"]) is None
