"""Bonuses in play: earning one, what using one asks for, and what its parts do.

Kernel functions only, compiled apart. The parts of a bonus are done in order, impossible
ones dropped; a part is looked at as the table will lie after the parts before it, without
what only chance can show. Where two parts ask for something, that table is made in the spare
half of the state (docs/engine.md). More than two such parts are refused by `compile_game`.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import (
    ONE,
    ZERO,
    apart,
    highest,
    inner,
    lowest,
    nth_bit,
    onward,
    popcount,
    stay_apart,
)
from nervure.engine.desk import At
from nervure.engine.layout import HALF_MASKS, MOVE_SIZE, Mask, MoveNumber, Number, Seat, SeatMask
from nervure.engine.stocks import draw, fill_open, turn_up, under_target_stock
from nervure.engine.strands import (
    add_to_hand,
    any_tier,
    fill_masks,
    half_numbers,
    hand_kind,
    kind_at,
    next_seat,
    put_down,
    record,
    seat_masks,
    seat_place,
    strand_attach,
    take_loose,
    take_up,
    tiers_of_code,
    whole,
)
from nervure.game.tables import (
    BONUS_PART_SIZE,
    MOST_BONUSES,
    MOST_OPEN_TARGETS,
    Does,
    Rule,
    When,
)

# As int64 by type: a literal in the call would make numba compile the function once more.
COUNT_ONLY = np.int64(-1)
NOWHERE = np.int64(0)


@inner
def bonus_part(desk, bonus, part, column):
    """Give what a part of a bonus does (column 0), its amount (1) or kind of target (2)."""
    place = bonus * desk.rules[At.BONUS_SIZE] + 1 + BONUS_PART_SIZE * part + column
    return whole(desk, At.BONUSES, place)


@inner
def parts_of(desk):
    """Give the most parts that a bonus of the design has."""
    return (desk.rules[At.BONUS_SIZE] - 1) // BONUS_PART_SIZE


@inner
def arity(does):
    """Give how many arguments a part asks for."""
    if does == Does.EXCHANGE_OPEN:
        return 1
    if does == Does.TAKE_ANY_LOOSE:
        return 2
    if does == Does.MOVE_END:
        return 3
    return 0


@apart
def earn(desk, numbers, masks, seat, bonus):
    """Give a seat a bonus."""
    stay_apart()
    place = seat_place(seat)
    when = whole(desk, At.BONUSES, bonus * desk.rules[At.BONUS_SIZE])
    if when == When.ONE_TIME:
        numbers[Number.BONUS + seat * MOST_BONUSES + bonus] += 1
        numbers[place + Seat.HELD] += 1
    elif when == When.REPLY:
        numbers[place + Seat.CANCELS] += 1
    else:
        for part in range(parts_of(desk)):
            does = bonus_part(desk, bonus, part, 0)
            amount = bonus_part(desk, bonus, part, 1)
            if does == Does.GUARD_LOOSE:
                numbers[place + Seat.GUARDED] += 1
            elif does == Does.HAND:
                numbers[place + Seat.EXTRA_HAND] += amount
            elif does == Does.SHORT_CLAIM:
                numbers[place + Seat.SHORT_CLAIM] += amount
            elif does == Does.POINTS_KIND:
                numbers[place + Seat.KIND_POINTS + bonus_part(desk, bonus, part, 2)] += amount
        numbers[place + Seat.CLAIMABLE] = -1
        for strand in range(numbers[place + Seat.STRANDS]):
            fill_masks(desk, numbers, masks, seat, strand)


@inner
def end_card(desk, numbers, masks, seat, strand, end):
    """Give the placed kind of a strand's end card."""
    strands = numbers[seat_place(seat) + Seat.STRANDS]
    if strand >= strands:
        return nth_bit(masks[seat_masks(seat) + SeatMask.LOOSE], strand - strands)
    key = np.int64(numbers[record(seat, strand)])
    tiers = np.uint64(tiers_of_code(desk, key >> 9))
    tier = highest(tiers) if end == 1 else lowest(tiers)
    return np.int64(kind_at(desk, key >> 9, tier, key & 63))


