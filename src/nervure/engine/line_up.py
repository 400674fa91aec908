"""Line-ups: names of styles as people write them, and the array that the kernel reads.

The array holds for six players the number of the style, how a searcher plays out, and the
weights of a weigher, which depend on the design.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from enum import IntEnum

import numpy as np
import numpy.typing as npt

from nervure import words
from nervure.engine.features import FEATURES
from nervure.engine.layout import Style
from nervure.engine.weight_sets import Weights, weights_for
from nervure.errors import BadUsage, UnknownName
from nervure.game.tables import MOST_SEATS, Tables

STYLES: tuple[str, ...] = tuple(style.name.lower() for style in Style if style != Style.SEARCHER)
"""Names of the styles that can be put into a line-up by themselves."""

MOST_PLAYOUTS = 100_000

PLAYOUT_STYLE = Style.WEIGHER
PLAYOUT_TURNS = 4
BIAS = 400
WIDENING = 4
SWEEPS = 1
EXPLORATION = 70

_SEARCHER = re.compile(
    r"searcher:(?P<playouts>[1-9]\d{0,5})"
    r"(?:/(?P<style>chance|sprinter|builder|weigher)/(?P<turns>[1-9]\d{0,2})"
    r"/(?P<bias>\d{1,3})/(?P<widening>\d{1,2})/(?P<sweeps>\d)/(?P<exploration>\d{1,3}))?"
)


_KNOWLEDGE = re.compile(r"(?P<whole>[01])(?:\.(?P<decimals>\d{1,3}))?")
KNOWS_ALL = 1000
"""The knowledge of a style that is named without ``@K``, in thousandths."""


class LineUp(IntEnum):
    """Places in the array of a line-up; a trailing comment gives the shape."""

    STYLES = 0  # (players,) `Style`
    PLAYOUTS = STYLES + MOST_SEATS  # (players,)
    PLAYOUT_STYLE = PLAYOUTS + MOST_SEATS  # (players,)
    PLAYOUT_TURNS = PLAYOUT_STYLE + MOST_SEATS  # (players,)
    BIAS = PLAYOUT_TURNS + MOST_SEATS  # (players,) towards the weigher's move, in hundredths
    WIDENING = BIAS + MOST_SEATS  # (players,) see `tree.pick`
    SWEEPS = WIDENING + MOST_SEATS  # (players,) playouts of each legal move on the same deal
    EXPLORATION = SWEEPS + MOST_SEATS  # (players,) see `tree.upper_bound`
    KNOWLEDGE = EXPLORATION + MOST_SEATS  # (players,) share of the facts, in thousandths
    WEIGHTS = KNOWLEDGE + MOST_SEATS  # (players, FEATURES)
    SIZE = WEIGHTS + MOST_SEATS * FEATURES


def line_up_numbers(
    line_up: Sequence[str], tables: Tables, weights: Mapping[int, Weights] | None = None
) -> npt.NDArray[np.int32]:
    """Give the array of a line-up.

    Parameters
    ----------
    line_up
        Names of styles, by player: those of `STYLES`; sprinter, builder and weigher also with
        ``@K``, the share of the facts that the player knows; or ``searcher:N`` with N playouts a
        decision; for measuring also ``searcher:N/STYLE/TURNS/BIAS/WIDENING/SWEEPS/EXPLORATION``
        (docs/styles.md).
    tables
        The game at as many seats as the line-up has players.
    weights
        Own weights of some players instead of the design's set, for learning.

    Raises
    ------
    BadUsage
        The line-up does not fit the table; `UnknownName` for a name that is no style.
    """
    if len(line_up) != tables.seats:
        raise BadUsage(words.say("engine.line-up", named=len(line_up), seats=tables.seats))
    numbers = np.zeros(LineUp.SIZE, dtype=np.int32)
    numbers[LineUp.KNOWLEDGE : LineUp.WEIGHTS] = KNOWS_ALL
    designs_own = weights_for(tables)
    for player, name in enumerate(line_up):
        for column, value in enumerate(style_of(name)):
            numbers[column * MOST_SEATS + player] = value
        numbers[LineUp.KNOWLEDGE + player] = knowledge_of(name)
        start = LineUp.WEIGHTS + player * FEATURES
        own = weights.get(player) if weights else None
        numbers[start : start + FEATURES] = designs_own if own is None else own
    return numbers


def searches(numbers: npt.NDArray[np.int32]) -> int:
    """Give the most playouts a decision of any searcher in a line-up, 0 if there is none."""
    return int(numbers[LineUp.PLAYOUTS : LineUp.PLAYOUTS + MOST_SEATS].max())


def shares_of(numbers: npt.NDArray[np.int32]) -> list[int]:
    """Give the share of the facts that each player of a line-up knows, in thousandths."""
    return [int(share) for share in numbers[LineUp.KNOWLEDGE : LineUp.WEIGHTS]]


def knowledge_of(name: str) -> int:
    """Give what share of the facts a name's player knows, in thousandths: 0.5 in ``weigher@0.5``.

    Raises
    ------
    BadUsage
        It is no number from 0 to 1 with at most three decimals, or the style always knows all.
    """
    style, _, share = name.partition("@")
    if style == name:
        return KNOWS_ALL
    if style == "chance" or style.startswith("searcher"):
        raise BadUsage(words.say("engine.knows-all", style=style))
    found = _KNOWLEDGE.fullmatch(share)
    value = KNOWS_ALL + 1
    if found:
        value = int(found["whole"]) * KNOWS_ALL + int((found["decimals"] or "").ljust(3, "0"))
    if value > KNOWS_ALL:
        raise BadUsage(words.say("engine.knowledge", value=share))
    return value


def style_of(name: str) -> tuple[int, ...]:
    """Give the style that a name means, then how it searches, in the order of `LineUp`."""
    if "@" in name:
        knowledge_of(name)
        name = name.partition("@")[0]
    found = _SEARCHER.fullmatch(name)
    if found and int(found["playouts"]) <= MOST_PLAYOUTS:
        playouts = int(found["playouts"])
        if not found["style"]:
            how = (PLAYOUT_STYLE, PLAYOUT_TURNS, BIAS, WIDENING, SWEEPS, EXPLORATION)
            return Style.SEARCHER, playouts, *how
        more = (int(found[key]) for key in ("turns", "bias", "widening", "sweeps", "exploration"))
        return Style.SEARCHER, playouts, Style[found["style"].upper()], *more
    if name not in STYLES:
        raise UnknownName(words.say("engine.style"), name, (*STYLES, "searcher:100"))
    return (Style[name.upper()],)
