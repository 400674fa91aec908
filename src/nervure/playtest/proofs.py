"""What is known of a game without playing it, for a playtest to judge by."""

from __future__ import annotations

from nervure.game import Game, ending
from nervure.game.deck import VARIANT
from nervure.game.odds import fair_points
from nervure.playtest.knowledge import leaves_open
from nervure.playtest.run import Evidence


def evidence_of(game: Game) -> Evidence:
    """Give the points that rarity asks, and the measures that the rules decide."""
    shortest = max(1, game.rules.claim_minimum)
    rungs = {
        target: range(shortest, shortest + len(ladder))
        for target, ladder in game.points_of.items()
    }
    difficulty = fair_points(game.odds, game.odds_cards, game.points.range, rungs)
    certain: dict[str, float] = {}
    if all(end.verdict == "certain" for end in ending(game)):
        certain["finish"] = 1.0
    if game.rules.connect == "true" and VARIANT not in game.hand_kinds:
        certain["untrue_claims"] = 0.0
    if not leaves_open(game):
        certain["knowledge_edge"] = 0.0
        certain["refused"] = 0.0
    return Evidence(difficulty, certain)