@apart
def nth_option(desk, numbers, masks, does, nth, into):
    """Count what a part can be asked to do now, and write the nth to the place `into`.

    Gives the number of options; 1 for a possible part without arguments. With nth -1
    nothing is written.
    """
    stay_apart()
    seat = np.int64(numbers[Number.SEAT])
    if does == Does.DRAW:
        return 1 if numbers[Number.STOCK_SIZE] > 0 else 0
    if does == Does.PLAY or does == Does.POINTS:
        return 1
    found = 0
    if does == Does.EXCHANGE_OPEN and numbers[Number.TARGET_SIZE] > 0:
        for half in range(2):
            rest = masks[Mask.OPEN + half]
            while rest != ZERO:
                if found == nth:
                    numbers[into] = 64 * half + lowest(rest)
                found += 1
                rest &= rest - ONE
    elif does == Does.TAKE_ANY_LOOSE:
        for on in range(1, desk.rules[Rule.SEATS]):
            rival = next_seat(desk, seat, on)
            rest = masks[seat_masks(rival) + SeatMask.LOOSE]
            if numbers[seat_place(rival) + Seat.GUARDED] > 0:
                rest = ZERO
            while rest != ZERO:
                if found == nth:
                    numbers[into] = on
                    numbers[into + 1] = lowest(rest)
                found += 1
                rest &= rest - ONE
    elif does == Does.MOVE_END:
        strands = np.int64(numbers[seat_place(seat) + Seat.STRANDS])
        many = strands + popcount(masks[seat_masks(seat) + SeatMask.LOOSE])
        for strand in range(many):
            for end in range(2 if strand < strands else 1):
                kind = np.uint64(end_card(desk, numbers, masks, seat, strand, end))
                for goal in range(many):
                    fits = strand_attach(desk, numbers, masks, seat, goal)
                    if goal != strand and (fits >> kind) & ONE != ZERO:
                        if found == nth:
                            numbers[into] = strand
                            numbers[into + 1] = end
                            numbers[into + 2] = goal
                        found += 1
    return found


@inner
def asking_part(desk, bonus, which):
    """Give the first (0) or second (1) part of a bonus that asks for something, -1 none."""
    found = -1
    for part in range(parts_of(desk)):
        if arity(bonus_part(desk, bonus, part, 0)) > 0:
            found += 1
            if found == which:
                return part
    return -1


@apart
def nth_use(desk, numbers, masks, bonus, nth):
    """Count the uses of a bonus that are legal now, and write the nth to CHOSEN.

    With nth -1 nothing is written. Uses the spare half of the state.
    """
    stay_apart()
    does_something = False
    for part in range(parts_of(desk)):
        does = bonus_part(desk, bonus, part, 0)
        if does != Does.NOTHING and arity(does) == 0:
            if nth_option(desk, numbers, masks, does, COUNT_ONLY, NOWHERE) > 0:
                does_something = True
    first, second = asking_part(desk, bonus, 0), asking_part(desk, bonus, 1)
    into = Number.CHOSEN + 2
    options = 0
    if first >= 0:
        first_does = bonus_part(desk, bonus, first, 0)
        options = nth_option(desk, numbers, masks, first_does, COUNT_ONLY, NOWHERE)
        if options == 0 and second >= 0:
            first, second = second, -1
            first_does = bonus_part(desk, bonus, first, 0)
            options = nth_option(desk, numbers, masks, first_does, COUNT_ONLY, NOWHERE)
    if nth >= 0:
        for column in range(MOVE_SIZE):
            numbers[Number.CHOSEN + column] = -1
        numbers[Number.CHOSEN] = MoveNumber.USE
        numbers[Number.CHOSEN + 1] = bonus
    if options == 0:
        return 1 if does_something else 0
    if second < 0:
        if nth >= 0:
            nth_option(desk, numbers, masks, first_does, nth, into)
        return options
    second_does = bonus_part(desk, bonus, second, 0)
    spare, spare_masks = onward(numbers, half_numbers(desk.rules)), onward(masks, HALF_MASKS)
    total = 0
    for option in range(options):
        imagine(desk, numbers, masks, spare, spare_masks, first_does, option)
        more = nth_option(desk, spare, spare_masks, second_does, COUNT_ONLY, NOWHERE)
        if nth >= 0 and total <= nth < total + max(more, 1):
            nth_option(desk, numbers, masks, first_does, option, into)
            if more > 0:
                nth_option(desk, spare, spare_masks, second_does, nth - total, into)
                for column in range(arity(second_does)):
                    numbers[into + arity(first_does) + column] = spare[into + column]
        total += max(more, 1)
    return total


