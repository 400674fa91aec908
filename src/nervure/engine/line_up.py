"""Line-ups: names of styles as people write them, and the array that the kernel reads.

The array holds for six players the number of the style, the playouts of a searcher, and the
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

_SEARCHER = re.compile(r"searcher:([1-9]\d{0,5})")


class LineUp(IntEnum):
    """Places in the array of a line-up; a trailing comment gives the shape."""

    STYLES = 0  # (players,) `Style`
    PLAYOUTS = STYLES + MOST_SEATS  # (players,)
    WEIGHTS = PLAYOUTS + MOST_SEATS  # (players, FEATURES)
    SIZE = WEIGHTS + MOST_SEATS * FEATURES


def line_up_numbers(
    line_up: Sequence[str], tables: Tables, weights: Mapping[int, Weights] | None = None
) -> npt.NDArray[np.int32]:
    """Give the array of a line-up.

    Parameters
    ----------
    line_up
        Names of styles, by player: those of `STYLES`, or ``searcher:N`` with N playouts a
        decision.
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
    for player, name in enumerate(line_up):
        style, playouts = style_of(name)
        numbers[LineUp.STYLES + player] = style
        numbers[LineUp.PLAYOUTS + player] = playouts
        if style in (Style.WEIGHER, Style.SEARCHER):
            own = weights.get(player) if weights else None
            start = LineUp.WEIGHTS + player * FEATURES
            numbers[start : start + FEATURES] = weights_for(tables) if own is None else own
    return numbers


def style_of(name: str) -> tuple[Style, int]:
    """Give the style that a name means, and its playouts (0 if it makes none)."""
    found = _SEARCHER.fullmatch(name)
    if found and int(found[1]) <= MOST_PLAYOUTS:
        return Style.SEARCHER, int(found[1])
    if name not in STYLES:
        raise UnknownName(words.say("engine.style"), name, (*STYLES, "searcher:100"))
    return Style[name.upper()], 0
