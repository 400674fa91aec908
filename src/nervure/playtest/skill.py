"""Skill against luck: whether better play wins, and how much the deal decides.

The ladder sets each style against the one below it; luck asks of two styles that play the
same deals in each other's seats how far the deal fixes who wins by how much.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from nervure.engine import Games
from nervure.playtest.plan import LADDER, Experiment
from nervure.playtest.statistics import correlation, critical_value
from nervure.playtest.styles import edge_over_deals, halved, shares_alone
from nervure.records import Measure

LUCK_STYLES = frozenset({"builder", "weigher"})
FEWEST_FOR_LUCK = 4
"""Deals; from fewer, the interval of a correlation is not known."""

KINDS = ("styles", "ladder")

Played = Mapping[Experiment, Games]


def skill_ladder(played: Played, players: int) -> Measure | None:
    """Give the smallest edge of a better style over the one below it.

    Interval: the smallest lower and the smallest upper end over the steps, each corrected
    for their number (Bonferroni).

    Returns
    -------
    ``details``: ``steps``, each with ``style``, ``below``, its ``share`` (one half + edge;
    with two seats the share of the wins) with ``interval``, ``games``, and whether it is
    ``clear`` of one half; None where no step was played.
    """
    alone = shares_alone(played, players, KINDS)
    steps = [step for step in LADDER if step in alone and step[::-1] in alone]
    if not steps:
        return None
    z = critical_value(len(steps))
    rows: list[dict[str, Any]] = []
    for below, above in steps:
        edge, (low, high) = edge_over_deals(halved(alone[above, below], alone[below, above]), z)
        games = sum(
            len(part)
            for experiment, part in played.items()
            if experiment.kind in KINDS
            and experiment.players == players
            and set(experiment.line_up) == {below, above}
        )
        rows.append(
            {
                "style": above,
                "below": below,
                "share": 0.5 + edge,
                "interval": [0.5 + low, 0.5 + high],
                "games": games,
                "clear": low > 0,
            }
        )
    return Measure(
        "skill_ladder",
        players,
        min(row["share"] for row in rows) - 0.5,
        (
            min(row["interval"][0] for row in rows) - 0.5,
            min(row["interval"][1] for row in rows) - 0.5,
        ),
        "share",
        sum(row["games"] for row in rows),
        {"steps": rows},
    )


def luck(played: Played, players: int) -> Measure | None:
    """Give how far the deal decides: two seats, each deal twice with seats swapped.

    Weigher and builder play every deal in both places. The measure is Pearson's correlation
    over deals of the first seat's margin in points, once with the one and once with the
    other in it: 1, the deal fixes the margin whoever plays it; 0, it leaves it open. Means
    of the styles drop out. The interval is Fisher's.

    References
    ----------
    Fisher RA. On the probable error of a coefficient of correlation deduced from a small
    sample. Metron 1921;1:3-32 (from memory; checked against scipy in tests).
    """
    for experiment, games in played.items():
        is_swapped = set(experiment.line_up) == LUCK_STYLES and experiment.kind == "styles"
        if players != 2 or experiment.players != 2 or not is_swapped:
            continue
        margins = (games.points[:, 0] - games.points[:, 1]).reshape(-1, 2).astype(np.float64)
        if len(margins) < FEWEST_FOR_LUCK:
            return None
        value, interval = correlation(margins[:, 0], margins[:, 1])
        if math.isnan(value):
            return None
        return Measure("luck", 2, value, interval, "correlation", len(games))
    return None
