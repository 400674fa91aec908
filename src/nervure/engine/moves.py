"""The legal moves of a decision: how many of each number, and which one is the nth.

Kernel functions only. `count_moves` writes the counts by move number into the state; the
canonical list of docs/rules.md is never made, `nth_move` finds one entry of it.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import ONE, ZERO, bit, highest, inner, lowest, nth_bit, popcount
from nervure.engine.bonuses import COUNT_ONLY, count_uses
from nervure.engine.desk import AHEAD, At
from nervure.engine.layout import Mask, MoveNumber, Number, Seat, SeatMask
from nervure.engine.strands import (
    hand_kind,
    is_joined,
    least_claim,
    loose_kind,
    next_seat,
    placed,
    record,
    record_masks,
    seat_masks,
    seat_place,
    strand_attach,
    tiers_may_join,
    whole,
    word,
)
from nervure.game.tables import Draw, MayPass, Rule


@inner
def strand_gap(desk, numbers, masks, seat, strand):
    """Give the placed kinds that a strand takes in only over a gap; none if it has one."""
    if strand < numbers[seat_place(seat) + Seat.STRANDS]:
        place = record(seat, strand)
        if numbers[place + 2] >= 0:
            return ZERO
        return gap_kinds(desk, numbers[place + 1])
    return gap_kinds(desk, whole(desk, At.KIND_ID, loose_kind(numbers, masks, seat, strand)))


@inner
def gap_kinds(desk, number):
    """Give the placed kinds beyond a strand's ends that it refuses, by dense id."""
    tiers = np.uint64(whole(desk, At.TIERS, number))
    beyond = word(desk, At.BELOW, lowest(tiers)) | word(desk, At.ABOVE, highest(tiers))
    return beyond & ~word(desk, At.ATTACH, number)


@inner
def joins_strand(desk, numbers, seat, first, second):
    """Tell whether two strands of two or more cards can be joined."""
    one, other = record(seat, first), record(seat, second)
    if numbers[one + 2] >= 0 or numbers[other + 2] >= 0:
        return False
    tiers = np.uint64(whole(desk, At.TIERS, numbers[one + 1]))
    others = np.uint64(whole(desk, At.TIERS, numbers[other + 1]))
    if not tiers_may_join(desk, tiers, others):
        return False
    return is_joined(desk, np.int64(numbers[one] >> 9) + (numbers[other] >> 9))


@inner
def count_draws(desk, numbers, masks, seat, strands, hand, loose):
    """Write the counts of the draws; gives their sum."""
    counts = Number.COUNTS
    allowed = desk.rules[Rule.DRAWS]
    stock = numbers[Number.STOCK_SIZE]
    total = 0
    if allowed & Draw.STOCK and stock > 0:
        numbers[counts + MoveNumber.DRAW_STOCK] = 1
        total += 1
    if allowed & Draw.DISPLAY:
        found = popcount(masks[Mask.DISPLAY])
        numbers[counts + MoveNumber.DRAW_DISPLAY] = found
        total += found
    if allowed & Draw.SWAP and stock > 0:
        found = popcount(hand)
        numbers[counts + MoveNumber.SWAP] = found
        total += found
    if allowed & Draw.TAKE_LOOSE and numbers[Number.PLAYS] > 0:
        found = count_takes(desk, numbers, masks, seat, strands, loose)
        numbers[counts + MoveNumber.TAKE_LOOSE] = found
        total += found
    if allowed & Draw.LIFT and (stock > 0 or numbers[seat_place(seat) + Seat.LATE_LIFTS] > 0):
        found = 2 * strands + popcount(loose)
        numbers[counts + MoveNumber.LIFT] = found
        total += found
    return total


@inner
def count_takes(desk, numbers, masks, seat, strands, loose):
    """Count the takes: pairs of an own strand and a rival's loose card that it takes in.

    How many rivals have a loose card of a kind is added up for all kinds at once, as a
    number in base two with a word for each digit.
    """
    ones, twos, fours = ZERO, ZERO, ZERO
    for on in range(1, desk.rules[Rule.SEATS]):
        rival = next_seat(desk, seat, on)
        if numbers[seat_place(rival) + Seat.GUARDED] == 0:
            theirs = masks[seat_masks(rival) + SeatMask.LOOSE]
            more = ones & theirs
            ones ^= theirs
            fours |= twos & more
            twos ^= more
    found = 0
    if ones | twos | fours == ZERO:
        return found
    for strand in range(strands):
        fits = masks[record_masks(seat, strand)]
        found += popcount(fits & ones) + 2 * popcount(fits & twos) + 4 * popcount(fits & fours)
    while loose != ZERO:
        fits = word(desk, At.KIND_ATTACH, lowest(loose))
        loose &= loose - ONE
        found += popcount(fits & ones) + 2 * popcount(fits & twos) + 4 * popcount(fits & fours)
    return found


