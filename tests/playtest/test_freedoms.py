"""Freedoms taken away: what the tables then allow, and differences worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import scipy.stats

from nervure.engine import play
from nervure.engine.weight_sets import weights_for
from nervure.game import Game
from nervure.game.compile import compile_game
from nervure.game.tables import Draw, Rule, Tables
from nervure.playtest import Experiment
from nervure.playtest.freedoms import freedom_rows, freedoms_of, tables_without
from nervure.playtest.plan import restricted_plan
from nervure.playtest.run import plan_text

EQUAL = ("weigher", "weigher")


@pytest.fixture(scope="module")
def whole(small_game: Game) -> Tables:
    return compile_game(small_game, 2)


def played(tables: Tables, whole: Tables, style: str = "weigher", deals: int = 40) -> Any:
    own = dict.fromkeys(range(2), weights_for(whole))
    return play(tables, (style, style), seed=3, deals=deals, weights=own)


def test_a_game_has_the_freedoms_of_its_rules(small_game: Game) -> None:
    assert freedoms_of(small_game) == ("display", "long-claims")


def test_without_the_display_only_that_draw_goes(whole: Tables) -> None:
    without = tables_without(whole, "display")

    gone = int(whole.rules[Rule.DRAWS]) ^ int(without.rules[Rule.DRAWS])
    assert gone == Draw.DISPLAY
    assert (np.flatnonzero(whole.rules != without.rules) == [Rule.DRAWS]).all()


def test_taking_a_freedom_away_leaves_the_whole_game_as_it_was(whole: Tables) -> None:
    before = whole.rules.copy(), whole.strands.claims.copy()

    tables_without(whole, "display")
    tables_without(whole, "long-claims")

    assert (whole.rules == before[0]).all()
    assert (whole.strands.claims == before[1]).all()


@pytest.mark.parametrize("style", ["chance", "builder", "weigher"])
def test_without_long_claims_every_claim_has_the_fewest_cards(whole: Tables, style: str) -> None:
    games = played(tables_without(whole, "long-claims"), whole, style)

    once = games.claim_length[games.target_claimed == 1]
    assert once.size
    assert set(once.tolist()) == {int(whole.rules[Rule.CLAIM_MINIMUM])}


def test_with_long_claims_some_claims_are_longer(whole: Tables) -> None:
    games = played(whole, whole)

    assert games.claim_length[games.target_claimed == 1].max() > whole.rules[Rule.CLAIM_MINIMUM]


def test_what_a_short_strand_may_become_is_what_such_a_claim_can_reach(whole: Tables) -> None:
    # From the attach tables alone: one more card than a strand that lacks one.
    strands = tables_without(whole, "long-claims").strands
    fewest = int(whole.rules[Rule.CLAIM_MINIMUM])
    sizes = np.bitwise_count(strands.tiers.astype(np.uint64))
    lacking = np.flatnonzero(sizes == fewest - 1)
    assert lacking.size
    for row in lacking.tolist():
        reached = np.zeros(2, dtype=np.uint64)
        for kind in range(int(whole.rules[Rule.STRUCTURES])):
            if int(strands.attach[row]) >> kind & 1:
                code = int(strands.codes[row]) + int(strands.kind_code[kind])
                reached |= strands.claims[strands.id_of(code)]
        for ahead in strands.claims_within:
            assert (ahead[row] == reached).all()


def test_blank_bonuses_are_on_no_card(whole: Tables) -> None:
    given = np.full_like(whole.card_bonus, -1)
    given[:3] = [0, 1, 0]
    tables = replace(whole, card_bonus=given, bonus_ids=("spare", "bell"))

    assert tables_without(tables, "bonuses").card_bonus.max() == -1
    assert tables_without(tables, "bonus:spare").card_bonus[:3].tolist() == [-1, 1, -1]


def test_a_freedom_is_worth_the_difference_deal_by_deal(make_games: Any) -> None:
    # Points of a player: whole 5, 6, 7, 4; without 4, 6, 5, 4: differences 1, 0, 2, 0.
    whole = make_games(4, points=[[5, 5], [6, 6], [8, 6], [4, 4]], share=[[60, 0]] * 4)
    less = make_games(
        4, points=[[4, 4], [5, 7], [5, 5], [4, 4]], share=[[60, 0], [60, 0], [0, 60], [60, 0]]
    )

    (row,) = freedom_rows(
        [
            (Experiment("seats", EQUAL, 4), whole),
            (Experiment("restricted", EQUAL, 4, "display"), less),
        ]
    )

    assert row.points == pytest.approx(0.75)
    error = scipy.stats.sem([1, 0, 2, 0])
    assert row.points_interval == pytest.approx(
        scipy.stats.norm.interval(0.95, loc=0.75, scale=error)
    )
    assert row.other_winner == pytest.approx(1 / 4)


def test_only_deals_that_both_played_are_compared(make_games: Any) -> None:
    whole = make_games(3, points=[[2, 2], [4, 4], [90, 90]])
    less = make_games(2, points=[[1, 1], [3, 3]])

    (row,) = freedom_rows(
        [
            (Experiment("seats", EQUAL, 3), whole),
            (Experiment("restricted", EQUAL, 2, "display"), less),
        ]
    )

    assert (row.points, row.games) == (1, 2)


def test_a_design_without_nothing_plays_the_very_same_games(whole: Tables) -> None:
    # No seat may take in this game: without takes it is the game it was.
    same, changed = played(whole, whole), played(tables_without(whole, "takes"), whole)

    assert (same.points == changed.points).all()
    assert (same.turns == changed.turns).all()


def test_plans_that_differ_in_what_is_taken_away_are_told_apart() -> None:
    one, other = (restricted_plan((2,), (name,), 100) for name in ("display", "takes"))

    assert plan_text(one, 1) != plan_text(other, 1)
    assert one[0].name != other[0].name
