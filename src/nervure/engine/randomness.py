"""Chance as docs/rules.md says: SplitMix64 keys and streams, decks in keyed order.

Kernel functions only. A stream is one word of the state's masks. Source of the generator:
Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import apart, inner, stay_apart

GOLDEN = np.uint64(0x9E3779B97F4A7C15)
_FIRST = np.uint64(0xBF58476D1CE4E5B9)
_SECOND = np.uint64(0x94D049BB133111EB)
_SHIFT_30, _SHIFT_27, _SHIFT_31, HALF = (np.uint64(shift) for shift in (30, 27, 31, 32))

PART_CARDS = 0
TARGET_CARDS = 1
PLAYERS = 16
BELIEFS = 32


@inner
def mix(word):
    """Give SplitMix64's finaliser of a uint64."""
    word = (word ^ (word >> _SHIFT_30)) * _FIRST
    word = (word ^ (word >> _SHIFT_27)) * _SECOND
    return word ^ (word >> _SHIFT_31)


@inner
def key_of(seed, deal, purpose):
    """Give the key of a purpose in a deal; all three uint64."""
    return mix(mix(mix(seed + GOLDEN) + deal * GOLDEN) + purpose * GOLDEN)


@inner
def below(masks, place, choices):
    """Give a number under `choices` from the stream at a place; one draw unless choices is 1."""
    if choices == 1:
        return 0
    masks[place] += GOLDEN
    drawn = mix(masks[place]) >> HALF
    return np.int64((drawn * np.uint64(choices)) >> HALF)


@apart
def keyed_order(key, salts, cards, count, order, scratch_keys, scratch):
    """Write the `count` cards in rising order of mix(key xor salt) to `order`, first on top.

    Keys are even, so cards go to as many buckets as there are cards by the keys' high
    halves; insertion then settles what little is out of place. Writes `order`,
    `scratch_keys` (two a card), `scratch` (buckets).
    """
    stay_apart()
    for place in range(count + 1):
        scratch[place] = 0
    for card in range(count):
        word = mix(key ^ salts[card])
        scratch_keys[card] = word
        bucket = np.int64(((word >> HALF) * np.uint64(count)) >> HALF)
        scratch[bucket + 1] += 1
    for place in range(count):
        scratch[place + 1] += scratch[place]
    for card in range(count):
        word = scratch_keys[card]
        bucket = np.int64(((word >> HALF) * np.uint64(count)) >> HALF)
        place = scratch[bucket]
        scratch[bucket] += 1
        order[place] = cards[card]
        scratch_keys[count + place] = word
    for place in range(1, count):
        word = scratch_keys[count + place]
        card = order[place]
        hole = place
        while hole > 0 and scratch_keys[count + hole - 1] > word:
            scratch_keys[count + hole] = scratch_keys[count + hole - 1]
            order[hole] = order[hole - 1]
            hole -= 1
        scratch_keys[count + hole] = word
        order[hole] = card