@inner
def count_attaches(desk, masks, seat, strands, loose, kinds):
    """Count the pairs of an own strand and a placed kind of the hand that it takes in."""
    attaches = 0
    for strand in range(strands):
        attaches += popcount(masks[record_masks(seat, strand)] & kinds)
    while loose != ZERO:
        attaches += popcount(word(desk, At.KIND_ATTACH, lowest(loose)) & kinds)
        loose &= loose - ONE
    return attaches


@inner
def count_claims(desk, numbers, masks, seat, strands, loose):
    """Count the claims; they change only when the seat's table or targets do."""
    mine = seat_masks(seat)
    low = masks[Mask.OPEN] | masks[mine + SeatMask.SECRET]
    high = masks[Mask.OPEN + 1] | masks[mine + SeatMask.SECRET + 1]
    claims = 0
    for strand in range(strands):
        into = record_masks(seat, strand)
        claims += popcount(masks[into + 1] & low) + popcount(masks[into + 2] & high)
    if least_claim(desk, numbers, seat) == 1:
        while loose != ZERO:
            number = whole(desk, At.KIND_ID, lowest(loose))
            loose &= loose - ONE
            claims += popcount(word(desk, At.CLAIMS, AHEAD * number) & low)
            claims += popcount(word(desk, At.CLAIMS, AHEAD * number + 1) & high)
    return claims


@inner
def count_moves(desk, numbers, masks):
    """Write the counts of the legal moves; gives their sum, 0 if the turn closes by itself."""
    counts = Number.COUNTS
    for number in range(15):
        numbers[counts + number] = 0
    if numbers[Number.ROBBED] >= 0:
        numbers[counts + MoveNumber.LET] = 1
        numbers[counts + MoveNumber.CANCEL] = 1
        return 2
    seat = np.int64(numbers[Number.SEAT])
    place, mine = seat_place(seat), seat_masks(seat)
    strands = np.int64(numbers[place + Seat.STRANDS])
    hand = masks[mine + SeatMask.HAND]
    loose = masks[mine + SeatMask.LOOSE]
    draws = 0
    if numbers[Number.DRAWS] > 0 and numbers[Number.BEGAN] == 0:
        draws = count_draws(desk, numbers, masks, seat, strands, hand, loose)

    if numbers[place + Seat.CLAIMABLE] < 0:
        numbers[place + Seat.CLAIMABLE] = count_claims(desk, numbers, masks, seat, strands, loose)
    claims = np.int64(numbers[place + Seat.CLAIMABLE])
    joins = np.int64(numbers[place + Seat.JOINABLE])
    kinds = placed(desk, hand)
    attaches, gaps = 0, 0
    # At a draw they only tell whether the seat is stuck.
    if (draws == 0 and numbers[Number.PLAYS] > 0) or (
        numbers[Number.JUDGED] == 0 and joins + claims == 0
    ):
        attaches = count_attaches(desk, masks, seat, strands, loose, kinds)
        variant = desk.rules[Rule.VARIANT_KIND]
        if variant >= 0 and (hand >> np.uint64(variant)) & ONE != ZERO:
            for strand in range(strands + popcount(loose)):
                gaps += popcount(strand_gap(desk, numbers, masks, seat, strand) & kinds)
    return write_counts(desk, numbers, masks, seat, kinds, draws, attaches, gaps, joins, claims)


@inner
def write_counts(desk, numbers, masks, seat, kinds, draws, attaches, gaps, joins, claims):
    """Write the counts of what the stage of the turn lets a seat do; gives their sum."""
    rules = desk.rules
    counts = Number.COUNTS
    place = seat_place(seat)
    if numbers[Number.JUDGED] == 0:
        numbers[Number.JUDGED] = 1
        if attaches + gaps + joins + claims == 0:
            numbers[Number.STUCK] += 1

    plays, free = 0, 0
    may_play = draws == 0 and numbers[Number.PLAYS] > 0
    if may_play:
        lays = popcount(kinds)
        numbers[counts + MoveNumber.LAY] = lays
        numbers[counts + MoveNumber.ATTACH] = attaches
        numbers[counts + MoveNumber.ATTACH_GAP] = gaps
        plays = lays + attaches + gaps
    if rules[Rule.JOIN_IS_PLAY] == 0:
        numbers[counts + MoveNumber.JOIN] = joins
        free += joins
    elif may_play:
        numbers[counts + MoveNumber.JOIN] = joins
        plays += joins
    if rules[Rule.CLAIM_IS_PLAY] == 0:
        numbers[counts + MoveNumber.CLAIM] = claims
        free += claims
    elif may_play:
        numbers[counts + MoveNumber.CLAIM] = claims
        plays += claims
    if numbers[place + Seat.HELD] > 0:
        uses = count_uses(desk, numbers, masks, seat, COUNT_ONLY)
        numbers[counts + MoveNumber.USE] = uses
        free += uses
    total = draws + plays + free
    if total == 0:
        return 0
    if draws == 0 and (plays == 0 or rules[Rule.MUST_PLAY] == 0):
        numbers[counts + MoveNumber.END] = 1
        total += 1
    if numbers[Number.FRESH] != 0 and (
        rules[Rule.MAY_PASS] == MayPass.ALWAYS
        or (rules[Rule.MAY_PASS] == MayPass.STOCK_EMPTY and numbers[Number.STOCK_SIZE] == 0)
    ):
        numbers[counts + MoveNumber.PASS] = 1
        total += 1
    return total


