"""What strands and cards are worth to a weigher: values remembered, gains worked out.

``memory`` holds for each player of a line-up, from place ``at`` on: its weights, then `Kept`,
then a value for each strand of the design. Values are worked out once and remembered until
the targets that they depend on change. What the strands on the table are is set out in the
spare half of the state for one decision. Kernel functions only; `features` says what counts.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import ONE, ZERO, apart, bit, inner, lowest, popcount, stay_apart
from nervure.engine.desk import AHEAD, At
from nervure.engine.features import FEATURES, Feature, Kept
from nervure.engine.greedy import nearer, new_code
from nervure.engine.layout import HALF_MASKS, Mask, Number, Seat, SeatMask
from nervure.engine.line_up import LineUp
from nervure.engine.offers import offered_kinds_of
from nervure.engine.strands import (
    half_numbers,
    hand_kind,
    look_up,
    next_seat,
    record,
    record_masks,
    seat_masks,
    seat_place,
    whole,
    word,
)
from nervure.game.tables import (
    LOOK_AHEAD,
    MOST_KINDS,
    POINTS_COLUMNS,
    Rule,
)

NONE = np.int64(-(1 << 40))
LOW_HALF = np.int64(0xFFFFFFFF)
THOUSAND = 1000
# In the spare half of the numbers: values, codes and gap tiers of the own strands.
SPARE_VALUES = Number.STRANDS
SPARE_CODES = 300
SPARE_GAPS = 600
# In the spare half of the masks, after two words of targets: see `look_at_rivals`.
SPARE_RIVALS = 2
SPARE_FITS = Mask.STRANDS


@inner
def best_points(desk, low, high, cards):
    """Give the most points that a claim with so many cards of one of some targets pays."""
    column = min(cards, np.int64(POINTS_COLUMNS - 1))
    best = np.int64(0)
    while low != ZERO:
        target = lowest(low)
        low &= low - ONE
        best = max(best, whole(desk, At.POINTS, target * POINTS_COLUMNS + column))
    while high != ZERO:
        target = 64 + lowest(high)
        high &= high - ONE
        best = max(best, whole(desk, At.POINTS, target * POINTS_COLUMNS + column))
    return best


@apart
def strand_value(desk, memory, at, number):
    """Work out the value of a strand by its dense id, in thousandths, and remember it."""
    stay_apart()
    kept = at + FEATURES
    low, high = np.uint64(memory[kept + Kept.LOW]), np.uint64(memory[kept + Kept.HIGH])
    near_low = np.uint64(memory[kept + Kept.NEAR_LOW])
    near_high = np.uint64(memory[kept + Kept.NEAR_HIGH])
    least = memory[kept + Kept.LEAST]
    cards = popcount(np.uint64(whole(desk, At.TIERS, number)))
    value = cards * memory[at + Feature.LENGTH]
    place = desk.rules[At.CLAIMS] + AHEAD * number
    for ahead in range(LOOK_AHEAD + 1):
        found = desk.words[place + 2 * ahead] & low
        more = desk.words[place + 2 * ahead + 1] & high
        if (found | more) != ZERO and (ahead > 0 or cards >= least):
            value += memory[at + Feature.CLAIM_NOW + ahead]
            points = best_points(desk, found, more, cards + ahead)
            value += points * memory[at + Feature.CLAIM_POINTS]
            others = popcount(found) + popcount(more) - 1
            value += others * memory[at + Feature.CLAIM_OTHERS]
            if ((found & ~near_low) | (more & ~near_high)) == ZERO:
                value += memory[at + Feature.CLAIM_CONTESTED]
            break
    last = place + 2 * LOOK_AHEAD
    future = popcount(desk.words[last]) + popcount(desk.words[last + 1])
    value += future * memory[at + Feature.FUTURE]
    place = desk.rules[At.FULL] + AHEAD * number
    for ahead in range(LOOK_AHEAD + 1):
        found = desk.words[place + 2 * ahead] & low
        more = desk.words[place + 2 * ahead + 1] & high
        if (found | more) != ZERO and (ahead > 0 or cards >= least):
            value += memory[at + Feature.FULL_NOW + ahead]
            points = best_points(desk, found, more, cards + ahead)
            value += points * memory[at + Feature.FULL_POINTS]
            break
    memory[kept + Kept.SIZE + number] = (memory[kept + Kept.STAMP] << 32) | (value & LOW_HALF)
    return value


@apart
def value_tried(desk, memory, at, number, more):
    """Give the value that a strand would have with so many more cards that it does not take.

    It is taken to lack one card fewer for each of them, but one at least.
    """
    stay_apart()
    kept = at + FEATURES
    low, high = np.uint64(memory[kept + Kept.LOW]), np.uint64(memory[kept + Kept.HIGH])
    cards = popcount(np.uint64(whole(desk, At.TIERS, number)))
    value = value_of(desk, memory, at, number) + more * memory[at + Feature.LENGTH]
    for full in range(2):
        place = desk.rules[At.CLAIMS] + AHEAD * number
        weights = np.int64(at + Feature.CLAIM_NOW)
        if full == 1:
            place = desk.rules[At.FULL] + AHEAD * number
            weights = np.int64(at + Feature.FULL_NOW)
        for ahead in range(LOOK_AHEAD + 1):
            found = (desk.words[place] & low) | (desk.words[place + 1] & high)
            place += 2
            if found != ZERO and (ahead > 0 or cards >= memory[kept + Kept.LEAST]):
                value += memory[weights + nearer(np.int64(ahead), more)] - memory[weights + ahead]
                break
    return value


@inner
def value_of(desk, memory, at, number):
    """Give the value of a strand by its dense id, to the seat that memory is now about."""
    kept = at + FEATURES
    found = memory[kept + Kept.SIZE + number]
    if (found >> 32) == memory[kept + Kept.STAMP]:
        return np.int64(np.int32(found & LOW_HALF))
    return strand_value(desk, memory, at, number)


@apart
def look_at_rivals(desk, numbers, masks, seat):
    """Write to the spare half what rivals' strands are near to, and take in.

    Two words of targets that one stands at most one card from; a word of placed kinds a
    rival.
    """
    stay_apart()
    spare = HALF_MASKS
    low, high = ZERO, ZERO
    for on in range(1, desk.rules[Rule.SEATS]):
        rival = next_seat(desk, seat, on)
        fits = ZERO
        for strand in range(numbers[seat_place(rival) + Seat.STRANDS]):
            place = record(rival, strand)
            number = np.int64(numbers[place + 2])
            if number < 0:
                number = np.int64(numbers[place + 1])
            low |= word(desk, At.CLAIMS, AHEAD * number + 2)
            high |= word(desk, At.CLAIMS, AHEAD * number + 3)
            fits |= masks[record_masks(rival, strand)]
        rest = masks[seat_masks(rival) + SeatMask.LOOSE]
        while rest != ZERO:
            kind = lowest(rest)
            rest &= rest - ONE
            number = whole(desk, At.KIND_ID, kind)
            low |= word(desk, At.CLAIMS, AHEAD * number + 2)
            high |= word(desk, At.CLAIMS, AHEAD * number + 3)
            fits |= word(desk, At.KIND_ATTACH, kind)
        masks[spare + SPARE_RIVALS + on] = fits
    masks[spare] = low
    masks[spare + 1] = high


@inner
def rivals_that_fit(desk, masks, kind):
    """Count the rivals that have a strand which takes a placed kind in."""
    found = np.int64(0)
    place = HALF_MASKS + SPARE_RIVALS
    for on in range(1, desk.rules[Rule.SEATS]):
        if (masks[place + on] >> np.uint64(kind)) & ONE != ZERO:
            found += 1
    return found


@inner
def learn_line_up(desk, memory, line_up):
    """Write the weights of a line-up's players to memory and forget all values."""
    each = desk.rules[At.MEMORY]
    for player in range(desk.rules[Rule.SEATS]):
        at = player * each
        for feature in range(FEATURES):
            memory[at + feature] = line_up[LineUp.WEIGHTS + player * FEATURES + feature]
        memory[at + FEATURES + Kept.STAMP] += 1


