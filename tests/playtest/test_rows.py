"""Target rows and card rows from columns that are written by hand."""

from typing import Any

import pytest

from nervure.playtest.rows import card_rows, target_rows
from nervure.records import CardRow, TargetRow


@pytest.fixture(scope="module")
def targets(make_games: Any) -> tuple[TargetRow, ...]:
    games = make_games(
        4,
        targets=2,
        target_open=[[1, 0], [1, 1], [0, 1], [2, 1]],
        target_claimed=[[1, 0], [1, 0], [0, 0], [2, 1]],
        claim_length=[[3, 0], [3, 0], [0, 0], [5, 2]],
        claim_wait=[[4, 0], [2, 0], [0, 0], [6, 3]],
    )
    points = {"first": (1, 4), "second": (1, 4)}
    rarity = {"first": (2, 4), "second": (3, 4)}
    return target_rows([games], ["first", "second"], 2, points, rarity)


def test_a_target_is_opened_and_claimed_by_games(targets: tuple[TargetRow, ...]) -> None:
    assert [(row.opened, row.claimed) for row in targets] == [(0.75, 0.75), (0.75, 0.25)]


def test_lengths_are_told_where_one_claim_tells_them(targets: tuple[TargetRow, ...]) -> None:
    # In the fourth game the first target was claimed twice: 5 cards together, not told apart.
    assert [dict(row.lengths) for row in targets] == [{"3": 2}, {"2": 1}]


def test_the_wait_is_the_mean_over_claims(targets: tuple[TargetRow, ...]) -> None:
    assert [row.wait for row in targets] == [12 / 4, 3]


def test_pay_is_judged_at_the_commonest_length(targets: tuple[TargetRow, ...]) -> None:
    assert [row.paid for row in targets] == [4 - 4, 1 - 3]


def test_an_unclaimed_target_has_neither_wait_nor_pay(make_games: Any) -> None:
    (row,) = target_rows([make_games(3)], ["only"], 2, {"only": (1,)}, {"only": (1,)})

    assert (row.claimed, row.wait, row.paid, dict(row.lengths)) == (0, None, None, {})


@pytest.fixture(scope="module")
def cards(make_games: Any) -> tuple[CardRow, ...]:
    games = make_games(
        4,
        kinds=2,
        opening=[[1, 0], [1, 0], [0, 1], [0, 0]],
        share=[[60, 0], [60, 0], [60, 0], [0, 60]],
        card_drawn=[[2, 1], [2, 0], [1, 0], [1, 0]],
        card_claimed=[[1, 0], [1, 0], [1, 0], [0, 0]],
    )
    return card_rows([games], ["held", "not-held"])


def test_the_effect_of_a_card_is_with_minus_without(cards: tuple[CardRow, ...]) -> None:
    # Three seats held it and won 2 games; five did not and won 2.
    assert cards[0].effect == pytest.approx(2 / 3 - 2 / 5)


def test_a_card_that_nobody_held_has_no_effect(cards: tuple[CardRow, ...]) -> None:
    assert (cards[1].effect, cards[1].effect_interval, cards[1].p_holm) == (None, None, None)


def test_cards_are_counted_per_game(cards: tuple[CardRow, ...]) -> None:
    assert (cards[0].drawn, cards[0].claimed, cards[1].drawn) == (6 / 4, 3 / 4, 1 / 4)


def test_tables_are_pooled_by_their_deals(make_games: Any) -> None:
    # At the first table holders win always (with 1, without 0), at the second never.
    always = make_games(30, opening=[[1, 0]] * 30, share=[[60, 0]] * 30)
    never = make_games(10, opening=[[1, 0]] * 10, share=[[0, 60]] * 10)

    (row,) = card_rows([always, never], ["held"])

    assert row.effect == pytest.approx((30 * 1 + 10 * -1) / 40)
