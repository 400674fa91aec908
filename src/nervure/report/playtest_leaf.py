"""How often each target is claimed, drawn over the map: veins by thickness, bars at the margin.

Claims are measured by target, not by the way that a strand took. A vein is therefore drawn
as thick as the most claimed target that its fibre supplies by that way.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from nervure.anatomy.layout import lay_out
from nervure.game import Game
from nervure.records import PlaytestResult, say_figure
from nervure.report.leaf import Gauge, Leaf, LeafStyle, draw_leaf
from nervure.report.playtest_words import Talk

HARDLY = 1 / 3  # of the mean over all targets
THINNEST, THICKEST = 0.3, 1.9
RARE = 0.2  # of the usual thickness: the leaf draws such a lane dotted
LISTED = 8


@dataclass(frozen=True, slots=True)
class Claims:
    """How often targets are claimed.

    ``shares``: of games, by target; ``limit``: below it a target is hardly claimed;
    ``hardly``: those, the rarest first.
    """

    shares: Mapping[str, float]
    limit: float
    hardly: tuple[str, ...]

    @property
    def never(self) -> tuple[str, ...]:
        """Targets that no game claimed."""
        return tuple(target for target in self.hardly if self.shares[target] == 0)


def claims_of(result: PlaytestResult) -> Claims:
    """Give how often each target of the deck was claimed."""
    shares = {row.target: row.claimed for row in result.targets}
    limit = HARDLY * sum(shares.values()) / len(shares) if shares else 0.0
    hardly = sorted((t for t in shares if shares[t] < limit), key=lambda t: shares[t])
    return Claims(shares, limit, tuple(hardly))


def claims_leaf(claims: Claims, game: Game, talk: Talk) -> Leaf:
    """Draw the leaf of the game's targets with their claims."""
    most = max(claims.shares.values()) or 1.0
    bars = {
        target: (share / most, say_figure(share, "share", 1))
        for target, share in claims.shares.items()
    }
    style = LeafStyle(
        title=game.title,
        map_words=game.words,
        language=talk.language,
        key="claims-leaf",
        thickness=_thickness(claims, game, most),
        gauge=Gauge(talk.tell("claims.gauge"), bars),
    )
    on_the_way = {
        structure
        for target in claims.shares
        for pathway in game.pathways(target)
        for structure in pathway.structures
    }
    layout = lay_out(game.anatomy, structures=on_the_way, targets=claims.shares)
    return draw_leaf(game.anatomy, style, layout)


def _thickness(claims: Claims, game: Game, most: float) -> dict[tuple[str, str, str], float]:
    """Give each lane its thickness, by the most claimed target of the pathways through it."""
    found: dict[tuple[str, str, str], float] = {}
    for pathway in game.anatomy.all_pathways:
        share = claims.shares.get(pathway.target)
        if share is None:
            continue
        thick = RARE
        if share >= claims.limit and share > 0:
            thick = THINNEST + (THICKEST - THINNEST) * share / most
        for start, end in pairwise((*pathway.structures, pathway.target)):
            lane = (start, end, pathway.origin)
            found[lane] = max(found.get(lane, 0.0), thick)
    return found
