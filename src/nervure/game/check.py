"""`check_game`: everything that is exact about a game, in one frozen record.

Comes in: a `Game`. Goes out: counts, odds, printed test and reasoned end, with the keys that
docs/commands.md asks of ``nervure check --json``. The map's own evidence is not looked at.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Any

from nervure.game.counts import (
    UntrueStrands,
    by_length,
    idle_cards,
    untrue_strands_of,
    ways_by_length,
)
from nervure.game.ending import Ending, ending
from nervure.game.model import Game
from nervure.game.odds import Odds, fair_points
from nervure.game.printed import Mismatch, PrintedTest, printed_test
from nervure.game.strands import Strand


@dataclass(frozen=True, slots=True)
class TargetCheck:
    """What is exact about one target; every mapping by number of cards.

    ``pathways``: different pathways on the deck's tiers. ``strands``: claiming strands without
    a wild. ``longest``: cards of the longest claim. ``difficulty``: -ln odds at `odds_cards`,
    infinite where so few cards never hold such a strand. ``fair``: points by difficulty.
    ``listed``: the points stand in deck.csv.
    """

    pathways: Mapping[int, int]
    strands: Mapping[int, int]
    longest: int
    odds: Odds
    odds_cards: int
    points: tuple[int, ...]
    fair: tuple[int, ...]
    listed: bool

    @property
    def difficulty(self) -> Mapping[int, float]:
        """Give -ln odds by number of cards."""
        lengths = self.odds.lengths
        return {length: self.odds.difficulty(length, self.odds_cards) for length in lengths}

    def to_dict(self) -> dict[str, Any]:
        """Give plain data; an infinite difficulty is None."""
        n, odds = self.odds_cards, self.odds
        chances = {str(length): round(odds.at(length, n), 6) for length in odds.lengths}
        return {
            "pathways": {str(cards): count for cards, count in self.pathways.items()},
            "strands": {str(cards): count for cards, count in self.strands.items()},
            "longest": self.longest,
            "odds": chances,
            "odds_cards": n,
            "odds_interval": None
            if odds.is_exact
            else {str(length): list(odds.interval(length, n)) for length in odds.lengths},
            "points": list(self.points),
            "points_listed": self.listed,
            "difficulty": {
                str(length): round(value, 4) if isfinite(value) else None
                for length, value in self.difficulty.items()
            },
            "points_by_difficulty": list(self.fair),
        }


@dataclass(frozen=True, slots=True)
class GameCheck:
    """What `check_game` found. Strands are tuples of structure ids, proximal first."""

    targets: Mapping[str, TargetCheck]
    legal_strands: Mapping[int, int]
    untrue_strands: UntrueStrands
    printed_test: PrintedTest
    ending: tuple[Ending, ...]
    idle_cards: tuple[str, ...]
    unclaimable: tuple[str, ...]
    part_cards: int
    target_cards: int

    def to_dict(self) -> dict[str, Any]:
        """Give plain data with the keys of docs/commands.md."""
        return {
            "targets": {name: target.to_dict() for name, target in self.targets.items()},
            "legal_strands": {str(cards): count for cards, count in self.legal_strands.items()},
            "untrue_strands": {
                "count": self.untrue_strands.count,
                "by_length": {
                    str(cards): count for cards, count in self.untrue_strands.by_length.items()
                },
                "examples": [list(strand) for strand in self.untrue_strands.examples],
                "claims": self.untrue_strands.claims,
                "claim_examples": _claims(self.untrue_strands.claim_examples),
            },
            "printed_test": {
                "can_be_made": self.printed_test.can_be_made,
                "exact": self.printed_test.is_exact,
                "sentence": self.printed_test.sentence,
                "passing_untrue": _mismatch(self.printed_test.passing_untrue),
                "failing_true": _mismatch(self.printed_test.failing_true),
            },
            "ending": {
                str(found.players): {
                    "verdict": found.verdict,
                    "moves": list(found.moves),
                    "sentence": found.sentence,
                }
                for found in self.ending
            },
            "idle_cards": list(self.idle_cards),
            "unclaimable": list(self.unclaimable),
            "part_cards": self.part_cards,
            "target_cards": self.target_cards,
        }


def _claims(claims: tuple[tuple[Strand, str], ...]) -> list[dict[str, Any]]:
    return [{"strand": list(strand), "target": target} for strand, target in claims]


def _mismatch(side: Mismatch) -> dict[str, Any]:
    return {
        "strands": side.strands,
        "claims": side.claims,
        "strand_examples": [list(strand) for strand in side.strand_examples],
        "claim_examples": _claims(side.claim_examples),
    }


def untrue_strands(game: Game) -> UntrueStrands:
    """Count and name what the game's rules allow and no pathway bears out."""
    return untrue_strands_of(game.strands, game.joined_strands, game.claiming_strands)


def check_game(game: Game) -> GameCheck:
    """Count, weigh and reason about a game; exact except for odds marked as simulated."""
    shortest = max(1, game.rules.claim_minimum)
    rungs = {
        name: range(shortest, shortest + len(ladder)) for name, ladder in game.points_of.items()
    }
    fair = fair_points(game.odds, game.odds_cards, game.points.range, rungs)
    return GameCheck(
        targets={
            name: TargetCheck(
                pathways=ways_by_length(game.strands, name),
                strands=by_length(game.claiming_strands[name]),
                longest=max(map(len, game.claiming_strands[name]), default=0),
                odds=game.odds[name],
                odds_cards=game.odds_cards,
                points=game.points_of[name],
                fair=fair[name],
                listed=game.points.method == "listed" and name in game.listed_points,
            )
            for name in game.targets
        },
        legal_strands=by_length(game.joined_strands),
        untrue_strands=untrue_strands(game),
        printed_test=printed_test(game),
        ending=ending(game),
        idle_cards=tuple(
            name for name in idle_cards(game.strands, game.claiming_strands) if name in game.carded
        ),
        unclaimable=game.unclaimable,
        part_cards=game.part_cards,
        target_cards=game.target_cards,
    )
