"""What knowing the map wins, and what of it is met: games of players who know a part.

The curve sets one player who knows every fact among players who know 0, a quarter, half and
three quarters of them; its control plays the half again with every fact printed, where little
should be left. What is met is counted where all know half, for learners do not play as
experts do.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from nervure.engine import Games
from nervure.game import Game
from nervure.game.compile import compile_game
from nervure.game.facts import facts_about, facts_in, facts_of
from nervure.playtest.measures import ratio_over_deals, win_shares
from nervure.playtest.plan import HALF, Experiment
from nervure.playtest.statistics import per_deal, share_over_deals
from nervure.records import FactRow, Interval, Measure, RefusalRow

Played = Mapping[Experiment, Games]
Flags = npt.NDArray[np.bool_]

SESSION = 3
"""Games that a class plays; facts met are counted in one, and in so many."""


def leaves_open(game: Game) -> bool:
    """Tell whether the cards leave anything of the map to be known by heart."""
    facts = compile_game(game, game.rules.players[0]).facts
    return bool(facts.open_junctions.any() or facts.open_supplies.any())


def knowledge_measures(game: Game, played: Played, players: int) -> Iterator[Measure]:
    """Give the measures of knowledge at a table size, as far as their games were played."""
    edge = knowledge_edge(played, players)
    games = exposure_games(played, players)
    if edge is None and games is not None and players > 1 and not leaves_open(game):
        # Everybody reads everything: who knows the map has no edge, and nothing is played.
        edge = Measure("knowledge_edge", players, 0.0, (0.0, 0.0), "share", 0, {"printed": True})
    if edge is not None:
        yield edge
    if games is None:
        return
    facts = facts_of(game)
    if facts and games.enacted.shape[-1]:
        flags = facts_in(games.enacted, facts)
        yield from coverage(flags, len(games))
        about = [
            facts_about(facts, targets=one.targets, structures=one.structures)
            for one in game.objectives
        ]
        yield from objectives(flags, [places for places in about if places], len(games))
    for name, over, under in (
        ("refused", games.refused.sum(axis=1), games.turns),
        ("untrue_claims", games.untrue_claims.sum(axis=1), games.claims.sum(axis=1)),
    ):
        value, (low, high) = ratio_over_deals(over, under)
        ends = (max(0.0, low), min(1.0, high))
        yield Measure(name, players, value, ends, "share", len(games))


def knowledge_edge(played: Played, players: int) -> Measure | None:
    """Give what one who knows all wins above an even share, among those who know half.

    ``details``: ``curve``, the same among those who know less and more, and ``control``, with
    every fact printed; each ``{knows, edge, interval, games}``.
    """
    curve = []
    control = None
    half: tuple[float, Interval, int] | None = None
    for experiment, games in played.items():
        if experiment.kind != "knowledge" or experiment.players != players:
            continue
        won = np.where(games.player == 0, win_shares(games), 0.0).sum(axis=1)
        share, (low, high) = share_over_deals(per_deal(won, experiment.rotations))
        even = 1 / players
        edge, interval = share.value - even, (low - even, high - even)
        knows = float(experiment.line_up[1].partition("@")[2])
        row = {"knows": knows, "edge": edge, "interval": list(interval), "games": len(games)}
        if experiment.without:
            control = row
            continue
        curve.append(row)
        if knows == HALF:
            half = edge, interval, len(games)
    if half is None:
        return None
    details: dict[str, Any] = {"curve": sorted(curve, key=lambda row: row["knows"])}
    if control is not None:
        details["control"] = control
    return Measure("knowledge_edge", players, half[0], half[1], "share", half[2], details)


def exposure_games(played: Played, players: int) -> Games | None:
    """Give the games in which all know half; None where none were played."""
    for experiment, games in played.items():
        if experiment.kind == "exposure" and experiment.players == players:
            return games
    return None


def coverage(flags: Flags, games: int) -> Iterator[Measure]:
    """Give the share of the facts that anybody at the table enacts, in one game, in three.

    Parameters
    ----------
    flags
        Enacted or not, shape (games, seats, facts).
    """
    for many, seen in ((1, flags), (SESSION, sessions(flags))):
        if len(seen):
            yield _met(f"coverage_{many}", seen.any(axis=1).mean(axis=1), flags, games)


def objectives(flags: Flags, about: Sequence[Sequence[int]], games: int) -> Iterator[Measure]:
    """Give the share of objectives that a player meets, in one game, in three.

    Met: at least one fact that the objective is about was enacted in one's own strands.

    Parameters
    ----------
    about
        For each objective the places of its facts.
    """
    if not about:
        return
    for many, own in ((1, flags), (SESSION, sessions(flags))):
        if len(own):
            met = np.stack([own[:, :, list(places)].any(axis=2) for places in about], axis=-1)
            yield _met(f"objectives_{many}", met.mean(axis=(1, 2)), flags, games)


def sessions(flags: Flags) -> Flags:
    """Join three games after one another by the same players: (games, …) → (games / 3, …)."""
    whole = len(flags) // SESSION * SESSION
    in_threes = flags[:whole].reshape(-1, SESSION, *flags.shape[1:])
    joined: Flags = np.logical_or.reduce(in_threes, axis=1)
    return joined


def _met(name: str, shares: npt.NDArray[np.float64], flags: Flags, games: int) -> Measure:
    estimate, interval = share_over_deals(shares)
    return Measure(name, flags.shape[1], estimate.value, interval, "share", games)


def fact_rows(game: Game, played: Played) -> tuple[FactRow, ...]:
    """Give how often each fact is enacted by a player and seen at a table, over all tables."""
    facts = facts_of(game)
    blocks = [
        games
        for experiment, games in played.items()
        if experiment.kind == "exposure" and games.enacted.shape[-1]
    ]
    if not blocks or not facts:
        return ()
    total = sum(map(len, blocks))
    seats = sum(len(games) * games.seats for games in blocks)
    flags = [facts_in(games.enacted, facts) for games in blocks]
    own = np.sum([one.sum(axis=(0, 1)) for one in flags], axis=0) / seats
    seen = np.sum([one.any(axis=1).sum(axis=0) for one in flags], axis=0) / total
    return tuple(
        FactRow(fact.text, fact.start, fact.end, fact.is_supply, float(mine), float(anyone))
        for fact, mine, anyone in zip(facts, own, seen, strict=True)
    )


def refusal_rows(played: Played) -> tuple[RefusalRow, ...]:
    """Give the false facts that attempts rested on where all know half, the commonest first."""
    counts: dict[str, int] = {}
    total = 0
    for experiment, games in played.items():
        if experiment.kind == "exposure":
            total += len(games)
            for text, count in games.refused_by.items():
                counts[text] = counts.get(text, 0) + count
    rows = []
    for text, count in sorted(counts.items(), key=lambda item: (-item[1], item[0])):
        is_supply = "=>" in text
        start, end = text.split("=>" if is_supply else ">")
        rows.append(RefusalRow(text, start, end, is_supply, count, count / total))
    return tuple(rows)
