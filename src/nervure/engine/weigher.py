"""The style `weigher`: the move with the largest weighted sum of what `features` counts.

In each decision: the best of claims, joins and uses of a bonus is made if its score is above
0; else the best draw; else the best play, or the end of the turn. A use is judged as the
builder judges it. A take is always cancelled. What is alike is told apart by the order of
the list of legal moves. Kernel functions only; they write the move to CHOSEN.

``memory`` and ``at``: see `values`.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import ONE, ZERO, apart, bit, inner, lowest, popcount, stay_apart
from nervure.engine.desk import AHEAD, At
from nervure.engine.features import FEATURES, Feature, Kept
from nervure.engine.greedy import (
    choose_lift,
    choose_move,
    choose_rest,
    choose_use,
    is_urgent,
    rival_take,
)
from nervure.engine.layout import Mask, MoveNumber, Number, Seat, SeatMask
from nervure.engine.offers import offered_claims_of, offers_join
from nervure.engine.strands import (
    hand_kind,
    least_claim,
    look_up,
    next_seat,
    placed,
    seat_masks,
    seat_place,
    whole,
    word,
)
from nervure.engine.values import (
    NONE,
    THOUSAND,
    best_gain,
    best_points,
    gain_with,
    keep_values,
    others_in_hand,
    own_fits,
    own_strand,
    rivals_that_fit,
    value_of,
    value_tried,
)
from nervure.game.tables import (
    MOST_KINDS,
    POINTS_COLUMNS,
    Draw,
    Rule,
)


@apart
def most_after(desk, memory, at, number, points, kinds, least):
    """Give how many points more a strand would claim with at most two of some kinds."""
    stay_apart()
    kept = at + FEATURES
    low, high = np.uint64(memory[kept + Kept.LOW]), np.uint64(memory[kept + Kept.HIGH])
    best = points
    code = whole(desk, At.CODES, number)
    rest = word(desk, At.ATTACH, number) & kinds
    while rest != ZERO:
        kind = lowest(rest)
        rest &= rest - ONE
        longer = code + whole(desk, At.KIND_CODE, kind)
        after = look_up(desk, longer)
        cards = popcount(np.uint64(whole(desk, At.TIERS, after)))
        found = word(desk, At.CLAIMS, AHEAD * after) & low
        found_more = word(desk, At.CLAIMS, AHEAD * after + 1) & high
        if cards >= least:
            best = max(best, best_points(desk, found, found_more, cards))
        more = word(desk, At.ATTACH, after) & kinds
        while more != ZERO:
            other = lowest(more)
            more &= more - ONE
            last = look_up(desk, longer + whole(desk, At.KIND_CODE, other))
            found = word(desk, At.CLAIMS, AHEAD * last) & low
            found_more = word(desk, At.CLAIMS, AHEAD * last + 1) & high
            if cards + 1 >= least:
                best = max(best, best_points(desk, found, found_more, cards + 1))
    return best - points


@inner
def end_weight(desk, numbers, memory, at, seat, points):
    """Give the weight of reaching the end by a claim of so many points, 0 if it does not."""
    place = seat_place(seat)
    total = np.int64(numbers[place + Seat.POINTS]) + points
    reached = 0 < desk.rules[Rule.END_CLAIMS] <= numbers[place + Seat.CLAIMS] + 1
    reached = reached or 0 < desk.rules[Rule.END_POINTS] <= total
    if not reached:
        return np.int64(0)
    leads = True
    for rival in range(desk.rules[Rule.SEATS]):
        if rival != seat and numbers[seat_place(rival) + Seat.POINTS] >= total:
            leads = False
    if leads:
        return np.int64(memory[at + Feature.CLAIM_WINS])
    return np.int64(memory[at + Feature.CLAIM_LOSES])


@apart
def weigh_claims(desk, numbers, masks, memory, at, seat, many, best, least):
    """Choose the claim with the largest score, if above `best`; gives the largest score."""
    stay_apart()
    kept = at + FEATURES
    kinds = placed(desk, masks[seat_masks(seat) + SeatMask.HAND])
    seen = kinds | placed(desk, masks[Mask.DISPLAY])
    place = seat_place(seat)
    base = np.int64(memory[at + Feature.CLAIM])
    if (numbers[Number.DRAWS] > 0 and numbers[Number.BEGAN] == 0) or numbers[Number.PLAYS] > 0:
        base += memory[at + Feature.CLAIM_EARLY]
    if is_urgent(desk, numbers, seat):
        base += memory[at + Feature.CLAIM_URGENT]
    for strand in range(many):
        code, _, _ = own_strand(desk, numbers, strand)
        number = look_up(desk, code)
        cards = popcount(np.uint64(whole(desk, At.TIERS, number)))
        if cards < least:
            continue
        for half in range(2):
            found = offered_claims_of(desk, numbers, masks, seat, strand, number, half)
            found &= np.uint64(memory[kept + Kept.LOW + half])
            near = np.uint64(memory[kept + Kept.NEAR_LOW + half])
            full = word(desk, At.FULL, AHEAD * number + half)
            while found != ZERO:
                target = lowest(found)
                found &= found - ONE
                column = (64 * half + target) * POINTS_COLUMNS + cards
                printed = whole(desk, At.POINTS, column)
                score = base + cards * memory[at + Feature.CLAIM_CARDS]
                kind = whole(desk, At.TARGET_KIND, 64 * half + target)
                points = printed + numbers[place + Seat.KIND_POINTS + kind]
                score += points * memory[at + Feature.CLAIM_PAID]
                if (full >> np.uint64(target)) & ONE != ZERO:
                    score += memory[at + Feature.CLAIM_FULL]
                if (near >> np.uint64(target)) & ONE != ZERO:
                    score += memory[at + Feature.CLAIM_RACED]
                grown = most_after(desk, memory, at, number, printed, kinds, least)
                score += grown * memory[at + Feature.CLAIM_HAND]
                shown = most_after(desk, memory, at, number, printed, seen, least)
                score += (shown - grown) * memory[at + Feature.CLAIM_DISPLAY]
                score += end_weight(desk, numbers, memory, at, seat, points)
                if score > best:
                    best = score
                    choose_move(numbers, MoveNumber.CLAIM, strand, 64 * half + target, 0)
    return best


@apart
def weigh_joins(desk, numbers, masks, memory, at, seat, many, best, least):
    """Choose the join with the largest score, if above `best`; gives the largest score."""
    stay_apart()
    for one in range(many):
        code, gap, before = own_strand(desk, numbers, one)
        if gap > 0:
            continue
        for other in range(one + 1, many):
            more, more_gap, others_before = own_strand(desk, numbers, other)
            if more_gap > 0 or not offers_join(desk, numbers, masks, seat, one, other):
                continue
            joined = np.int64(look_up(desk, code + more))
            if joined >= 0:
                gain = np.int64(value_of(desk, memory, at, joined))
            else:
                number, others = np.int64(look_up(desk, code)), np.int64(look_up(desk, more))
                cards = popcount(np.uint64(whole(desk, At.TIERS, others)))
                gain = np.int64(value_tried(desk, memory, at, number, cards))
                cards = popcount(np.uint64(whole(desk, At.TIERS, number)))
                gain = max(gain, np.int64(value_tried(desk, memory, at, others, cards)))
            gain -= before + others_before
            score = np.int64(memory[at + Feature.JOIN])
            score += gain * memory[at + Feature.JOIN_GAIN] // THOUSAND
            if score > best:
                best = score
                choose_move(numbers, MoveNumber.JOIN, one, other, 0)
    return best


@apart
def weigh_draws(desk, numbers, masks, memory, at, seat, many, least):
    """Choose the draw with the largest score; there is one. The stock's is 0."""
    stay_apart()
    counts = Number.COUNTS
    hand = masks[seat_masks(seat) + SeatMask.HAND]
    kinds = placed(desk, hand)
    structures = desk.rules[Rule.STRUCTURES]
    best = NONE
    if numbers[counts + MoveNumber.DRAW_STOCK] > 0:
        best = np.int64(0)
        choose_move(numbers, MoveNumber.DRAW_STOCK, 0, 0, 0)
    if numbers[counts + MoveNumber.DRAW_DISPLAY] > 0:
        rest = placed(desk, masks[Mask.DISPLAY])
        while rest != ZERO:
            kind = lowest(rest)
            rest &= rest - ONE
            gain = best_gain(desk, numbers, masks, memory, at, many, kind, kinds)
            held = hand_kind(desk, kind)
            twins = np.int64(numbers[Number.HAND + seat * MOST_KINDS + held])
            score = np.int64(memory[at + Feature.DISPLAY])
            score += gain * memory[at + Feature.DISPLAY_GAIN] // THOUSAND
            score += twins * memory[at + Feature.DISPLAY_TWIN]
            score += rivals_that_fit(desk, masks, kind) * memory[at + Feature.DISPLAY_DENIED]
            if kind >= structures:
                score += memory[at + Feature.DISPLAY_WILD]
            if score > best:
                best = score
                choose_move(numbers, MoveNumber.DRAW_DISPLAY, held, 0, 0)
    if numbers[counts + MoveNumber.SWAP] > 0:
        rest = kinds & (bit(structures) - ONE if structures < 64 else ~ZERO)
        while rest != ZERO:
            kind = lowest(rest)
            rest &= rest - ONE
            others = others_in_hand(desk, numbers, seat, kinds, kind)
            gain = best_gain(desk, numbers, masks, memory, at, many, kind, others)
            score = np.int64(memory[at + Feature.SWAP])
            score += gain * memory[at + Feature.SWAP_GAIN] // THOUSAND
            if numbers[Number.HAND + seat * MOST_KINDS + kind] > 1:
                score += memory[at + Feature.SWAP_TWIN]
            if score > best:
                best = score
                choose_move(numbers, MoveNumber.SWAP, kind, 0, 0)
    if numbers[counts + MoveNumber.TAKE_LOOSE] > 0:
        best = weigh_takes(desk, numbers, masks, memory, at, seat, many, best, least)
    if numbers[counts + MoveNumber.LIFT] > 0:
        best = weigh_lifts(desk, numbers, masks, memory, at, seat, many, best, least)
    if best == NONE:
        # Only cards that nothing is known to be done with, such as a variant card.
        if numbers[counts + MoveNumber.DRAW_DISPLAY] > 0:
            choose_move(numbers, MoveNumber.DRAW_DISPLAY, lowest(masks[Mask.DISPLAY]), 0, 0)
        elif numbers[counts + MoveNumber.SWAP] > 0:
            choose_move(numbers, MoveNumber.SWAP, lowest(hand), 0, 0)
        else:
            rival_take(desk, numbers, masks, seat, many)