@apart
def imagine(desk, numbers, masks, spare, spare_masks, does, option):
    """Write to the spare half the table after a part, without what chance would show."""
    stay_apart()
    for place in range(half_numbers(desk.rules)):
        spare[place] = numbers[place]
    for place in range(Mask.BELIEFS):
        spare_masks[place] = masks[place]
    into = Number.CHOSEN + 2
    nth_option(desk, spare, spare_masks, does, option, into)
    if does == Does.EXCHANGE_OPEN:
        exchange(desk, spare, spare_masks, np.int64(spare[into]), True)
    else:
        do_asking_part(desk, spare, spare_masks, does, into)


@apart
def exchange(desk, numbers, masks, target, hides_chance):
    """Put an open target under its stock and turn the next one up where it lay."""
    stay_apart()
    for place in range(MOST_OPEN_TARGETS):
        if numbers[Number.OPEN + place] == target:
            turn_up(desk.rules, numbers, place)
            under_target_stock(desk.rules, numbers, target)
            if hides_chance:
                numbers[Number.OPEN + place] = -1
            break
    fill_open(numbers, masks)


@apart
def do_asking_part(desk, numbers, masks, does, place):
    """Do a part whose arguments stand at a place of the numbers; not an exchange."""
    stay_apart()
    seat = np.int64(numbers[Number.SEAT])
    first, second = np.int64(numbers[place]), np.int64(numbers[place + 1])
    if does == Does.TAKE_ANY_LOOSE:
        take_loose(desk, numbers, masks, next_seat(desk, seat, first), second)
        add_to_hand(numbers, masks, seat, hand_kind(desk, second))
        numbers[Number.TAKES] += 1
        return
    goal = np.int64(numbers[place + 2])
    kind = np.int64(end_card(desk, numbers, masks, seat, first, second))
    code, gap, any_tiers = np.int64(0), np.int64(0), np.int64(0)
    kept, kept_gap, kept_tiers = np.int64(0), np.int64(0), np.int64(0)
    for again in range(2):
        # The later one first, so that the other's place holds.
        later_is_goal = goal > first
        is_goal = later_is_goal if again == 0 else not later_is_goal
        taken = take_up(desk, numbers, masks, seat, goal if is_goal else first)
        if is_goal:
            code, gap, any_tiers = taken
        else:
            kept, kept_gap, kept_tiers = taken
    for again in range(2):
        if again == 0:
            put, put_gap = code + whole(desk, At.KIND_CODE, kind), gap
            put_tiers = any_tiers | any_tier(desk, kind)
        else:
            put, put_gap = kept - whole(desk, At.KIND_CODE, kind), kept_gap
            put_tiers = kept_tiers & ~any_tier(desk, kind)
            if put_gap > 0:
                proximal = put % whole(desk, At.PLACES, put_gap)
                if proximal == 0 or proximal == put:
                    put_gap = np.int64(0)
                    add_to_hand(numbers, masks, seat, desk.rules[Rule.VARIANT_KIND])
        if put > 0:
            put_down(desk, numbers, masks, seat, put, put_gap, put_tiers)
    numbers[Number.ACTIVE] = 1


@apart
def place_arguments(desk, numbers, masks, bonus):
    """Write where the arguments of the chosen use's asking parts stand, -1 if dropped."""
    stay_apart()
    first, second = asking_part(desk, bonus, 0), asking_part(desk, bonus, 1)
    numbers[Number.ASKING] = -1
    numbers[Number.ASKING + 1] = -1
    into = Number.CHOSEN + 2
    if first < 0:
        return
    first_does = bonus_part(desk, bonus, first, 0)
    options = nth_option(desk, numbers, masks, first_does, COUNT_ONLY, NOWHERE)
    if options > 0:
        numbers[Number.ASKING] = into
    if second < 0:
        return
    second_does = bonus_part(desk, bonus, second, 0)
    if options == 0:
        if nth_option(desk, numbers, masks, second_does, COUNT_ONLY, NOWHERE) > 0:
            numbers[Number.ASKING + 1] = into
        return
    spare, spare_masks = onward(numbers, half_numbers(desk.rules)), onward(masks, HALF_MASKS)
    for option in range(options):
        imagine(desk, numbers, masks, spare, spare_masks, first_does, option)
        same = True
        for column in range(arity(first_does)):
            same = same and spare[into + column] == numbers[into + column]
        if same:
            if nth_option(desk, spare, spare_masks, second_does, COUNT_ONLY, NOWHERE) > 0:
                numbers[Number.ASKING + 1] = into + arity(first_does)
            return


