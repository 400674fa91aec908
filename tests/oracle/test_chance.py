"""The slow table's chance beside published numbers and the words of docs/rules.md."""

from __future__ import annotations

import hashlib

import pytest
from slow_rules import Stream, key, mix, salt
from slow_rules.cards import shuffled

# First outputs of SplitMix64 for the seed 1234567, as widely printed for implementers
# (for example beside the pseudo-random number task of rosettacode.org); from memory.
SPLITMIX64_SEED = 1234567
SPLITMIX64 = (
    6457827717110365317,
    3203168211198807973,
    9817491932198370423,
    4593380528125082431,
    16408922859458223821,
)


def test_a_stream_gives_the_published_numbers_of_splitmix64():
    stream = Stream(SPLITMIX64_SEED)
    assert tuple(stream.next() for _ in SPLITMIX64) == SPLITMIX64


def test_one_choice_alone_takes_no_chance():
    stream = Stream(SPLITMIX64_SEED)
    assert stream.below(1) == 0
    assert stream.next() == SPLITMIX64[0]


@pytest.mark.parametrize("bound", [2, 3, 10, 64])
def test_below_is_the_upper_half_scaled(bound: int):
    expected = [number // 2**32 * bound // 2**32 for number in SPLITMIX64]
    stream = Stream(SPLITMIX64_SEED)
    assert [stream.below(bound) for _ in SPLITMIX64] == expected


def test_keys_differ_by_seed_deal_and_purpose():
    keys = {key(seed, deal, x) for seed in range(3) for deal in range(3) for x in (0, 1, 16, 32)}
    assert len(keys) == 3 * 3 * 4


def test_cards_lie_in_the_order_of_their_salted_key():
    order = key(5, 0, 0)
    cards = shuffled({"l4": 2, "femoral-nerve": 1}, order)
    digest = hashlib.sha256(f"{cards[0].kind}#{cards[0].copy}".encode()).digest()
    assert salt(f"{cards[0].kind}#{cards[0].copy}") == int.from_bytes(digest[:8], "little")
    places = [mix(order ^ salt(f"{card.kind}#{card.copy}")) for card in cards]
    assert places == sorted(places)
    assert sorted((card.kind, card.copy) for card in cards) == [
        ("femoral-nerve", 1),
        ("l4", 1),
        ("l4", 2),
    ]
