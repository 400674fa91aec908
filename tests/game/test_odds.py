"""Odds against counting by hand, scipy's distributions, and every hand of tiny decks."""

from __future__ import annotations

from itertools import combinations
from math import comb, inf, log
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import hypergeom, multivariate_hypergeom
from statsmodels.stats.proportion import proportion_confint

from nervure.game import odds as odds_module
from nervure.game.odds import Supply, fair_points, odds_of


def supply(
    copies: dict[str, int],
    others: int = 0,
    wild_tiers: dict[str, int] | None = None,
    wild_any: int = 0,
    claim_real: int = 1,
) -> Supply:
    """Cards whose tier is their first letter; ``others``: cards of other kinds."""
    wild_tiers = wild_tiers or {}
    return Supply(
        copies=copies,
        wild_tiers=wild_tiers,
        wild_any=wild_any,
        tier_of={name: name[0] for name in copies},
        claim_real=claim_real,
        cards=sum(copies.values()) + sum(wild_tiers.values()) + wild_any + others,
    )


def test_the_toy_deck_by_hand(make_game: Any, small: dict[str, Any]) -> None:
    # Ten cards, two each of r1 r2 t a b; ma is claimed by r1-a, t-a (two cards), r1-t-a.
    # n = 2, L = 2: an a (2) with an r1 or t (4): 8 of C(10,2) = 45.
    # n = 3, L = 2: without: no a C(8,3) = 56; an a, no r1, no t: C(6,3) - C(4,3) = 16;
    #   120 - 72 = 48 of 120.
    # n = 3, L = 3: one each of r1, t, a: 2 x 2 x 2 = 8 of 120.
    odds = make_game(small).odds["ma"]

    assert odds.is_exact
    assert odds.at(2, 2) == pytest.approx(8 / 45)
    assert odds.at(2, 3) == pytest.approx(48 / 120)
    assert odds.at(3, 3) == pytest.approx(8 / 120)
    assert odds.at(3, 2) == 0
    assert odds.at(3, 10) == 1
    assert odds.at(4, 10) == 0


def test_one_card_strands_are_hypergeometric() -> None:
    odds = odds_of([("a",)], supply({"a": 3}, others=17))

    for n in range(21):
        assert odds.at(1, n) == pytest.approx(1 - hypergeom(20, 3, n).pmf(0))


def test_a_pair_is_multivariate_hypergeometric() -> None:
    odds = odds_of([("a", "b")], supply({"a": 3, "b": 2}, others=10))

    for n in range(2, 16):
        both = multivariate_hypergeom([3, 2, 10], n)
        expected = sum(
            both.pmf([a, b, n - a - b])
            for a in range(1, 4)
            for b in range(1, 3)
            if 0 <= n - a - b <= 10
        )
        assert odds.at(2, n) == pytest.approx(expected)


STRANDS = [("a1", "b1"), ("a1", "c1"), ("a1", "b1", "c1"), ("a2", "b1", "c1"), ("b1", "c2")]
KINDS = ("a1", "a2", "b1", "c1", "c2")


def by_enumeration(strands: list[tuple[str, ...]], cards: Supply, length: int, n: int) -> float:
    """Deal every hand of n cards; try every strand with every way of using wilds."""
    deck = [name for name, count in cards.copies.items() for _ in range(count)]
    deck += [f"wild:{tier}" for tier, count in cards.wild_tiers.items() for _ in range(count)]
    deck += ["wild:any"] * cards.wild_any
    deck += ["other"] * (cards.cards - len(deck))

    def lays(hand: list[str], strand: tuple[str, ...], real: int) -> bool:
        if not strand:
            return real >= cards.claim_real
        head, *rest = strand
        for card in {head, f"wild:{cards.tier_of[head]}", "wild:any"} & set(hand):
            left = list(hand)
            left.remove(card)
            if lays(left, tuple(rest), real + (card == head)):
                return True
        return False

    hands = list(combinations(range(len(deck)), n))
    good = sum(
        any(
            lays([deck[place] for place in hand], strand, 0)
            for strand in strands
            if len(strand) >= length
        )
        for hand in hands
    )
    return good / len(hands)


