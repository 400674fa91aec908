"""What a seat cannot see, dealt anew: copies of a state that agree with all it sees.

Every deal of the unseen cards among rivals' hands and the stock, and of the unseen targets
among rivals' secret ones and the target stock, is equally likely. Kernel functions only. The
unseen cards are first put in the order of their kinds, so that nothing depends on where
they really are.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import ZERO, apart, bit, inner, stay_apart
from nervure.engine.layout import (
    STRAND_MASKS,
    STRAND_NUMBERS,
    Mask,
    Number,
    Seat,
    SeatMask,
)
from nervure.engine.randomness import below
from nervure.engine.stocks import fill_secret
from nervure.engine.strands import record, record_masks, seat_masks, seat_place
from nervure.game.tables import MOST_KINDS, MOST_PART_CARDS, MOST_SECRET_TARGETS, Rule


@apart
def copy_state(rules, numbers, masks, to_numbers, to_masks):
    """Copy all that a game goes on from, not the record of who led when.

    In the copy every player knows the whole map: what others believe cannot be seen.
    """
    stay_apart()
    for place in range(Number.STRANDS):
        to_numbers[place] = numbers[place]
    for place in range(Mask.STRANDS):
        to_masks[place] = masks[place]
    for seat in range(rules[Rule.SEATS]):
        if numbers[seat_place(seat) + Seat.PARTLY] != 0:
            to_numbers[seat_place(seat) + Seat.PARTLY] = 0
            to_numbers[seat_place(seat) + Seat.JOINS] = -1
        strands = numbers[seat_place(seat) + Seat.STRANDS]
        start = record(seat, 0)
        for place in range(start, start + strands * STRAND_NUMBERS):
            to_numbers[place] = numbers[place]
        start = record_masks(seat, 0)
        for place in range(start, start + strands * STRAND_MASKS):
            to_masks[place] = masks[place]


@apart
def gather_unseen(rules, numbers, seat, cards, targets):
    """Write the part cards and target cards that a seat does not see, in order of kind.

    ``cards`` and ``targets`` also serve to count them: they need 64 and 128 places more
    than there can be cards. Gives how many there are of each.
    """
    stay_apart()
    counts = MOST_PART_CARDS
    for kind in range(MOST_KINDS):
        cards[counts + kind] = 0
    place = np.int64(numbers[Number.STOCK_TOP])
    for _ in range(numbers[Number.STOCK_SIZE]):
        cards[counts + numbers[Number.STOCK + place]] += 1
        place += 1
        if place == rules[Rule.PART_CARDS]:
            place = np.int64(0)
    many = np.int64(0)
    for kind in range(rules[Rule.HAND_KINDS]):
        found = np.int64(cards[counts + kind])
        for rival in range(rules[Rule.SEATS]):
            if rival != seat:
                found += numbers[Number.HAND + rival * MOST_KINDS + kind]
        for _ in range(found):
            cards[many] = kind
            many += 1

    counts = rules[Rule.TARGET_CARDS]
    for target in range(rules[Rule.TARGETS]):
        targets[counts + target] = 0
    place = np.int64(numbers[Number.TARGET_TOP])
    for _ in range(numbers[Number.TARGET_SIZE]):
        targets[counts + numbers[Number.TARGET_STOCK + place]] += 1
        place += 1
        if place == rules[Rule.TARGET_CARDS]:
            place = np.int64(0)
    if rules[Rule.SECRET_TARGETS] > 0:
        for rival in range(rules[Rule.SEATS]):
            for held in range(MOST_SECRET_TARGETS):
                target = numbers[seat_place(rival) + Seat.SECRET + held]
                if rival != seat and target >= 0:
                    targets[counts + target] += 1
    many_targets = np.int64(0)
    for target in range(rules[Rule.TARGETS]):
        for _ in range(targets[counts + target]):
            targets[many_targets] = target
            many_targets += 1
    return many, many_targets


@inner
def shuffle(cards, many, masks, stream):
    """Put the first `many` cards in an even order (Fisher and Yates), from a stream."""
    for last in range(many - 1, 0, -1):
        other = below(masks, stream, last + 1)
        card = cards[last]
        cards[last] = cards[other]
        cards[other] = card


@apart
def deal_unseen(rules, numbers, masks, seat, cards, many, targets, many_targets, chance, anew):
    """Deal the unseen cards and targets anew; `chance[0]` is a stream.

    ``anew``: else they are dealt in the order of the last deal.
    """
    stay_apart()
    if anew:
        shuffle(cards, many, chance, 0)
        given = np.int64(0)
    for rival in range(rules[Rule.SEATS]):
        if rival != seat:
            hand = Number.HAND + rival * MOST_KINDS
            for kind in range(rules[Rule.HAND_KINDS]):
                numbers[hand + kind] = 0
            held = ZERO
            for _ in range(numbers[seat_place(rival) + Seat.HAND_SIZE]):
                kind = np.int64(cards[given])
                given += 1
                numbers[hand + kind] += 1
                held |= bit(kind)
            masks[seat_masks(rival) + SeatMask.HAND] = held
    numbers[Number.STOCK_TOP] = 0
    for place in range(many - given):
        numbers[Number.STOCK + place] = cards[given + place]

    given = np.int64(0)
    if rules[Rule.SECRET_TARGETS] > 0:
        for rival in range(rules[Rule.SEATS]):
            if rival != seat:
                for held in range(MOST_SECRET_TARGETS):
                    place = seat_place(rival) + Seat.SECRET + held
                    if numbers[place] >= 0:
                        numbers[place] = targets[given]
                        given += 1
                fill_secret(numbers, masks, rival)
    numbers[Number.TARGET_TOP] = 0
    for place in range(many_targets - given):
        numbers[Number.TARGET_STOCK + place] = targets[given + place]
