"""Chances at a number of cards: likeliest, middle and rarest target, worked by hand."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from nervure.game.chances import chances
from nervure.game.odds import Odds

# A deck of four cards; two of them can be drawn in 6 ways. Of those "a" can be claimed with 3,
# "b" with 1, "c" with none (its only strand has three cards: 2 of the 4 draws of three).
ODDS = {
    "a": Odds({2: (0, 0, 3, 4, 1), 3: (0, 0, 0, 1, 1)}, 4),
    "b": Odds({2: (0, 0, 1, 2, 1)}, 4),
    "c": Odds({3: (0, 0, 0, 2, 1)}, 4),
}


def game_with(*targets: str) -> Any:
    return SimpleNamespace(targets=targets, odds={name: ODDS[name] for name in targets})


@pytest.mark.parametrize(
    ("targets", "cards", "likeliest", "middle", "rarest"),
    [
        ("abc", 2, (3 / 6, "a"), 1 / 6, (0.0, "c")),
        ("abc", 3, (4 / 4, "a"), 2 / 4, (2 / 4, "b")),
        ("ab", 2, (3 / 6, "a"), (3 / 6 + 1 / 6) / 2, (1 / 6, "b")),
        ("b", 9, (1.0, "b"), 1.0, (1.0, "b")),
    ],
)
def test_chances_are_those_of_the_shortest_claim(
    targets: str, cards: int, likeliest: object, middle: float, rarest: object
) -> None:
    found = chances(game_with(*targets), cards)

    assert found is not None
    assert (found.likeliest, found.rarest) == (likeliest, rarest)
    assert found.middle == pytest.approx(middle)


def test_without_targets_there_are_no_chances() -> None:
    assert chances(game_with(), 4) is None
