"""What the rules can say and the engine does not play yet: one list, one sentence each.

A game that uses one of these can be checked and printed; it cannot be playtested or played
at the table. `nervure.game.compile` raises `NotPlayedYet` for what stands here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from nervure import words
from nervure.errors import Fault, Place, warning
from nervure.game._door import key_place
from nervure.game.deck import DECK_FILE, VARIANT

if TYPE_CHECKING:
    from nervure.game.model import Game

# Put a name in with a new rule, and take it out once the engine plays it; nothing now.
NOT_PLAYED: frozenset[str] = frozenset()

KNOWLEDGE_GOALS = frozenset(
    {"knowledge_edge", "coverage_1", "coverage_3", "objectives_1", "objectives_3", "refused"}
)


def used(game: Game) -> dict[str, Place]:
    """Give every capability that a game asks for, with the place where it does."""
    found: dict[str, Place] = {}
    whens = {game.bonus(id).when for id in game.bonus_of.values()}
    if whens - {"reply"}:
        found["bonuses"] = key_place("bonus")
    if "reply" in whens:
        found["replies"] = key_place("bonus")
    if VARIANT in game.hand_kinds:
        found["variant-cards"] = Place(DECK_FILE)
    for name in game.goals.ranges:
        if name in KNOWLEDGE_GOALS:
            found.setdefault("knowledge", key_place(f"goals.{name}"))
    return found


def not_played_faults(game: Game) -> list[Fault]:
    """Warn of every capability that a game asks for and the engine does not have yet."""
    return [
        warning(
            "not-played-yet",
            place,
            value=capability,
            what=words.say(f"game.capability.{capability}"),
        )
        for capability, place in used(game).items()
        if capability in NOT_PLAYED
    ]
