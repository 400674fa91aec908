"""What a refused attempt asks of the stage of the turn, for people at the table."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from nervure.engine.layout import MoveNumber, Number
from nervure.game.tables import Rule


def can_be_paid(rules: npt.NDArray[np.int64], numbers: npt.NDArray[np.int32], move: int) -> bool:
    """Tell whether a move is of a kind that can be refused, and its seat can pay for it now.

    ``rules``: the rules vector; ``numbers``: the state, its legal moves counted.
    """
    draws = numbers[Number.DRAWS] > 0 and not numbers[Number.BEGAN]
    drawing = numbers[Number.COUNTS + MoveNumber.DRAW_STOCK : Number.COUNTS + MoveNumber.LAY]
    plays = numbers[Number.PLAYS] > 0
    may_play = plays and not (draws and drawing.any())
    can = {
        MoveNumber.TAKE_LOOSE: draws and plays,
        MoveNumber.ATTACH: may_play,
        MoveNumber.ATTACH_GAP: may_play,
        MoveNumber.JOIN: may_play or not rules[Rule.JOIN_IS_PLAY],
        MoveNumber.CLAIM: may_play or not rules[Rule.CLAIM_IS_PLAY],
    }
    return bool(numbers[Number.ROBBED] < 0 and can.get(MoveNumber(move), False))