@settings(max_examples=40, deadline=None)
@given(
    copies=st.fixed_dictionaries({name: st.integers(0, 2) for name in KINDS}),
    strands=st.lists(st.sampled_from(STRANDS), min_size=1, unique=True),
    wild_b=st.integers(0, 1),
    wild_any=st.integers(0, 2),
    claim_real=st.integers(0, 3),
    n=st.integers(1, 4),
)
def test_odds_are_what_dealing_every_hand_gives(
    copies: dict[str, int],
    strands: list[tuple[str, ...]],
    wild_b: int,
    wild_any: int,
    claim_real: int,
    n: int,
) -> None:
    wild_tiers = {"b": wild_b} if wild_b else {}
    cards = supply(copies, 2, wild_tiers, wild_any, claim_real)
    n = min(n, cards.cards)
    odds = odds_of(strands, cards)

    for length in {len(strand) for strand in strands}:
        assert odds.at(length, n) == pytest.approx(by_enumeration(strands, cards, length, n))


def test_more_than_one_wild_any_counts_the_strands_they_lay_together() -> None:
    # a1-b1-c1 with one real card: two wilds and any of the three; deck 3 + 2 cards, n = 3.
    cards = supply({"a1": 1, "b1": 1, "c1": 1}, wild_any=2)
    odds = odds_of([("a1", "b1", "c1")], cards)

    # Every hand of three holds a real card, and wilds for the rest: all 10.
    assert odds.at(3, 3) == 1
    assert odds.at(3, 2) == 0


def test_simulated_odds_agree_with_the_exact_ones_within_their_interval(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    cards = supply(dict.fromkeys(KINDS, 2), 10, {"b": 1}, 1)
    exact = odds_of(STRANDS, cards)
    monkeypatch.setattr(odds_module, "MOST_KINDS", 0)
    simulated = odds_of(STRANDS, cards)

    assert not simulated.is_exact
    assert simulated.lengths == exact.lengths
    misses = 0
    for length in exact.lengths:
        for n in (3, 6, 10, 15):
            low, high = simulated.interval(length, n)
            misses += not low <= exact.at(length, n) <= high
    # The seed is fixed, so this is one draw: at 95 % eight correlated intervals may miss once.
    assert misses <= 1


def test_past_twenty_kinds_odds_are_simulated() -> None:
    names = [f"a{i}" for i in range(11)] + [f"b{i}" for i in range(11)]
    strands = [(f"a{i}", f"b{i}") for i in range(11)]
    odds = odds_of(strands, supply(dict.fromkeys(names, 1), 20))

    # Chance that two cards are one of 11 pairs: 11 / C(42, 2).
    low, high = odds.interval(2, 2)
    assert not odds.is_exact
    assert low <= 11 / comb(42, 2) <= high


@pytest.mark.parametrize("count", [0, 8, 40])
def test_the_interval_is_wilsons_as_statsmodels_computes_it(count: int) -> None:
    odds = odds_module.Odds({2: (0, count)}, 1, 40)

    assert odds.interval(2, 1) == pytest.approx(
        proportion_confint(count, 40, method="wilson"), abs=1e-12
    )


def test_difficulty_is_minus_ln_odds_and_infinite_where_there_are_none(
    make_game: Any, small: dict[str, Any]
) -> None:
    odds = make_game(small).odds["ma"]

    assert odds.difficulty(2, 2) == pytest.approx(-log(8 / 45))
    assert odds.difficulty(3, 2) == inf


def test_points_by_difficulty_are_linear_in_minus_ln_odds() -> None:
    # One card of 4, 2 and 1 in twenty; at n = 1 odds 0.2, 0.1, 0.05: -ln rises in equal steps.
    decks = {"x": 4, "y": 2, "z": 1}
    odds = {
        name: odds_of([("a",)], supply({"a": count}, 20 - count)) for name, count in decks.items()
    }

    points = fair_points(odds, 1, (2, 8), dict.fromkeys(odds, range(1, 2)))
    assert points == {"x": (2,), "y": (5,), "z": (8,)}


def test_points_by_difficulty_never_fall_and_fill_the_range(
    make_game: Any, small: dict[str, Any]
) -> None:
    game = make_game(
        {**small, "hand": 1}, [("a", 3)], points={"method": "difficulty", "range": [3, 7]}
    )

    ladders = list(game.points_of.values())
    assert all(list(ladder) == sorted(ladder) for ladder in ladders)
    assert min(map(min, ladders)) == 3
    assert max(map(max, ladders)) == 7


def test_a_rung_that_so_few_cards_never_hold_is_paid_as_the_hardest() -> None:
    odds = {"x": odds_of([("a", "b"), ("a", "b", "c")], supply({"a": 1, "b": 1, "c": 1}, 5))}

    assert fair_points(odds, 2, (1, 6), {"x": range(2, 4)}) == {"x": (1, 6)}