@apart
def weigh_takes(desk, numbers, masks, memory, at, seat, many, best, least):
    """Choose the take with the largest score, if above `best`; gives the largest score."""
    stay_apart()
    kinds = placed(desk, masks[seat_masks(seat) + SeatMask.HAND])
    for on in range(1, desk.rules[Rule.SEATS]):
        rival = next_seat(desk, seat, on)
        theirs = masks[seat_masks(rival) + SeatMask.LOOSE]
        if theirs == ZERO or numbers[seat_place(rival) + Seat.GUARDED] > 0:
            continue
        for strand in range(many):
            rest = own_fits(masks, strand) & theirs
            while rest != ZERO:
                kind = lowest(rest)
                rest &= rest - ONE
                gain = gain_with(desk, numbers, masks, memory, at, strand, kind, kinds)
                score = np.int64(memory[at + Feature.TAKE])
                score += gain * memory[at + Feature.TAKE_GAIN] // THOUSAND
                if score > best:
                    best = score
                    choose_move(numbers, MoveNumber.TAKE_LOOSE, on, strand, kind)
    return best


@apart
def weigh_lifts(desk, numbers, masks, memory, at, seat, many, best, least):
    """Choose a lift if it scores above `best`; gives the largest score.

    Only loose cards are looked at, and the lift of a strand's end where nothing else is left.
    """
    stay_apart()
    strands = np.int64(numbers[seat_place(seat) + Seat.STRANDS])
    for strand in range(strands, many):
        score = np.int64(memory[at + Feature.LIFT])
        score -= own_strand(desk, numbers, strand)[2] * memory[at + Feature.LIFT_GAIN] // THOUSAND
        if score > best:
            best = score
            choose_move(numbers, MoveNumber.LIFT, strand, 0, 0)
    if best == NONE and strands > 0:
        kept = at + FEATURES
        low, high = np.uint64(memory[kept + Kept.LOW]), np.uint64(memory[kept + Kept.HIGH])
        choose_lift(desk, numbers, masks, seat, many, True, low, high, least)
        best = NONE + 1
    return best


