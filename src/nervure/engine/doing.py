"""What each move does to the state. Kernel functions only; the chosen move is legal.

`do_move` reads the move at CHOSEN, writes the state and the counters, draws no chance, and
tells whether the turn closes.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import ONE, ZERO, bit, highest, inner, lowest, popcount
from nervure.engine.bonuses import asks_rival, earn, use_bonus
from nervure.engine.desk import AHEAD, At
from nervure.engine.knowledge import is_refused, pay
from nervure.engine.layout import Mask, MoveNumber, Number, Seat
from nervure.engine.stocks import (
    draw,
    fill_open,
    fill_secret,
    hold_secret,
    show,
    turn_up,
    under_stock,
)
from nervure.engine.strands import (
    add_loose,
    add_to_hand,
    any_tier,
    card_at,
    count_cards,
    hand_kind,
    kind_at,
    look_up,
    next_seat,
    put_down,
    seat_place,
    take_from_hand,
    take_loose,
    take_up,
    tiers_of_code,
    whole,
    word,
)
from nervure.game.tables import (
    MOST_OPEN_TARGETS,
    MOST_SECRET_TARGETS,
    POINTS_COLUMNS,
    Rule,
)


@inner
def play_card(desk, numbers, masks, seat, kind):
    """Take a placed kind's card out of the hand, as played."""
    held = hand_kind(desk, kind)
    take_from_hand(numbers, masks, seat, held)
    numbers[Number.PLAYED + held] += 1


@inner
def settle_claim(desk, numbers, masks, seat, code, gap, any_tiers, target):
    """Claim a target with a strand that is off the table already.

    Points, counters, the next target card, the bonus of a full strand.
    """
    place = seat_place(seat)
    if gap > 0:
        # Only the distal side claims and counts.
        numbers[Number.CLAIMED + desk.rules[Rule.VARIANT_KIND]] += 1
        proximal = code % whole(desk, At.PLACES, gap)
        code -= proximal
        number = np.int64(look_up(desk, proximal))
        count_cards(desk, number, any_tiers, numbers, Number.CLAIMED, 1)
    number = np.int64(look_up(desk, code))
    count_cards(desk, number, any_tiers, numbers, Number.CLAIMED, 1)
    cards = popcount(np.uint64(whole(desk, At.TIERS, number)))
    numbers[Number.SCORED] = 1
    points = np.int64(
        whole(desk, At.POINTS, target * POINTS_COLUMNS + min(cards, POINTS_COLUMNS - 1))
    )
    extra = np.int64(numbers[place + Seat.KIND_POINTS + whole(desk, At.TARGET_KIND, target)])
    numbers[place + Seat.POINTS] += points + extra
    numbers[place + Seat.POINTS_LENGTH] += points
    numbers[place + Seat.POINTS_BONUS] += extra
    numbers[place + Seat.CLAIMS] += 1
    if numbers[place + Seat.FIRST_CLAIM] < 0:
        numbers[place + Seat.FIRST_CLAIM] = numbers[Number.TURN]
    full = (
        word(desk, At.FULL, AHEAD * number)
        if target < 64
        else word(desk, At.FULL, AHEAD * number + 1)
    )
    is_full = (full >> np.uint64(target & 63)) & ONE != ZERO
    if is_full:
        numbers[place + Seat.FULL_CLAIMS] += 1
    if desk.rules[At.TRUE_CLAIMS] >= 0:
        true = word(desk, At.TRUE_CLAIMS, 2 * number + (target >> 6))
        if (true >> np.uint64(target & 63)) & ONE == ZERO:
            numbers[place + Seat.UNTRUE_CLAIMS] += 1
    numbers[Number.TARGET_SEATS + target] |= 1 << seat
    numbers[Number.TARGET_CLAIMED + target] += 1
    numbers[Number.CLAIM_LENGTH + target] += cards
    since = replace_target(desk, numbers, masks, seat, target)
    numbers[Number.CLAIM_WAIT + target] += numbers[Number.TURN] - since
    if is_full and desk.rules[Rule.BONUSES] > 0:
        bonus = printed_bonus(desk, number, any_tiers, target)
        if bonus >= 0:
            earn(desk, numbers, masks, seat, bonus)


@inner
def printed_bonus(desk, number, any_tiers, target):
    """Give the bonus printed on a target, or on the strand's card of the bonus tier."""
    tier = desk.rules[Rule.BONUS_TIER]
    if tier < 0:
        return whole(desk, At.CARD_BONUS, target)
    if (whole(desk, At.TIERS, number) >> tier) & 1 == 0:
        return np.int64(-1)
    return whole(desk, At.CARD_BONUS, card_at(desk, number, tier, any_tiers))


@inner
def replace_target(desk, numbers, masks, seat, target):
    """Take a claimed target card away and put the next one where it lay.

    The open card goes before the secret one. Gives the turn since when it lay there.
    """
    for place in range(MOST_OPEN_TARGETS):
        if numbers[Number.OPEN + place] == target:
            since = np.int64(numbers[Number.OPEN_SINCE + place])
            turn_up(desk.rules, numbers, place)
            fill_open(numbers, masks)
            return since
    start = seat_place(seat)
    for place in range(MOST_SECRET_TARGETS):
        if numbers[start + Seat.SECRET + place] == target:
            since = np.int64(numbers[start + Seat.SECRET_SINCE + place])
            hold_secret(desk.rules, numbers, seat, place)
            fill_secret(numbers, masks, seat)
            return since
    return np.int64(numbers[Number.TURN])


