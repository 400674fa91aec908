"""Chance of docs/rules.md: keys from (seed, deal, purpose), streams, salts."""

from __future__ import annotations

import hashlib

MODULUS = 2**64
G = 0x9E3779B97F4A7C15

PART_CARDS = 0
TARGET_CARDS = 1
FIRST_PLAYER = 16
FIRST_BELIEFS = 32


def mix(number: int) -> int:
    """Give SplitMix64's finaliser of a number (Steele, Lea and Flood 2014)."""
    number %= MODULUS
    number = ((number ^ (number >> 30)) * 0xBF58476D1CE4E5B9) % MODULUS
    number = ((number ^ (number >> 27)) * 0x94D049BB133111EB) % MODULUS
    return number ^ (number >> 31)


def key(seed: int, deal: int, purpose: int) -> int:
    """Give key(x) of a seed and a deal."""
    return mix(mix(mix(seed + G) + deal * G) + purpose * G)


def salt(text: str) -> int:
    """Give the first 8 bytes, little endian, of the SHA-256 of a text."""
    return int.from_bytes(hashlib.sha256(text.encode("utf-8")).digest()[:8], "little")


class Stream:
    """One stream of chance, from its key on."""

    def __init__(self, start: int) -> None:
        self.state = start

    def next(self) -> int:
        """Give the next 64 bits."""
        self.state = (self.state + G) % MODULUS
        return mix(self.state)

    def below(self, bound: int) -> int:
        """Give a number from 0 to bound - 1; one choice alone takes no chance."""
        if bound == 1:
            return 0
        return ((self.next() >> 32) * bound) >> 32