@apart
def weigh_plays(desk, numbers, masks, memory, at, seat, many, best, least):
    """Choose the play with the largest score, if above `best`: laid or attached."""
    stay_apart()
    mine = seat_masks(seat)
    kinds = placed(desk, masks[mine + SeatMask.HAND])
    loose = masks[mine + SeatMask.LOOSE]
    structures = desk.rules[Rule.STRUCTURES]
    takes = (desk.rules[Rule.DRAWS] & Draw.TAKE_LOOSE) != 0
    for strand in range(-1, many):
        rest = kinds
        if strand >= 0:
            rest &= own_fits(masks, strand)
        while rest != ZERO:
            kind = lowest(rest)
            rest &= rest - ONE
            others = others_in_hand(desk, numbers, seat, kinds, kind)
            score = gain_with(desk, numbers, masks, memory, at, strand, kind, others)
            if kind >= structures:
                score += memory[at + Feature.PLAY_WILD]
            if strand < 0:
                score += memory[at + Feature.LAY]
                if (loose >> np.uint64(kind)) & ONE != ZERO:
                    score += memory[at + Feature.LAY_TWIN]
                if takes:
                    fit = rivals_that_fit(desk, masks, kind)
                    score += fit * memory[at + Feature.LAY_EXPOSED]
            if score > best:
                best = score
                if strand < 0:
                    choose_move(numbers, MoveNumber.LAY, kind, 0, 0)
                else:
                    choose_move(numbers, MoveNumber.ATTACH, strand, kind, 0)
    return best