@apart
def robbed_seat(desk, numbers, which):
    """Give the seat that the chosen move's take of that number robs, -1 if there is none."""
    stay_apart()
    seat = np.int64(numbers[Number.SEAT])
    number = numbers[Number.CHOSEN]
    if number == MoveNumber.TAKE_LOOSE:
        return next_seat(desk, seat, np.int64(numbers[Number.CHOSEN + 1])) if which == 0 else -1
    bonus = np.int64(numbers[Number.CHOSEN + 1])
    found = 0
    for asking in range(2):
        part = asking_part(desk, bonus, asking)
        place = np.int64(numbers[Number.ASKING + asking])
        if part >= 0 and place >= 0:
            if bonus_part(desk, bonus, part, 0) == Does.TAKE_ANY_LOOSE:
                if found == which:
                    return next_seat(desk, seat, np.int64(numbers[place]))
                found += 1
    return -1


@apart
def use_bonus(desk, numbers, masks):
    """Do the chosen use, part by part; takes that were cancelled are left out."""
    stay_apart()
    seat = np.int64(numbers[Number.SEAT])
    place = seat_place(seat)
    bonus = np.int64(numbers[Number.CHOSEN + 1])
    numbers[Number.BONUS + seat * MOST_BONUSES + bonus] -= 1
    numbers[place + Seat.HELD] -= 1
    asking, takes = 0, 0
    for part in range(parts_of(desk)):
        does = bonus_part(desk, bonus, part, 0)
        amount = bonus_part(desk, bonus, part, 1)
        if does == Does.DRAW:
            for _ in range(amount):
                if numbers[Number.STOCK_SIZE] > 0:
                    draw(desk.rules, numbers, masks, seat)
        elif does == Does.PLAY:
            numbers[Number.PLAYS] += amount
        elif does == Does.POINTS:
            numbers[Number.SCORED] = 1
            numbers[place + Seat.POINTS] += amount
            numbers[place + Seat.POINTS_BONUS] += amount
        elif arity(does) > 0:
            at = np.int64(numbers[Number.ASKING + asking])
            asking += 1
            if at >= 0:
                cancelled = False
                if does == Does.TAKE_ANY_LOOSE:
                    cancelled = (numbers[Number.CANCELLED] >> takes) & 1 != 0
                    takes += 1
                if does == Does.EXCHANGE_OPEN:
                    exchange(desk, numbers, masks, np.int64(numbers[at]), False)
                elif not cancelled:
                    do_asking_part(desk, numbers, masks, does, at)


@apart
def asks_rival(desk, numbers, masks):
    """Tell whether the chosen take has to wait for a reply; then it is kept at PENDING.

    Comes back after each answer, at CHOSEN, with the take at PENDING.
    """
    stay_apart()
    number = numbers[Number.CHOSEN]
    if number == MoveNumber.LET or number == MoveNumber.CANCEL:
        if number == MoveNumber.CANCEL:
            numbers[seat_place(np.int64(numbers[Number.ROBBED])) + Seat.CANCELS] -= 1
            numbers[Number.CANCELLED] |= 1 << np.int64(numbers[Number.ASKED])
        numbers[Number.ASKED] += 1
        numbers[Number.ROBBED] = -1
        for column in range(MOVE_SIZE):
            numbers[Number.CHOSEN + column] = numbers[Number.PENDING + column]
    else:
        numbers[Number.ASKED] = 0
        numbers[Number.CANCELLED] = 0
        if number == MoveNumber.USE:
            place_arguments(desk, numbers, masks, np.int64(numbers[Number.CHOSEN + 1]))
    while True:
        robbed = robbed_seat(desk, numbers, np.int64(numbers[Number.ASKED]))
        if robbed < 0:
            return False
        if numbers[seat_place(robbed) + Seat.CANCELS] > 0:
            numbers[Number.ROBBED] = robbed
            for column in range(MOVE_SIZE):
                numbers[Number.PENDING + column] = numbers[Number.CHOSEN + column]
            return True
        numbers[Number.ASKED] += 1


@apart
def count_uses(desk, numbers, masks, seat, nth):
    """Count the legal uses of a seat's one-time bonuses, and write the nth to CHOSEN."""
    stay_apart()
    total = 0
    for bonus in range(desk.rules[Rule.BONUSES]):
        if numbers[Number.BONUS + seat * MOST_BONUSES + bonus] > 0:
            found = nth_use(desk, numbers, masks, bonus, COUNT_ONLY)
            if nth >= 0 and total <= nth < total + found:
                nth_use(desk, numbers, masks, bonus, nth - total)
                return total + found
            total += found
    return total
