"""A seat's strands in the state: look up, put down, take away. Kernel functions only.

They read the desk's strand tables and write the strand records, the loose cards and the
hand of one seat. Nothing is drawn, nothing is checked: what they are asked for is legal.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import ONE, ZERO, bit, highest, inner, lowest, nth_bit, popcount
from nervure.engine.desk import AHEAD, At
from nervure.engine.layout import (
    SEAT_MASKS,
    SEAT_NUMBERS,
    SEAT_STRANDS,
    STRAND_MASKS,
    STRAND_NUMBERS,
    Mask,
    Number,
    Seat,
    SeatMask,
)
from nervure.game.tables import MOST_KINDS, MOST_TIERS, Rule


@inner
def seat_place(seat):
    """Give the place of a seat's numbers."""
    return Number.SEATS + seat * SEAT_NUMBERS


@inner
def seat_masks(seat):
    """Give the place of a seat's masks."""
    return Mask.SEATS + seat * SEAT_MASKS


@inner
def half_numbers(rules):
    """Give where the spare half of the numbers begins, as `numbers_size` lays it out."""
    return Number.TARGET_STOCK + max(np.int64(1), rules[Rule.TARGET_CARDS])


@inner
def record(seat, strand):
    """Give the place of a strand record's numbers."""
    return Number.STRANDS + (seat * SEAT_STRANDS + strand) * STRAND_NUMBERS


@inner
def record_masks(seat, strand):
    """Give the place of a strand record's masks."""
    return Mask.STRANDS + (seat * SEAT_STRANDS + strand) * STRAND_MASKS


@inner
def whole(desk, table, place):
    """Give a whole number of one of the desk's tables."""
    return np.int64(desk.ints[desk.rules[table] + place])


@inner
def word(desk, table, place):
    """Give a word of one of the desk's tables."""
    return desk.words[desk.rules[table] + place]


@inner
def look_up(desk, code):
    """Give the dense id of a strand code, -1 if it is not joined."""
    bits = word(desk, At.BITS, code >> 6)
    place = np.uint64(code & 63)
    if (bits >> place) & ONE == ZERO:
        return -1
    return whole(desk, At.RANK, code >> 6) + popcount(bits & ((ONE << place) - ONE))


@inner
def is_joined(desk, code):
    """Tell whether a strand code is joined."""
    return (word(desk, At.BITS, code >> 6) >> np.uint64(code & 63)) & ONE != ZERO


@inner
def placed(desk, hand):
    """Give the placed kinds that a hand of kinds can put down."""
    kinds = hand & word(desk, At.PLAIN_KINDS, 0)
    wild = desk.rules[Rule.ANY_HAND_KIND]
    if wild >= 0 and (hand >> np.uint64(wild)) & ONE != ZERO:
        kinds |= word(desk, At.ANY_KINDS, 0)
    return kinds


@inner
def hand_kind(desk, kind):
    """Give the hand kind of a placed kind."""
    if kind >= desk.rules[Rule.FIRST_ANY_KIND]:
        return desk.rules[Rule.ANY_HAND_KIND]
    return np.int64(kind)


