"""What each move does to the state. Kernel functions only; the chosen move is legal.

`do_move` reads the move at CHOSEN, writes the state and the counters, draws no chance, and
tells whether the turn closes.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import ONE, ZERO, bit, highest, inner, lowest, popcount
from nervure.engine.layout import Mask, MoveNumber, Number, Seat, SeatMask
from nervure.engine.moves import next_seat
from nervure.engine.strands import (
    add_strand,
    add_to_hand,
    any_tier,
    hand_kind,
    kind_at,
    look_up,
    put_down,
    seat_masks,
    seat_place,
    take_from_hand,
    take_loose,
    take_up,
    tiers_of_code,
)
from nervure.game.tables import (
    MOST_KINDS,
    MOST_OPEN_TARGETS,
    MOST_SECRET_TARGETS,
    POINTS_COLUMNS,
    Rule,
)


@inner
def from_stock(desk, numbers):
    """Take the top card off the stock, which is not empty; gives its hand kind."""
    top = np.int64(numbers[Number.STOCK_TOP])
    kind = np.int64(numbers[Number.STOCK + top])
    top += 1
    numbers[Number.STOCK_TOP] = 0 if top == desk.rules[Rule.PART_CARDS] else top
    numbers[Number.STOCK_SIZE] -= 1
    return kind


@inner
def under_stock(desk, numbers, kind):
    """Put a card under the stock."""
    place = np.int64(numbers[Number.STOCK_TOP]) + numbers[Number.STOCK_SIZE]
    if place >= desk.rules[Rule.PART_CARDS]:
        place -= desk.rules[Rule.PART_CARDS]
    numbers[Number.STOCK + place] = kind
    numbers[Number.STOCK_SIZE] += 1


@inner
def draw(desk, numbers, masks, seat):
    """Draw a card from the stock, which is not empty, to a hand."""
    kind = from_stock(desk, numbers)
    numbers[Number.DRAWN + kind] += 1
    add_to_hand(numbers, masks, seat, kind)


@inner
def show(desk, numbers, masks):
    """Put the top card of the stock, if any, on the display."""
    if numbers[Number.STOCK_SIZE] > 0:
        kind = from_stock(desk, numbers)
        numbers[Number.DISPLAY + kind] += 1
        masks[Mask.DISPLAY] |= bit(kind)


@inner
def next_target(desk, numbers):
    """Take the top card off the target stock; gives the target, -1 if there is none."""
    if numbers[Number.TARGET_SIZE] == 0:
        return np.int64(-1)
    top = np.int64(numbers[Number.TARGET_TOP])
    target = np.int64(numbers[Number.TARGET_STOCK + top])
    top += 1
    numbers[Number.TARGET_TOP] = 0 if top == desk.rules[Rule.TARGET_CARDS] else top
    numbers[Number.TARGET_SIZE] -= 1
    return target


@inner
def turn_up(desk, numbers, place):
    """Turn up the next target card, if any, at a place of the open ones."""
    target = next_target(desk, numbers)
    numbers[Number.OPEN + place] = target
    numbers[Number.OPEN_SINCE + place] = numbers[Number.TURN]
    if target >= 0:
        numbers[Number.TARGET_OPEN + target] += 1


@inner
def hold_secret(desk, numbers, seat, place):
    """Give a seat the next target card, if any, as a secret one at a place."""
    numbers[seat_place(seat) + Seat.SECRET + place] = next_target(desk, numbers)
    numbers[seat_place(seat) + Seat.SECRET_SINCE + place] = numbers[Number.TURN]


@inner
def fill_target_masks(numbers, masks, start, count, into):
    """Write the two words of targets that lie at some places."""
    low, high = ZERO, ZERO
    for place in range(count):
        target = numbers[start + place]
        if target >= 64:
            high |= bit(target - 64)
        elif target >= 0:
            low |= bit(target)
    masks[into] = low
    masks[into + 1] = high


@inner
def fill_open(numbers, masks):
    """Write the masks of the open targets."""
    fill_target_masks(numbers, masks, Number.OPEN, MOST_OPEN_TARGETS, Mask.OPEN)


@inner
def fill_secret(numbers, masks, seat):
    """Write the masks of a seat's secret targets."""
    start = seat_place(seat) + Seat.SECRET
    into = seat_masks(seat) + SeatMask.SECRET
    fill_target_masks(numbers, masks, start, MOST_SECRET_TARGETS, into)


