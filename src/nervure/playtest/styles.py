"""Styles against one another: matrix, edge.

A style's share is its mean win share as the only one of its kind among the others, over
all rotations of each deal; edge = (share − the other's share in the same place) / 2. One
half + edge lies between 0 and 1 like a share, so that an edge has a share's interval: it
keeps a width where every deal ends alike.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from nervure.engine import Games
from nervure.playtest.measures import win_shares
from nervure.playtest.plan import Experiment
from nervure.playtest.statistics import (
    FloatArray,
    critical_value,
    per_deal,
    share_over_deals,
)
from nervure.records import Interval, Measure, StylePair

Played = Mapping[Experiment, Games]


def style_pairs(played: Played, players: int) -> tuple[StylePair, ...]:
    """Give every pair of styles that was played at a table size, both ways round."""
    alone = shares_alone(played, players)
    pairs = []
    for (style, against), shares in sorted(alone.items()):
        other = alone.get((against, style))
        if other is None:
            continue
        share, interval = share_over_deals(shares)
        edge, edge_interval = edge_over_deals(halved(shares, other))
        pairs.append(
            StylePair(
                style=style,
                against=against,
                players=players,
                share=share.value,
                share_interval=interval,
                reverse=float(other.mean()),
                edge=edge,
                edge_interval=edge_interval,
                games=(len(shares) + (len(other) if players > 2 else 0)) * players,
            )
        )
    return tuple(pairs)


def shares_alone(
    played: Played, players: int, kinds: Sequence[str] = ("styles",)
) -> dict[tuple[str, str], FloatArray]:
    """Give the win share by deal of the one player of a style among others.

    ``kinds``: of the experiments that are looked at. Keys: (style, the others' style).
    """
    found = {}
    for experiment, games in played.items():
        if experiment.kind not in kinds or experiment.players != players or players == 1:
            continue
        for player in range(players):
            others = {s for p, s in enumerate(experiment.line_up) if p != player}
            style = experiment.line_up[player]
            if len(others) == 1 and style not in others:
                shares = np.where(games.player == player, win_shares(games), 0.0).sum(axis=1)
                found[style, others.pop()] = per_deal(shares, experiment.rotations)
    return found


def halved(shares: FloatArray, other: FloatArray) -> FloatArray:
    """Give half the difference within deals, which line-ups of one pair share."""
    deals = min(len(shares), len(other))
    edges: FloatArray = (shares[:deals] - other[:deals]) / 2
    return edges


def edge_over_deals(edges: FloatArray, z: float | None = None) -> tuple[float, Interval]:
    """Give a mean edge (one a deal, −½ to ½) and its interval, that of the share ½ + edge."""
    entry, (low, high) = share_over_deals(edges + 0.5, z)
    return entry.value - 0.5, (low - 0.5, high - 0.5)


def style_edge(played: Played, players: int, styles: Sequence[str]) -> Measure | None:
    """Give the largest edge of a style against the even mixture of the others.

    Edges against mixtures sum to 0, so the largest is not negative. Interval: the largest
    lower and the largest upper end over the styles, each corrected for their number
    (Bonferroni), not below 0. ``details``: every style's.
    """
    alone = shares_alone(played, players)
    by_deal: dict[str, FloatArray] = {}
    for style in styles:
        rivals = [other for other in styles if other != style]
        if not rivals or any((style, r) not in alone or (r, style) not in alone for r in rivals):
            continue
        halves = [halved(alone[style, rival], alone[rival, style]) for rival in rivals]
        deals = min(map(len, halves))
        by_deal[style] = np.mean([half[:deals] for half in halves], axis=0)
    if not by_deal:
        return None
    z = critical_value(len(by_deal))
    edges = {style: edge_over_deals(values, z) for style, values in by_deal.items()}
    best = max(edges, key=lambda style: edges[style][0])
    low = max(0.0, *(interval[0] for _, interval in edges.values()))
    high = max(interval[1] for _, interval in edges.values())
    details = {
        style: {"value": edge, "interval": list(interval)}
        for style, (edge, interval) in edges.items()
    }
    games = sum(len(g) for e, g in played.items() if e.kind == "styles" and e.players == players)
    return Measure(
        "style_edge",
        players,
        edges[best][0],
        (low, high),
        "share",
        games,
        {"style": best, "styles": details},
    )