@inner
def do_simple_draw(desk, numbers, masks, seat, number, kind):
    """Do a draw that leaves the table alone."""
    if number == MoveNumber.SWAP:
        take_from_hand(numbers, masks, seat, kind)
        if desk.rules[Rule.SWAP_UNDER] != 0:
            under_stock(desk.rules, numbers, kind)
        else:
            numbers[Number.PILE + kind] += 1
    if number == MoveNumber.DRAW_DISPLAY:
        numbers[Number.DISPLAY + kind] -= 1
        if numbers[Number.DISPLAY + kind] == 0:
            masks[Mask.DISPLAY] &= ~bit(kind)
        numbers[Number.DRAWN + kind] += 1
        add_to_hand(numbers, masks, seat, kind)
        show(desk.rules, numbers, masks)
    else:
        draw(desk.rules, numbers, masks, seat)


@inner
def lift_end(desk, numbers, masks, seat, code, gap, any_tiers, end):
    """Give what is left of a strand without an end card, and that card's placed kind.

    A side of a gap that this empties closes the gap: the variant card goes to the hand.
    """
    tiers = np.uint64(tiers_of_code(desk, code))
    tier = highest(tiers) if end == 1 else lowest(tiers)
    kind = np.int64(kind_at(desk, code, tier, any_tiers))
    code -= whole(desk, At.KIND_CODE, kind)
    if gap > 0:
        proximal = code % whole(desk, At.PLACES, gap)
        if proximal == 0 or proximal == code:
            gap = np.int64(0)
            add_to_hand(numbers, masks, seat, desk.rules[Rule.VARIANT_KIND])
    return code, gap, any_tiers & ~any_tier(desk, kind), kind


@inner
def do_move(desk, numbers, masks):
    """Do the chosen move; tells whether the turn closes.

    A move on the table takes strands up, changes them, and puts one down again; each of
    these stands here once, for what is folded in twice is compiled twice.
    """
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
    if numbers[seat_place(seat) + Seat.PARTLY] != 0 and is_refused(desk, numbers, masks, seat):
        return False
    if number == MoveNumber.TAKE_LOOSE or number >= MoveNumber.USE:
        if asks_rival(desk, numbers, masks):
            return False
        number = np.int64(numbers[chosen])
        if number == MoveNumber.USE:
            use_bonus(desk, numbers, masks)
            return False
        if numbers[Number.CANCELLED] != 0:
            numbers[Number.DRAWS] -= 1
            return False
    pay(desk, numbers, number)
    first = np.int64(numbers[chosen + 1])
    second = np.int64(numbers[chosen + 2])
    if number <= MoveNumber.SWAP:
        do_simple_draw(desk, numbers, masks, seat, number, first)
        return False
    if number == MoveNumber.LAY or number == MoveNumber.ATTACH or number == MoveNumber.ATTACH_GAP:
        play_card(desk, numbers, masks, seat, first if number == MoveNumber.LAY else second)
        if number == MoveNumber.LAY:
            add_loose(desk, numbers, masks, seat, first)
            return False

    # Take up: the later of two strands first, so that the other's place holds.
    own = second if number == MoveNumber.TAKE_LOOSE else first
    code, gap, any_tiers = np.int64(0), np.int64(0), np.int64(0)
    for again in range(2 if number == MoveNumber.JOIN else 1):
        strand = second if number == MoveNumber.JOIN and again == 0 else own
        more, gap, more_tiers = take_up(desk, numbers, masks, seat, strand)
        code += more
        any_tiers |= more_tiers
    if number == MoveNumber.LIFT:
        if numbers[Number.STOCK_SIZE] == 0:
            numbers[seat_place(seat) + Seat.LATE_LIFTS] -= 1
        code, gap, any_tiers, kind = lift_end(
            desk, numbers, masks, seat, code, gap, any_tiers, second
        )
        add_to_hand(numbers, masks, seat, hand_kind(desk, kind))
    else:
        numbers[Number.ACTIVE] = 1
    if number == MoveNumber.CLAIM:
        settle_claim(desk, numbers, masks, seat, code, gap, any_tiers, second)
        return False
    if number == MoveNumber.ATTACH_GAP:
        variant = desk.rules[Rule.VARIANT_KIND]
        take_from_hand(numbers, masks, seat, variant)
        numbers[Number.PLAYED + variant] += 1
        gap = gap_tier(desk, code, second)
    kind = second
    if number == MoveNumber.TAKE_LOOSE:
        kind = np.int64(numbers[chosen + 3])
        take_loose(desk, numbers, masks, next_seat(desk, seat, first), kind)
        numbers[Number.TAKES] += 1
    if number != MoveNumber.LIFT and number != MoveNumber.JOIN:
        code += whole(desk, At.KIND_CODE, kind)
        any_tiers |= any_tier(desk, kind)
    if code > 0:
        put_down(desk, numbers, masks, seat, code, gap, any_tiers)
    return False


@inner
def gap_tier(desk, code, kind):
    """Give the gap tier of a strand that a card goes to over a gap: the distal side's first."""
    tiers = np.uint64(tiers_of_code(desk, code))
    tier = whole(desk, At.KIND_TIER, kind)
    return tier if tier > highest(tiers) else lowest(tiers)
