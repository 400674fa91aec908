"""Styles against one another: matrix, edge, ladder.

A style's share is its mean win share as the only one of its kind among the others, over
all rotations of each deal; edge = (share − the other's share in the same place) / 2.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from nervure.engine import Games
from nervure.playtest.measures import win_shares
from nervure.playtest.plan import Experiment
from nervure.playtest.statistics import (
    Estimate,
    FloatArray,
    critical_value,
    mean_over_deals,
    per_deal,
    share_over_deals,
)
from nervure.records import Interval, Measure, StylePair

MOST_EDGE = 0.5
LADDER = (("chance", "sprinter"), ("chance", "builder"))

Played = Mapping[Experiment, Games]


def style_pairs(played: Played, players: int) -> tuple[StylePair, ...]:
    """Give every pair of styles that was played at a table size, both ways round."""
    alone = _shares_alone(played, players)
    pairs = []
    for (style, against), shares in sorted(alone.items()):
        other = alone.get((against, style))
        if other is None:
            continue
        share, interval = share_over_deals(shares)
        edge = _edge(shares, other)
        pairs.append(
            StylePair(
                style=style,
                against=against,
                players=players,
                share=share.value,
                share_interval=interval,
                reverse=float(other.mean()),
                edge=edge.value,
                edge_interval=_possible(edge.interval()),
                games=(len(shares) + (len(other) if players > 2 else 0)) * players,
            )
        )
    return tuple(pairs)


def _shares_alone(played: Played, players: int) -> dict[tuple[str, str], FloatArray]:
    """Win share by deal of the one player of a style among others, keyed (style, others)."""
    found = {}
    for experiment, games in played.items():
        if experiment.kind != "styles" or experiment.players != players or players == 1:
            continue
        for player in range(players):
            others = {s for p, s in enumerate(experiment.line_up) if p != player}
            style = experiment.line_up[player]
            if len(others) == 1 and style not in others:
                shares = np.where(games.player == player, win_shares(games), 0.0).sum(axis=1)
                found[style, others.pop()] = per_deal(shares, experiment.rotations)
    return found


def _edge(shares: FloatArray, other: FloatArray) -> Estimate:
    # Line-ups of one pair share their deals, so the difference is taken within deals.
    deals = min(len(shares), len(other))
    return mean_over_deals((shares[:deals] - other[:deals]) / 2)


def _possible(interval: Interval) -> Interval:
    """Keep an interval of an edge to what an edge can be: half a game at most."""
    low, high = interval
    return (max(-MOST_EDGE, low), min(MOST_EDGE, high))


def _largest(edges: Sequence[Estimate], z: float) -> Interval:
    """Give the simultaneous interval of the largest edge, at least 0 since edges add up to 0."""
    low = max(0.0, *(edge.value - z * edge.error for edge in edges))
    return _possible((low, max(edge.value + z * edge.error for edge in edges)))


def style_edge(played: Played, players: int, styles: Sequence[str]) -> Measure | None:
    """Give the largest edge of a style against the even mixture of the others.

    The interval is simultaneous over the styles (Bonferroni). ``details``: every style's.
    """
    alone = _shares_alone(played, players)
    edges: dict[str, Estimate] = {}
    for style in styles:
        rivals = [other for other in styles if other != style]
        if not rivals or any((style, r) not in alone or (r, style) not in alone for r in rivals):
            continue
        deals = min(len(alone[pair]) for r in rivals for pair in ((style, r), (r, style)))
        by_deal = sum(
            (alone[style, r][:deals] - alone[r, style][:deals]) / 2 for r in rivals
        ) / len(rivals)
        edges[style] = mean_over_deals(by_deal)
    if not edges:
        return None
    z = critical_value(len(edges))
    best = max(edges, key=lambda style: edges[style].value)
    details = {
        style: {"value": edge.value, "interval": list(_possible(edge.interval(z)))}
        for style, edge in edges.items()
    }
    games = sum(len(g) for e, g in played.items() if e.kind == "styles" and e.players == players)
    return Measure(
        "style_edge",
        players,
        edges[best].value,
        _largest(list(edges.values()), z),
        "share",
        games,
        {"style": best, "styles": details},
    )


def skill_ladder(pairs: Sequence[StylePair]) -> Iterator[Measure]:
    """Give the smallest edge of a better style over the one below it, by table size."""
    for players in sorted({pair.players for pair in pairs}):
        rungs = [
            pair
            for pair in pairs
            if pair.players == players and (pair.against, pair.style) in LADDER
        ]
        if rungs:
            least = min(rungs, key=lambda pair: pair.edge)
            details = {f"{pair.style} over {pair.against}": pair.edge for pair in rungs}
            yield Measure(
                "skill_ladder",
                players,
                least.edge,
                least.edge_interval,
                "share",
                least.games,
                details,
            )