@inner
def play_card(desk, numbers, masks, seat, kind):
    """Take a placed kind's card out of the hand, as played."""
    held = hand_kind(desk, kind)
    take_from_hand(numbers, masks, seat, held)
    numbers[Number.PLAYED + held] += 1


@inner
def attach(desk, numbers, masks, seat, strand, kind):
    """Put a card of a placed kind to a strand that takes it in."""
    code, gap, any_tiers = take_up(desk, numbers, masks, seat, strand)
    code += desk.kind_code[kind]
    add_strand(desk, numbers, masks, seat, code, gap, any_tiers | any_tier(desk, kind))
    numbers[Number.ACTIVE] = 1


@inner
def attach_gap(desk, numbers, masks, seat, strand, kind):
    """Put a card beyond a strand's end, over a gap."""
    code, _, any_tiers = take_up(desk, numbers, masks, seat, strand)
    tiers = np.uint64(tiers_of_code(desk, code))
    tier = np.int64(desk.kind_tier[kind])
    gap = tier if tier > highest(tiers) else lowest(tiers)
    code += desk.kind_code[kind]
    add_strand(desk, numbers, masks, seat, code, gap, any_tiers | any_tier(desk, kind))
    numbers[Number.ACTIVE] = 1


@inner
def join(desk, numbers, masks, seat, first, second):
    """Join two strands, the later one taken up first so that places hold."""
    code, _, any_tiers = take_up(desk, numbers, masks, seat, second)
    more, _, more_tiers = take_up(desk, numbers, masks, seat, first)
    add_strand(desk, numbers, masks, seat, code + more, np.int64(0), any_tiers | more_tiers)
    numbers[Number.ACTIVE] = 1


@inner
def take_end(desk, numbers, masks, seat, strand, end):
    """Take an end card off a strand (0 proximal, 1 distal); gives its placed kind.

    A side of a gap that this empties closes the gap: the variant card goes to the hand.
    """
    code, gap, any_tiers = take_up(desk, numbers, masks, seat, strand)
    tiers = np.uint64(tiers_of_code(desk, code))
    tier = highest(tiers) if end == 1 else lowest(tiers)
    kind = kind_at(desk, code, tier, any_tiers)
    code -= desk.kind_code[kind]
    if code > 0:
        if gap > 0:
            proximal = code % desk.places[gap]
            if proximal == 0 or proximal == code:
                gap = np.int64(0)
                add_to_hand(numbers, masks, seat, desk.rules[Rule.VARIANT_KIND])
        put_down(desk, numbers, masks, seat, code, gap, any_tiers & ~any_tier(desk, kind))
    return kind


@inner
def claim(desk, numbers, masks, seat, strand, target):
    """Claim a target with a strand: points, counters, the next target card."""
    place = seat_place(seat)
    code, gap, any_tiers = take_up(desk, numbers, masks, seat, strand)
    tiers = tiers_of_code(desk, code)
    cards = 0
    for tier in range(desk.rules[Rule.TIERS]):
        if (tiers >> tier) & 1:
            kind = hand_kind(desk, kind_at(desk, code, tier, any_tiers))
            numbers[Number.CLAIMED + kind] += 1
            cards += 1
    if gap > 0:
        numbers[Number.CLAIMED + desk.rules[Rule.VARIANT_KIND]] += 1
        code -= code % desk.places[gap]
        cards = popcount(np.uint64(tiers >> gap))
    points = np.int64(desk.points[target, min(cards, POINTS_COLUMNS - 1)])
    numbers[place + Seat.POINTS] += points
    numbers[place + Seat.POINTS_LENGTH] += points
    numbers[place + Seat.CLAIMS] += 1
    if numbers[place + Seat.FIRST_CLAIM] < 0:
        numbers[place + Seat.FIRST_CLAIM] = numbers[Number.TURN]
    number = look_up(desk, code)
    full = desk.full_low[number] if target < 64 else desk.full_high[number]
    is_full = (full >> np.uint64(target & 63)) & ONE != ZERO
    if is_full:
        numbers[place + Seat.FULL_CLAIMS] += 1
    numbers[Number.ACTIVE] = 1
    numbers[Number.TARGET_SEATS + target] |= 1 << seat
    numbers[Number.TARGET_CLAIMED + target] += 1
    numbers[Number.CLAIM_LENGTH + target] += cards
    since = replace_target(desk, numbers, masks, seat, target)
    numbers[Number.CLAIM_WAIT + target] += numbers[Number.TURN] - since
    return is_full


