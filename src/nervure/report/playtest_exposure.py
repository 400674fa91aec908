"""How often the map is met, drawn over the leaf: a vein as thick as its facts are often seen.

Counted where every seat knows half of the map. A vein between two cards of a pathway is as
thick as the share of games in which the two come to lie next to each other in some strand; the
last one, to the target, as the share in which the target is claimed from there.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

from nervure.anatomy import Pathway
from nervure.anatomy.layout import lay_out
from nervure.game import Game
from nervure.records import FactRow, PlaytestResult, say_figure
from nervure.report.leaf import Gauge, Leaf, LeafStyle, draw_leaf
from nervure.report.playtest_words import Talk

THINNEST, THICKEST = 0.3, 1.9
NEVER = 0.2  # of the usual thickness: the leaf draws such a lane dotted
LISTED = 8

Lane = tuple[str, str, str]


def exposure_leaf(result: PlaytestResult, game: Game, talk: Talk) -> Leaf | None:
    """Draw the leaf with what is met; None where no facts were counted."""
    if not result.facts:
        return None
    seen = {(row.start, row.end): row.seen for row in result.facts}
    most = max(seen.values()) or 1.0
    claimed = {
        target: min(1.0, sum(row.seen for row in _supplies(result) if row.end == target))
        for target in game.targets
    }
    longest = max(claimed.values(), default=0.0) or 1.0
    lanes = exposure_of_lanes(game, seen)
    style = LeafStyle(
        title=game.title,
        map_words=game.words,
        language=talk.language,
        key="exposure-leaf",
        thickness={
            lane: THINNEST + (THICKEST - THINNEST) * share / most if share else NEVER
            for lane, share in lanes.items()
        },
        gauge=Gauge(
            talk.tell("exposure.gauge"),
            {
                target: (share / longest, say_figure(share, "share", 1))
                for target, share in claimed.items()
            },
        ),
    )
    on_the_way = {s for t in game.targets for way in game.pathways(t) for s in way.structures}
    layout = lay_out(game.anatomy, structures=on_the_way, targets=dict.fromkeys(game.targets))
    return draw_leaf(game.anatomy, style, layout)


def _supplies(result: PlaytestResult) -> list[FactRow]:
    return [row for row in result.facts if row.is_supply]


def exposure_of_lanes(game: Game, seen: Mapping[tuple[str, str], float]) -> dict[Lane, float]:
    """Give each lane the share of games in which what it stands for is met.

    Parameters
    ----------
    seen
        Share of games by the two ends of a fact; a pair that is none counts as never met.
    """
    found: dict[Lane, float] = {}
    for target in game.targets:
        for way in game.pathways(target):
            for lane, share in _lanes(way, game, seen):
                found[lane] = max(found.get(lane, 0.0), share)
    return found


def _lanes(
    way: Pathway, game: Game, seen: Mapping[tuple[str, str], float]
) -> list[tuple[Lane, float]]:
    """Give a pathway's lanes: those over structures without cards share the fact around them."""
    on_deck = [name for name in way.structures if game.copies.get(name)]
    stops = [*on_deck, way.target]
    following = dict(pairwise(stops))
    found: list[tuple[Lane, float]] = []
    last: str | None = None
    for start, end in pairwise((*way.structures, way.target)):
        last = start if start in following else last
        share = 0.0 if last is None else seen.get((last, following[last]), 0.0)
        found.append(((start, end, way.origin), share))
    return found


def never_met(result: PlaytestResult, talk: Talk) -> list[str]:
    """Give the connections that no game met, in the map's words."""
    return [
        talk.tell(
            "exposure.fact",
            start=talk.card(row.start),
            end=talk.name(row.end) if row.is_supply else talk.card(row.end),
        )
        for row in result.facts
        if row.seen == 0
    ]