@inner
def nth_move(desk, numbers, masks, nth):
    """Write the nth move of the canonical list (from 0) to CHOSEN: its number, arguments."""
    number = 0
    while nth >= numbers[Number.COUNTS + number]:
        nth -= numbers[Number.COUNTS + number]
        number += 1
    seat = np.int64(numbers[Number.SEAT])
    if number == MoveNumber.USE:
        count_uses(desk, numbers, masks, seat, nth)
        return
    place, mine = seat_place(seat), seat_masks(seat)
    strands = np.int64(numbers[place + Seat.STRANDS])
    hand = masks[mine + SeatMask.HAND]
    loose = masks[mine + SeatMask.LOOSE]
    first, second, third = 0, 0, 0
    if number == MoveNumber.DRAW_DISPLAY:
        first = nth_bit(masks[Mask.DISPLAY], nth)
    elif number == MoveNumber.SWAP:
        first = nth_bit(hand, nth)
    elif number == MoveNumber.LAY:
        first = nth_bit(placed(desk, hand), nth)
    elif number == MoveNumber.LIFT:
        if nth < 2 * strands:
            first, second = nth >> 1, nth & 1
        else:
            first = nth - strands
    elif number == MoveNumber.ATTACH or number == MoveNumber.ATTACH_GAP:
        kinds = placed(desk, hand)
        while True:
            if number == MoveNumber.ATTACH:
                found = strand_attach(desk, numbers, masks, seat, first) & kinds
            else:
                found = strand_gap(desk, numbers, masks, seat, first) & kinds
            if nth < popcount(found):
                break
            nth -= popcount(found)
            first += 1
        second = nth_bit(found, nth)
    elif number == MoveNumber.CLAIM:
        first, second = nth_claim(desk, numbers, masks, seat, strands, loose, nth)
    elif number == MoveNumber.JOIN:
        first, second = nth_join(desk, numbers, masks, seat, strands, loose, nth)
    elif number == MoveNumber.TAKE_LOOSE:
        many = strands + popcount(loose)
        first = 1
        while True:
            rival = next_seat(desk, seat, first)
            theirs = masks[seat_masks(rival) + SeatMask.LOOSE]
            if theirs != ZERO and numbers[seat_place(rival) + Seat.GUARDED] == 0:
                second = 0
                found = ZERO
                while second < many:
                    found = strand_attach(desk, numbers, masks, seat, second) & theirs
                    if nth < popcount(found):
                        break
                    nth -= popcount(found)
                    second += 1
                if second < many:
                    third = nth_bit(found, nth)
                    break
            first += 1
    chosen = Number.CHOSEN
    numbers[chosen] = number
    numbers[chosen + 1] = first
    numbers[chosen + 2] = second
    numbers[chosen + 3] = third


@inner
def nth_claim(desk, numbers, masks, seat, strands, loose, nth):
    """Give strand and target of the nth claim."""
    low = masks[Mask.OPEN] | masks[seat_masks(seat) + SeatMask.SECRET]
    high = masks[Mask.OPEN + 1] | masks[seat_masks(seat) + SeatMask.SECRET + 1]
    rest = loose
    strand = 0
    while True:
        if strand < strands:
            into = record_masks(seat, strand)
            found, more = masks[into + 1] & low, masks[into + 2] & high
        else:
            number = whole(desk, At.KIND_ID, lowest(rest))
            rest &= rest - ONE
            found, more = (
                word(desk, At.CLAIMS, AHEAD * number) & low,
                word(desk, At.CLAIMS, AHEAD * number + 1) & high,
            )
        if nth < popcount(found):
            return strand, nth_bit(found, nth)
        nth -= popcount(found)
        if nth < popcount(more):
            return strand, 64 + nth_bit(more, nth)
        nth -= popcount(more)
        strand += 1


@inner
def nth_join(desk, numbers, masks, seat, strands, loose, nth):
    """Give the two strands of the nth join."""
    rest = loose
    strand = 0
    while True:
        if strand < strands:
            for later in range(strand + 1, strands):
                if joins_strand(desk, numbers, seat, strand, later):
                    if nth == 0:
                        return strand, later
                    nth -= 1
            found = ZERO
            if numbers[record(seat, strand) + 2] < 0:
                found = masks[record_masks(seat, strand)] & loose
        else:
            kind = lowest(rest)
            rest &= rest - ONE
            found = word(desk, At.KIND_ATTACH, kind) & rest
        if nth < popcount(found):
            kind = nth_bit(found, nth)
            return strand, strands + popcount(loose & (bit(kind) - ONE))
        nth -= popcount(found)
        strand += 1


@inner
def chosen_hand_kind(desk, numbers, argument):
    """Give the hand kind of a placed kind among the chosen move's arguments."""
    return hand_kind(desk, np.int64(numbers[Number.CHOSEN + argument]))