@inner
def kind_at(desk, code, tier, any_tiers):
    """Give the placed kind that a strand holds on a tier."""
    size = whole(desk, At.SIZES, tier)
    digit = (code // whole(desk, At.PLACES, tier)) % (size + 2)
    if digit <= size:
        return whole(desk, At.FIRST_OF_TIER, tier) + digit - 1
    if (any_tiers >> tier) & 1:
        return desk.rules[Rule.FIRST_ANY_KIND] + tier
    return whole(desk, At.WILD_OF_TIER, tier)


@inner
def card_at(desk, number, tier, any_tiers):
    """Give the placed kind that a strand holds on one of its tiers, by its dense id."""
    kind = whole(desk, At.CARDS, number * MOST_TIERS + tier)
    if kind >= 0:
        return kind
    if (any_tiers >> tier) & 1:
        return desk.rules[Rule.FIRST_ANY_KIND] + tier
    return whole(desk, At.WILD_OF_TIER, tier)


@inner
def count_cards(desk, number, any_tiers, counts, start, many):
    """Add so many of each card of a strand, by its dense id, to counts by hand kind."""
    tiers = np.uint64(whole(desk, At.TIERS, number))
    while tiers != ZERO:
        kind = card_at(desk, number, lowest(tiers), any_tiers)
        counts[start + hand_kind(desk, kind)] += many
        tiers &= tiers - ONE


@inner
def tiers_of_code(desk, code):
    """Give the tiers that a code holds, as bits."""
    tiers = 0
    for tier in range(desk.rules[Rule.TIERS]):
        if (code // whole(desk, At.PLACES, tier)) % (whole(desk, At.SIZES, tier) + 2) != 0:
            tiers |= 1 << tier
    return tiers


@inner
def add_to_hand(numbers, masks, seat, kind):
    """Put a card into a hand."""
    numbers[Number.HAND + seat * MOST_KINDS + kind] += 1
    numbers[seat_place(seat) + Seat.HAND_SIZE] += 1
    masks[seat_masks(seat) + SeatMask.HAND] |= bit(kind)


@inner
def take_from_hand(numbers, masks, seat, kind):
    """Take a card out of a hand."""
    place = Number.HAND + seat * MOST_KINDS + kind
    numbers[place] -= 1
    numbers[seat_place(seat) + Seat.HAND_SIZE] -= 1
    if numbers[place] == 0:
        masks[seat_masks(seat) + SeatMask.HAND] &= ~bit(kind)


@inner
def table_changed(numbers, seat):
    """Forget the counts that a change of a seat's table undoes."""
    numbers[seat_place(seat) + Seat.JOINS] = -1
    numbers[seat_place(seat) + Seat.CLAIMABLE] = -1


@inner
def joins_of_loose(desk, numbers, masks, seat, kind):
    """Count the joins of a loose card with what else lies before a seat."""
    joins = popcount(word(desk, At.KIND_ATTACH, kind) & masks[seat_masks(seat) + SeatMask.LOOSE])
    for strand in range(numbers[seat_place(seat) + Seat.STRANDS]):
        if numbers[record(seat, strand) + 2] < 0:
            fits = masks[record_masks(seat, strand)]
            joins += np.int64((fits >> np.uint64(kind)) & ONE)
    return joins


@inner
def add_loose(desk, numbers, masks, seat, kind):
    """Put a loose card before a seat."""
    place = Number.LOOSE + seat * MOST_KINDS + kind
    numbers[place] += 1
    if numbers[place] == 1:
        joins = joins_of_loose(desk, numbers, masks, seat, kind)
        numbers[seat_place(seat) + Seat.JOINABLE] += joins
        table_changed(numbers, seat)
        masks[seat_masks(seat) + SeatMask.LOOSE] |= bit(kind)


@inner
def take_loose(desk, numbers, masks, seat, kind):
    """Take a loose card away from a seat."""
    place = Number.LOOSE + seat * MOST_KINDS + kind
    numbers[place] -= 1
    if numbers[place] == 0:
        masks[seat_masks(seat) + SeatMask.LOOSE] &= ~bit(kind)
        joins = joins_of_loose(desk, numbers, masks, seat, kind)
        numbers[seat_place(seat) + Seat.JOINABLE] -= joins
        table_changed(numbers, seat)


@inner
def least_claim(desk, numbers, seat):
    """Give the fewest cards with which a seat may claim."""
    least = desk.rules[Rule.CLAIM_MINIMUM] - numbers[seat_place(seat) + Seat.SHORT_CLAIM]
    return max(least, 1)


@inner
def fill_masks(desk, numbers, masks, seat, strand):
    """Write a strand record's masks from its key and ids."""
    place = record(seat, strand)
    into = record_masks(seat, strand)
    number = numbers[place + 1]
    end = numbers[place + 2]
    if end < 0:
        end = number
        masks[into] = word(desk, At.ATTACH, number)
    else:
        # Each side grows by itself, and nothing goes between the two.
        last = highest(np.uint64(whole(desk, At.TIERS, number)))
        first = lowest(np.uint64(whole(desk, At.TIERS, end)))
        masks[into] = (word(desk, At.ATTACH, number) & word(desk, At.BELOW, last)) | (
            word(desk, At.ATTACH, end) & word(desk, At.ABOVE, first)
        )
        if desk.rules[Rule.INSERT] == 0:
            masks[into] &= word(
                desk, At.BELOW, +lowest(np.uint64(whole(desk, At.TIERS, number)))
            ) | (word(desk, At.ABOVE, +highest(np.uint64(whole(desk, At.TIERS, end)))))
    if popcount(np.uint64(whole(desk, At.TIERS, end))) >= least_claim(desk, numbers, seat):
        masks[into + 1] = word(desk, At.CLAIMS, AHEAD * end)
        masks[into + 2] = word(desk, At.CLAIMS, AHEAD * end + 1)
    else:
        masks[into + 1] = ZERO
        masks[into + 2] = ZERO


@inner
def tiers_may_join(desk, tiers, others):
    """Tell whether strands on such tiers may be joined, whatever their cards."""
    if tiers & others != ZERO:
        return False
    return (
        desk.rules[Rule.INSERT] != 0
        or highest(tiers) < lowest(others)
        or highest(others) < lowest(tiers)
    )


@inner
def joins_of_strand(desk, numbers, masks, seat, code, number):
    """Count the joins of a strand without a gap with what else lies before a seat."""
    joins = popcount(word(desk, At.ATTACH, number) & masks[seat_masks(seat) + SeatMask.LOOSE])
    tiers = np.uint64(whole(desk, At.TIERS, number))
    for strand in range(numbers[seat_place(seat) + Seat.STRANDS]):
        place = record(seat, strand)
        if numbers[place + 2] < 0:
            others = np.uint64(whole(desk, At.TIERS, numbers[place + 1]))
            if tiers_may_join(desk, tiers, others):
                if is_joined(desk, code + np.int64(numbers[place] >> 9)):
                    joins += 1
    return joins


@inner
def add_strand(desk, numbers, masks, seat, code, gap, any_tiers, number):
    """Put a strand of two or more cards before a seat, in its order among the others.

    ``number``: its dense id if it has no gap.
    """
    key = (code << 9) | (gap << 6) | any_tiers
    counter = seat_place(seat) + Seat.STRANDS
    strand = np.int64(numbers[counter])
    while strand > 0 and numbers[record(seat, strand - 1)] > key:
        strand -= 1
    if strand > 0 and numbers[record(seat, strand - 1)] == key:
        numbers[record(seat, strand - 1) + 3] += 1
        return
    table_changed(numbers, seat)
    if gap == 0:
        joins = joins_of_strand(desk, numbers, masks, seat, code, number)
        numbers[seat_place(seat) + Seat.JOINABLE] += joins
    for later in range(numbers[counter], strand, -1):
        for column in range(STRAND_NUMBERS):
            numbers[record(seat, later) + column] = numbers[record(seat, later - 1) + column]
        for column in range(STRAND_MASKS):
            masks[record_masks(seat, later) + column] = masks[
                record_masks(seat, later - 1) + column
            ]
    numbers[counter] += 1
    place = record(seat, strand)
    numbers[place] = key
    if gap == 0:
        numbers[place + 1] = number
        numbers[place + 2] = -1
    else:
        numbers[place + 1] = look_up(desk, code % whole(desk, At.PLACES, gap))
        numbers[place + 2] = look_up(desk, code - code % whole(desk, At.PLACES, gap))
    numbers[place + 3] = 1
    fill_masks(desk, numbers, masks, seat, strand)


@inner
def take_strand(desk, numbers, masks, seat, strand):
    """Take one strand of two or more cards away from a seat."""
    place = record(seat, strand)
    numbers[place + 3] -= 1
    if numbers[place + 3] > 0:
        return
    table_changed(numbers, seat)
    code, number, gap = np.int64(numbers[place]) >> 9, np.int64(numbers[place + 1]), False
    if numbers[place + 2] >= 0:
        gap = True
    counter = seat_place(seat) + Seat.STRANDS
    numbers[counter] -= 1
    for later in range(strand, numbers[counter]):
        for column in range(STRAND_NUMBERS):
            numbers[record(seat, later) + column] = numbers[record(seat, later + 1) + column]
        for column in range(STRAND_MASKS):
            masks[record_masks(seat, later) + column] = masks[
                record_masks(seat, later + 1) + column
            ]

    if not gap:
        joins = joins_of_strand(desk, numbers, masks, seat, code, number)
        numbers[seat_place(seat) + Seat.JOINABLE] -= joins


@inner
def loose_kind(numbers, masks, seat, strand):
    """Give the placed kind of a strand that is a loose card."""
    loose = masks[seat_masks(seat) + SeatMask.LOOSE]
    return nth_bit(loose, strand - numbers[seat_place(seat) + Seat.STRANDS])


@inner
def take_up(desk, numbers, masks, seat, strand):
    """Take a strand (or loose card) off the table; gives code, gap tier, tiers of wild:any."""
    if strand < numbers[seat_place(seat) + Seat.STRANDS]:
        key = np.int64(numbers[record(seat, strand)])
        take_strand(desk, numbers, masks, seat, strand)
        return key >> 9, (key >> 6) & 7, key & 63
    kind = loose_kind(numbers, masks, seat, strand)
    take_loose(desk, numbers, masks, seat, kind)
    return whole(desk, At.KIND_CODE, kind), np.int64(0), any_tier(desk, kind)


@inner
def any_tier(desk, kind):
    """Give the tier that a placed wild:any holds, as a bit; 0 for another kind."""
    if kind >= desk.rules[Rule.FIRST_ANY_KIND]:
        return np.int64(1) << whole(desk, At.KIND_TIER, kind)
    return np.int64(0)


@inner
def put_down(desk, numbers, masks, seat, code, gap, any_tiers):
    """Put a strand before a seat; one of a single card becomes a loose card."""
    number = np.int64(-1)
    if gap == 0:
        number = np.int64(look_up(desk, code))
        tiers = np.uint64(whole(desk, At.TIERS, number))
        if tiers & (tiers - ONE) == ZERO:
            kind = card_at(desk, number, lowest(tiers), any_tiers)
            add_loose(desk, numbers, masks, seat, kind)
            return
    add_strand(desk, numbers, masks, seat, code, gap, any_tiers, number)


@inner
def next_seat(desk, seat, on):
    """Give the seat so many places on."""
    seat += on
    seats = desk.rules[Rule.SEATS]
    return seat - seats if seat >= seats else seat


@inner
def strand_attach(desk, numbers, masks, seat, strand):
    """Give the placed kinds that a strand (or loose card) takes in."""
    if strand < numbers[seat_place(seat) + Seat.STRANDS]:
        return masks[record_masks(seat, strand)]
    return word(desk, At.KIND_ATTACH, loose_kind(numbers, masks, seat, strand))