@apart
def choose_by_weight(desk, numbers, masks, memory, at, seat):
    """Choose among the legal moves as the module says. Reads the counts, writes CHOSEN."""
    stay_apart()
    counts = Number.COUNTS
    if numbers[Number.ROBBED] >= 0:
        choose_move(numbers, MoveNumber.CANCEL, 0, 0, 0)
        return
    place, mine = seat_place(seat), seat_masks(seat)
    least = np.int64(least_claim(desk, numbers, seat))
    if numbers[counts + MoveNumber.USE] > 0:
        low = masks[Mask.OPEN] | masks[mine + SeatMask.SECRET]
        high = masks[Mask.OPEN + 1] | masks[mine + SeatMask.SECRET + 1]
        many = np.int64(numbers[place + Seat.STRANDS]) + popcount(masks[mine + SeatMask.LOOSE])
        if choose_use(desk, numbers, masks, seat, many, True, low, high, least):
            return
    many = keep_values(desk, numbers, masks, memory, at, seat, least)
    best = np.int64(0)
    if numbers[counts + MoveNumber.CLAIM] > 0:
        best = weigh_claims(desk, numbers, masks, memory, at, seat, many, best, least)
    if numbers[counts + MoveNumber.JOIN] > 0:
        best = weigh_joins(desk, numbers, masks, memory, at, seat, many, best, least)
    if best > 0:
        return
    draws = 0
    for number in range(MoveNumber.DRAW_STOCK, MoveNumber.LIFT + 1):
        draws += numbers[counts + number]
    if draws > 0:
        weigh_draws(desk, numbers, masks, memory, at, seat, many, least)
        return
    best = NONE
    if numbers[counts + MoveNumber.END] > 0:
        best = np.int64(memory[at + Feature.STOP])
        choose_move(numbers, MoveNumber.END, 0, 0, 0)
    if numbers[counts + MoveNumber.PASS] > 0:
        best = np.int64(memory[at + Feature.STOP])
        choose_move(numbers, MoveNumber.PASS, 0, 0, 0)
    if numbers[counts + MoveNumber.LAY] > 0:
        best = weigh_plays(desk, numbers, masks, memory, at, seat, many, best, least)
    if best == NONE:
        choose_rest(desk, numbers, masks, seat, many)
