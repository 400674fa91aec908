"""How likely targets can be claimed with the cards that a player has seen so far.

Comes in: the odds of every target (`nervure.game.odds`). Goes out: the likeliest, the middle
and the rarest of them at one number of cards, for a claim of any length.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median

from nervure.game.model import Game


@dataclass(frozen=True, slots=True)
class Chances:
    """Chances (0 to 1) that so many random part cards hold a claim of a given target.

    ``likeliest``, ``rarest``: the chance and the target's id, the first in map order of
    those alike; ``middle``: the median over the targets.
    """

    cards: int
    likeliest: tuple[float, str]
    middle: float
    rarest: tuple[float, str]
    is_exact: bool


def chances(game: Game, cards: int) -> Chances | None:
    """Give the chances at a number of cards; None without targets."""
    found = {}
    for target in game.targets:
        odds = game.odds[target]
        shortest = odds.lengths[0] if odds.lengths else 0
        found[target] = odds.at(shortest, cards)
    if not found:
        return None
    most = max(found, key=lambda name: found[name])
    least = min(found, key=lambda name: found[name])
    return Chances(
        cards=cards,
        likeliest=(found[most], most),
        middle=median(found.values()),
        rarest=(found[least], least),
        is_exact=all(game.odds[name].is_exact for name in game.targets),
    )
