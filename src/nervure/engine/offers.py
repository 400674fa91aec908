"""The moves that a seat is offered: the legal ones, or what its player would try.

A seat whose player knows the whole map is offered the legal moves. Another one is offered
draws, lays, gaps and bonuses as they are legal, and attaches, joins, takes and claims as it
believes, attempts among them (`knowledge`). Counts and places stand as `moves` has them.
Kernel functions only.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import ONE, ZERO, apart, inner, nth_bit, popcount, stay_apart
from nervure.engine.desk import AHEAD, At
from nervure.engine.knowledge import offer_of, tries_join, write_offers
from nervure.engine.layout import Mask, MoveNumber, Number, Seat, SeatMask
from nervure.engine.moves import (
    count_draws,
    count_moves,
    joins_strand,
    nth_move,
    strand_gap,
    write_counts,
)
from nervure.engine.strands import (
    loose_kind,
    next_seat,
    placed,
    record,
    seat_masks,
    seat_place,
    strand_attach,
    word,
)
from nervure.game.tables import Draw, Rule


@inner
def count_offers(desk, numbers, masks):
    """Write the counts of the moves offered; gives their sum, 0 if the turn closes by itself."""
    seat = np.int64(numbers[Number.SEAT])
    if numbers[Number.ROBBED] < 0 and numbers[seat_place(seat) + Seat.PARTLY] != 0:
        return count_believed(desk, numbers, masks, seat)
    return np.int64(count_moves(desk, numbers, masks))


@inner
def nth_offer(desk, numbers, masks, nth):
    """Write the nth move of the list (from 0) to CHOSEN: its number, its arguments."""
    seat = np.int64(numbers[Number.SEAT])
    if (
        numbers[Number.ROBBED] < 0
        and numbers[seat_place(seat) + Seat.PARTLY] != 0
        and nth_believed(desk, numbers, masks, seat, nth)
    ):
        return
    nth_move(desk, numbers, masks, nth)


@apart
def count_believed(desk, numbers, masks, seat):
    """Write the counts for a seat that knows only a part of the map; gives their sum."""
    stay_apart()
    for number in range(15):
        numbers[Number.COUNTS + number] = 0
    place, mine = seat_place(seat), seat_masks(seat)
    strands = np.int64(numbers[place + Seat.STRANDS])
    hand = masks[mine + SeatMask.HAND]
    loose = masks[mine + SeatMask.LOOSE]
    many = strands + popcount(loose)
    write_offers(desk, numbers, masks, seat, many)
    draws = np.int64(0)
    if numbers[Number.DRAWS] > 0 and numbers[Number.BEGAN] == 0:
        draws += count_draws(desk, numbers, masks, seat, strands, hand, loose)
        if desk.rules[Rule.DRAWS] & Draw.TAKE_LOOSE and numbers[Number.PLAYS] > 0:
            found = count_takes(desk, numbers, masks, seat, many)
            draws += found - numbers[Number.COUNTS + MoveNumber.TAKE_LOOSE]
            numbers[Number.COUNTS + MoveNumber.TAKE_LOOSE] = found
    kinds = placed(desk, hand)
    low = masks[Mask.OPEN] | masks[mine + SeatMask.SECRET]
    high = masks[Mask.OPEN + 1] | masks[mine + SeatMask.SECRET + 1]
    attaches, claims, joins, gaps = np.int64(0), np.int64(0), np.int64(0), np.int64(0)
    for strand in range(many):
        offer = offer_of(strand)
        attaches += popcount(masks[offer] & kinds)
        claims += popcount(masks[offer + 1] & low) + popcount(masks[offer + 2] & high)
    if numbers[place + Seat.JOINS] < 0:
        for strand in range(many):
            for later in range(strand + 1, many):
                if tries_join(desk, numbers, masks, seat, strand, later):
                    joins += 1
        numbers[place + Seat.JOINS] = joins
    joins = np.int64(numbers[place + Seat.JOINS])
    variant = desk.rules[Rule.VARIANT_KIND]
    if variant >= 0 and (hand >> np.uint64(variant)) & ONE != ZERO:
        for strand in range(many):
            gaps += popcount(strand_gap(desk, numbers, masks, seat, strand) & kinds)
    return np.int64(
        write_counts(desk, numbers, masks, seat, kinds, draws, attaches, gaps, joins, claims)
    )


@inner
def loose_of_rival(desk, numbers, masks, seat, on):
    """Give the loose cards of the rival so many seats on, none if they are guarded."""
    rival = next_seat(desk, seat, on)
    if numbers[seat_place(rival) + Seat.GUARDED] != 0:
        return ZERO
    return masks[seat_masks(rival) + SeatMask.LOOSE]


@inner
def count_takes(desk, numbers, masks, seat, many):
    """Count the takes that are offered."""
    found = np.int64(0)
    for on in range(1, desk.rules[Rule.SEATS]):
        theirs = loose_of_rival(desk, numbers, masks, seat, on)
        for strand in range(many):
            found += popcount(masks[offer_of(strand)] & theirs)
    return found


@apart
def nth_believed(desk, numbers, masks, seat, nth):
    """Write the nth move to CHOSEN if belief has a say in it; tells whether it was."""
    stay_apart()
    number = 0
    while nth >= numbers[Number.COUNTS + number]:
        nth -= numbers[Number.COUNTS + number]
        number += 1
    mine = seat_masks(seat)
    strands = np.int64(numbers[seat_place(seat) + Seat.STRANDS])
    many = strands + popcount(masks[mine + SeatMask.LOOSE])
    chosen = Number.CHOSEN
    for column in range(1, 4):
        numbers[chosen + column] = 0
    numbers[chosen] = number
    if number == MoveNumber.ATTACH:
        kinds = placed(desk, masks[mine + SeatMask.HAND])
        for strand in range(many):
            found = masks[offer_of(strand)] & kinds
            if nth < popcount(found):
                numbers[chosen + 1] = strand
                numbers[chosen + 2] = nth_bit(found, nth)
                return True
            nth -= popcount(found)
    elif number == MoveNumber.CLAIM:
        for strand in range(many):
            for half in range(2):
                found = masks[offer_of(strand) + 1 + half]
                found &= masks[Mask.OPEN + half] | masks[mine + SeatMask.SECRET + half]
                if nth < popcount(found):
                    numbers[chosen + 1] = strand
                    numbers[chosen + 2] = 64 * half + nth_bit(found, nth)
                    return True
                nth -= popcount(found)
    elif number == MoveNumber.JOIN:
        for strand in range(many):
            for later in range(strand + 1, many):
                if tries_join(desk, numbers, masks, seat, strand, later):
                    if nth == 0:
                        numbers[chosen + 1] = strand
                        numbers[chosen + 2] = later
                        return True
                    nth -= 1
    elif number == MoveNumber.TAKE_LOOSE:
        for on in range(1, desk.rules[Rule.SEATS]):
            theirs = loose_of_rival(desk, numbers, masks, seat, on)
            for strand in range(many):
                found = masks[offer_of(strand)] & theirs
                if nth < popcount(found):
                    numbers[chosen + 1] = on
                    numbers[chosen + 2] = strand
                    numbers[chosen + 3] = nth_bit(found, nth)
                    return True
                nth -= popcount(found)
    return False


# What styles ask: by the rules, or as the seat to move believes.


@inner
def offered_kinds_of(desk, numbers, masks, seat, strand):
    """Give the placed kinds that an own strand takes in, as far as its player would try."""
    if numbers[seat_place(seat) + Seat.PARTLY] != 0:
        return masks[offer_of(strand)]
    return strand_attach(desk, numbers, masks, seat, strand)


@inner
def offered_claims_of(desk, numbers, masks, seat, strand, number, half):
    """Give the targets, of one word, that an own strand of dense id `number` may claim."""
    if numbers[seat_place(seat) + Seat.PARTLY] != 0:
        return masks[offer_of(strand) + 1 + half]
    return word(desk, At.CLAIMS, AHEAD * number + half)


@inner
def offers_join(desk, numbers, masks, seat, one, other):
    """Tell whether two own strands, the earlier one first, may be joined."""
    if numbers[seat_place(seat) + Seat.PARTLY] != 0:
        return tries_join(desk, numbers, masks, seat, one, other)
    strands = numbers[seat_place(seat) + Seat.STRANDS]
    if other < strands:
        return joins_strand(desk, numbers, seat, one, other)
    if one < strands and numbers[record(seat, one) + 2] >= 0:
        return False
    kind = loose_kind(numbers, masks, seat, other)
    fits = strand_attach(desk, numbers, masks, seat, one)
    return (fits >> np.uint64(kind)) & ONE != ZERO