@inner
def remember(memory, place, value):
    """Write what the values depend on; tells whether it is new."""
    if memory[place] == value:
        return False
    memory[place] = value
    return True


@apart
def keep_values(desk, numbers, masks, memory, at, seat, least):
    """Write what values depend on to memory, and what the seat's strands are to the spare half.

    What is remembered of other targets is forgotten by a new stamp. Gives how many strands.
    """
    stay_apart()
    mine = seat_masks(seat)
    spare = HALF_MASKS
    kept = at + FEATURES
    look_at_rivals(desk, numbers, masks, seat)
    new = remember(memory, kept + Kept.LEAST, least)
    for half in range(2):
        targets = masks[Mask.OPEN + half] | masks[mine + SeatMask.SECRET + half]
        new |= remember(memory, kept + Kept.LOW + half, np.int64(targets))
        near = masks[spare + half] & targets
        new |= remember(memory, kept + Kept.NEAR_LOW + half, np.int64(near))
    if new:
        memory[kept + Kept.STAMP] += 1
    strand = np.int64(0)
    rest = masks[mine + SeatMask.LOOSE]
    strands = np.int64(numbers[seat_place(seat) + Seat.STRANDS])
    values = half_numbers(desk.rules) + SPARE_VALUES
    while strand < strands or rest != ZERO:
        if strand < strands:
            key = np.int64(numbers[record(seat, strand)])
            code, gap = key >> 9, (key >> 6) & 7
            if gap > 0:
                code -= code % whole(desk, At.PLACES, gap)
        else:
            kind = lowest(rest)
            rest &= rest - ONE
            code, gap = whole(desk, At.KIND_CODE, kind), np.int64(0)
        fits = offered_kinds_of(desk, numbers, masks, seat, strand)
        masks[spare + SPARE_FITS + strand] = fits
        numbers[values + strand] = value_of(desk, memory, at, look_up(desk, code))
        numbers[values + SPARE_CODES + strand] = code
        numbers[values + SPARE_GAPS + strand] = gap
        strand += 1
    return strand


