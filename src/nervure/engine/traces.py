"""What games leave besides their rows: facts enacted, and attempts refused by false fact.

A junction is enacted when two cards come to lie next to each other in one's own strand, a
supply when its target is claimed. Kernel functions only, compiled apart.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import ONE, ZERO, apart, bit, highest, stay_apart
from nervure.engine.desk import At
from nervure.engine.knowledge import NOTHING, code_of, on_tier, true_claims
from nervure.engine.layout import MoveNumber, Number, Seat
from nervure.engine.strands import record, seat_place, tiers_of_code, whole
from nervure.game.tables import Rule


@apart
def note_claim(desk, numbers, masks, enacted, words):
    """Write the supply of the claim at CHOSEN, about to be made, to `enacted` (seats, words)."""
    stay_apart()
    if numbers[Number.CHOSEN] != MoveNumber.CLAIM:
        return
    seat = np.int64(numbers[Number.SEAT])
    strand = np.int64(numbers[Number.CHOSEN + 1])
    target = np.int64(numbers[Number.CHOSEN + 2])
    claims = true_claims(desk, numbers, masks, seat, strand, target >> 6)
    if (claims >> np.uint64(target & 63)) & ONE == ZERO:
        return
    code, _ = code_of(desk, numbers, masks, seat, strand)
    last = on_tier(desk, code, highest(np.uint64(tiers_of_code(desk, code))))
    if last >= 0:
        fact = whole(desk, At.FACT_OF_SUPPLY, last * desk.rules[Rule.TARGETS] + target)
        if fact >= 0:
            enacted[seat * words + (fact >> 6)] |= bit(fact & 63)


@apart
def note_junctions(desk, numbers, seat, enacted, words):
    """Write every junction of the strands before a seat to `enacted`."""
    stay_apart()
    structures = desk.rules[Rule.STRUCTURES]
    for strand in range(numbers[seat_place(seat) + Seat.STRANDS]):
        key = np.int64(numbers[record(seat, strand)])
        code, gap = key >> 9, (key >> 6) & 7
        before = np.int64(NOTHING)
        for tier in range(desk.rules[Rule.TIERS]):
            here = on_tier(desk, code, tier)
            if tier == gap:
                before = np.int64(NOTHING)
            if here == NOTHING:
                continue
            if before >= 0 and here >= 0:
                fact = whole(desk, At.FACT_OF_JUNCTION, before * structures + here)
                if fact >= 0:
                    enacted[seat * words + (fact >> 6)] |= bit(fact & 63)
            before = here


@apart
def note_refusal(numbers, refusals):
    """Count the false facts of an attempt that has just been refused, if there are any."""
    stay_apart()
    for place in range(numbers[Number.TRIED]):
        refusals[numbers[Number.TRIED + 1 + place]] += 1
    numbers[Number.TRIED] = 0