@inner
def replace_target(desk, numbers, masks, seat, target):
    """Take a claimed target card away and put the next one where it lay.

    The open card goes before the secret one. Gives the turn since when it lay there.
    """
    for place in range(MOST_OPEN_TARGETS):
        if numbers[Number.OPEN + place] == target:
            since = np.int64(numbers[Number.OPEN_SINCE + place])
            turn_up(desk, numbers, place)
            fill_open(numbers, masks)
            return since
    start = seat_place(seat)
    for place in range(MOST_SECRET_TARGETS):
        if numbers[start + Seat.SECRET + place] == target:
            since = np.int64(numbers[start + Seat.SECRET_SINCE + place])
            hold_secret(desk, numbers, seat, place)
            fill_secret(numbers, masks, seat)
            return since
    return np.int64(numbers[Number.TURN])


@inner
def do_draw(desk, numbers, masks, seat, number):
    """Do one of the draws."""
    chosen = Number.CHOSEN
    first = np.int64(numbers[chosen + 1])
    second = np.int64(numbers[chosen + 2])
    numbers[Number.DRAWS] -= 1
    if number == MoveNumber.DRAW_STOCK:
        draw(desk, numbers, masks, seat)
    elif number == MoveNumber.DRAW_DISPLAY:
        numbers[Number.DISPLAY + first] -= 1
        if numbers[Number.DISPLAY + first] == 0:
            masks[Mask.DISPLAY] &= ~bit(first)
        numbers[Number.DRAWN + first] += 1
        add_to_hand(numbers, masks, seat, first)
        show(desk, numbers, masks)
    elif number == MoveNumber.SWAP:
        take_from_hand(numbers, masks, seat, first)
        if desk.rules[Rule.SWAP_UNDER] != 0:
            under_stock(desk, numbers, first)
        else:
            numbers[Number.PILE + first] += 1
        draw(desk, numbers, masks, seat)
    elif number == MoveNumber.LIFT:
        if numbers[Number.STOCK_SIZE] == 0:
            numbers[seat_place(seat) + Seat.LATE_LIFTS] -= 1
        kind = take_end(desk, numbers, masks, seat, first, second)
        add_to_hand(numbers, masks, seat, hand_kind(desk, kind))
    else:
        kind = np.int64(numbers[chosen + 3])
        take_loose(numbers, masks, next_seat(desk, seat, first), kind)
        attach(desk, numbers, masks, seat, second, kind)
        numbers[Number.PLAYS] -= 1
        numbers[Number.BEGAN] = 1
        numbers[Number.TAKES] += 1


@inner
def do_move(desk, numbers, masks):
    """Do the chosen move; tells whether the turn closes."""
    seat = np.int64(numbers[Number.SEAT])
    chosen = Number.CHOSEN
    number = np.int64(numbers[chosen])
    if number == MoveNumber.END:
        return True
    if number == MoveNumber.PASS:
        if desk.rules[Rule.END_PASSED] != 0:
            numbers[Number.PASSED] |= 1 << seat
        return True
    numbers[Number.FRESH] = 0
    if number <= MoveNumber.LIFT:
        do_draw(desk, numbers, masks, seat, number)
        return False
    first = np.int64(numbers[chosen + 1])
    second = np.int64(numbers[chosen + 2])
    if (
        number <= MoveNumber.ATTACH_GAP
        or (number == MoveNumber.JOIN and desk.rules[Rule.JOIN_IS_PLAY] != 0)
        or (number == MoveNumber.CLAIM and desk.rules[Rule.CLAIM_IS_PLAY] != 0)
    ):
        numbers[Number.PLAYS] -= 1
        numbers[Number.BEGAN] = 1
    if number == MoveNumber.LAY:
        play_card(desk, numbers, masks, seat, first)
        numbers[Number.LOOSE + seat * MOST_KINDS + first] += 1
        masks[seat_masks(seat) + SeatMask.LOOSE] |= bit(first)
    elif number == MoveNumber.ATTACH:
        play_card(desk, numbers, masks, seat, second)
        attach(desk, numbers, masks, seat, first, second)
    elif number == MoveNumber.ATTACH_GAP:
        play_card(desk, numbers, masks, seat, second)
        variant = desk.rules[Rule.VARIANT_KIND]
        take_from_hand(numbers, masks, seat, variant)
        numbers[Number.PLAYED + variant] += 1
        attach_gap(desk, numbers, masks, seat, first, second)
    elif number == MoveNumber.JOIN:
        join(desk, numbers, masks, seat, first, second)
    elif number == MoveNumber.CLAIM:
        claim(desk, numbers, masks, seat, first, second)
    return False