@inner
def own_strand(desk, numbers, strand):
    """Give the code of an own strand's claiming side, its gap tier and its value."""
    place = half_numbers(desk.rules) + SPARE_VALUES + strand
    return (
        np.int64(numbers[place + SPARE_CODES]),
        np.int64(numbers[place + SPARE_GAPS]),
        np.int64(numbers[place]),
    )


@inner
def own_fits(masks, strand):
    """Give the placed kinds that an own strand takes in."""
    return masks[HALF_MASKS + SPARE_FITS + strand]


@inner
def gain_of(desk, memory, at, code, gap, before, kind, others):
    """Give the gain of a placed kind taken in by a strand, with what may follow it.

    ``code``, ``gap``, ``before``: the strand's claiming side and value, 0 for a new loose
    card; ``others``: what else the hand can put down.
    """
    after = new_code(desk, code, gap, kind)
    number = look_up(desk, after)
    if number < 0:
        value = value_tried(desk, memory, at, np.int64(look_up(desk, code)), np.int64(1))
        return value - before + value * memory[at + Feature.AFTER] // THOUSAND
    value = value_of(desk, memory, at, number)
    gain = value - before + value * memory[at + Feature.AFTER] // THOUSAND
    follow = np.int64(memory[at + Feature.FOLLOW])
    if follow != 0:
        most = np.int64(0)
        rest = word(desk, At.ATTACH, number) & others
        while rest != ZERO:
            other = lowest(rest)
            rest &= rest - ONE
            longer = look_up(desk, after + whole(desk, At.KIND_CODE, other))
            if longer >= 0:
                next_value = value_of(desk, memory, at, longer)
                most = max(most, next_value - value)
        gain += most * follow // THOUSAND
    return gain


@apart
def gain_with(desk, numbers, masks, memory, at, strand, kind, others):
    """Give the gain of a placed kind taken in by an own strand; -1 for a new loose card."""
    stay_apart()
    code, gap, before = np.int64(0), np.int64(0), np.int64(0)
    if strand >= 0:
        code, gap, before = own_strand(desk, numbers, strand)
    return gain_of(desk, memory, at, code, gap, before, kind, others)


@apart
def best_gain(desk, numbers, masks, memory, at, many, kind, others):
    """Give the largest gain of a placed kind: laid, or taken in by an own strand."""
    stay_apart()
    best = NONE
    for strand in range(-1, many):
        code, gap, before = np.int64(0), np.int64(0), np.int64(0)
        if strand >= 0:
            if (own_fits(masks, strand) >> np.uint64(kind)) & ONE == ZERO:
                continue
            code, gap, before = own_strand(desk, numbers, strand)
        gain = gain_of(desk, memory, at, code, gap, before, kind, others)
        if strand < 0:
            gain += memory[at + Feature.LAY]
        best = max(best, gain)
    return best


@inner
def others_in_hand(desk, numbers, seat, kinds, kind):
    """Give what a hand can put down besides one card of a placed kind."""
    held = hand_kind(desk, kind)
    if numbers[Number.HAND + seat * MOST_KINDS + held] > 1:
        return kinds
    if kind >= desk.rules[Rule.FIRST_ANY_KIND]:
        return kinds & ~word(desk, At.ANY_KINDS, 0)
    return kinds & ~bit(kind)
