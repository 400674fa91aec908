import numpy as np
import pytest
from numba import njit
from scipy import stats

from nervure.engine import play
from nervure.engine.randomness import below, key_of, mix

# Numbers of the reference program in C, splitmix64.c by Sebastiano Vigna (2015, public
# domain, prng.di.unimi.it), for the seed 1234567.
REFERENCE = [
    6457827717110365317,
    3203168211198807973,
    9817491932198370423,
    4593380528125082431,
    16408922859458223821,
]
GOLDEN = 0x9E3779B97F4A7C15
WORD = 2**64


@njit
def _stream(state, count):
    found = np.zeros(count, dtype=np.uint64)
    for place in range(count):
        state += np.uint64(GOLDEN)
        found[place] = mix(state)
    return found


@njit
def _below(masks, choices):
    return below(masks, 0, choices)


@njit
def _key(seed, deal, purpose):
    return key_of(seed, deal, purpose)


def _plain_mix(word):
    word = (word ^ word >> 30) * 0xBF58476D1CE4E5B9 % WORD
    word = (word ^ word >> 27) * 0x94D049BB133111EB % WORD
    return word ^ word >> 31


def test_a_stream_gives_the_numbers_of_the_reference_program():
    assert _stream(np.uint64(1234567), 5).tolist() == REFERENCE


def test_a_key_is_the_one_that_the_rules_page_writes_down():
    seed, deal, purpose = 2**63 + 11, 5, 17
    inner = _plain_mix((seed + GOLDEN) % WORD)
    by_hand = _plain_mix((_plain_mix((inner + deal * GOLDEN) % WORD) + purpose * GOLDEN) % WORD)

    assert int(_key(np.uint64(seed), np.uint64(deal), np.uint64(purpose))) == by_hand


def test_below_one_draws_nothing():
    masks = np.array([42], dtype=np.uint64)

    assert _below(masks, 1) == 0
    assert masks[0] == 42


def test_below_takes_the_high_half_times_the_choices():
    masks = np.array([1234567], dtype=np.uint64)

    drawn = [_below(masks, 10) for _ in range(5)]

    assert drawn == [(number >> 32) * 10 >> 32 for number in REFERENCE]


@pytest.mark.parametrize("held", [0, 1, 2])
def test_opening_hands_hold_a_structure_as_often_as_the_multivariate_hypergeometric_says(
    tree_tables, held
):
    # 30 cards of 15 kinds, two each; four to a hand: how many of three kinds are in it.
    # scipy's distribution is exact; 20,000 deals, bound 5 standard errors.
    deals = 20_000
    games = play(tree_tables, ["chance"] * 3, seed=3, deals=deals)
    kinds = [(games.opening[:, 1] >> np.uint64(kind)) & np.uint64(1) for kind in (0, 7, 14)]
    found = np.sum(np.sum(kinds, axis=0) == held) / deals

    counts = [
        (a, b, c, 4 - a - b - c)
        for a in range(3)
        for b in range(3)
        for c in range(3)
        if 0 <= 4 - a - b - c
    ]
    exact = sum(
        stats.multivariate_hypergeom.pmf(count, [2, 2, 2, 24], 4)
        for count in counts
        if sum(number > 0 for number in count[:3]) == held
    )
    assert found == pytest.approx(exact, abs=5 * np.sqrt(exact * (1 - exact) / deals))
