"""The styles `sprinter` and `builder`: greedy, without chance, by what is seen at the table.

Both put a number on a strand, its *worth*, less is better: for the sprinter how many cards it
lacks to claim a target that the seat may claim now (0 to 3, `DEAD` for more or never); for
the builder how many it lacks to claim one with a full strand, and only where that is out of
sight, 4 more than the sprinter's. *Want* of a card: the least worth of a strand that it makes,
attached to one on the table, or laid and met by a card of the hand (one more). In order:

1. A claim, the most points first; the builder waits while the strand may still become full,
   unless the stock is empty, the last round has begun, or a rival stands one claim or a sixth
   of the points before the end.
2. A join that makes a better strand than both.
3. The draw: a display card that is wanted more than every card in the hand; else a rival's
   loose card, likewise; else a swap of the least wanted card, if it is wanted little; else
   the stock. A lift only where nothing else can be drawn: the dearest loose card first.
4. The play whose strand has the least worth, then the best next card in hand; the sprinter
   lays rather than attach where both come out alike, the builder attaches. A play that kills
   a strand is left out where it may be.
5. Before a draw: a bonus, as soon as it does good; a take is always cancelled.
6. A pass, where it is allowed, if nothing can be drawn and every play is dead.

A player who knows only a part of the map tries what it believes: a strand that cannot be has no
worth in the tables, and is taken to lack one card fewer for every card put to it, but one at
least (`worth_tried`). What is alike is told apart by the order of the list of moves offered.
Kernel functions only; they write the move to CHOSEN.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import ONE, ZERO, apart, bit, inner, lowest, popcount, stay_apart
from nervure.engine.bonuses import (
    asking_part,
    bonus_part,
    count_uses,
    end_card,
    place_arguments,
)
from nervure.engine.desk import AHEAD, At
from nervure.engine.layout import Mask, MoveNumber, Number, Seat, SeatMask
from nervure.engine.offers import offered_claims_of, offered_kinds_of, offers_join
from nervure.engine.strands import (
    least_claim,
    look_up,
    loose_kind,
    next_seat,
    placed,
    record,
    seat_masks,
    seat_place,
    whole,
    word,
)
from nervure.game.tables import LOOK_AHEAD, MOST_KINDS, POINTS_COLUMNS, Does, Rule

DEAD = 4
WORST = 99


@inner
def lacks(desk, table, number, low, high, enough):
    """Give how many cards a strand lacks for one of some targets, `DEAD` for many.

    ``table``: At.CLAIMS or At.FULL.
    """
    place = desk.rules[table] + AHEAD * number
    for ahead in range(LOOK_AHEAD + 1):
        found = (desk.words[place] & low) | (desk.words[place + 1] & high)
        if found != ZERO and (ahead > 0 or enough):
            return ahead
        place += 2
    return DEAD


@apart
def worth(desk, builder, number, low, high, least):
    """Give the worth of a strand by its dense id; less is better."""
    stay_apart()
    enough = popcount(np.uint64(whole(desk, At.TIERS, number))) >= least
    short = lacks(desk, At.CLAIMS, number, low, high, enough)
    if builder:
        return 2 * short + lacks(desk, At.FULL, number, low, high, enough)
    return short


@inner
def nearer(short, cards):
    """Give how many cards are lacked after so many more that lead nearer, one at least."""
    return short if short == DEAD else max(np.int64(1), short - cards)


@apart
def worth_tried(desk, builder, number, cards, low, high, least):
    """Give the worth that a strand would have with so many more cards that it does not take."""
    stay_apart()
    enough = popcount(np.uint64(whole(desk, At.TIERS, number))) >= least
    short = nearer(np.int64(lacks(desk, At.CLAIMS, number, low, high, enough)), cards)
    if builder:
        full = np.int64(lacks(desk, At.FULL, number, low, high, enough))
        return 2 * short + nearer(full, cards)
    return short


@inner
def strand_code(desk, numbers, masks, seat, strand):
    """Give the code of a strand's claiming side, and the first tier of that side if gapped."""
    if strand < numbers[seat_place(seat) + Seat.STRANDS]:
        key = np.int64(numbers[record(seat, strand)])
        code, gap = key >> 9, (key >> 6) & 7
        if gap > 0:
            code -= code % whole(desk, At.PLACES, gap)
        return code, gap
    return np.int64(whole(desk, At.KIND_CODE, loose_kind(numbers, masks, seat, strand))), np.int64(
        0
    )


@inner
def with_card(desk, code, gap, kind):
    """Give the dense id of a strand's claiming side after it has taken in a card."""
    if gap == 0 or whole(desk, At.KIND_TIER, kind) >= gap:
        code += whole(desk, At.KIND_CODE, kind)
    return look_up(desk, code)


@inner
def worth_made(desk, builder, number, code, low, high, least):
    """Give the worth of the strand that a card makes of another one, whose code is given.

    ``number``: its dense id, -1 for one that cannot be.
    """
    if number < 0:
        before = np.int64(look_up(desk, code))
        return np.int64(worth_tried(desk, builder, before, np.int64(1), low, high, least))
    return np.int64(worth(desk, builder, number, low, high, least))


@apart
def want(desk, numbers, masks, seat, many, builder, kind, kinds, low, high, least):
    """Give the want of a placed kind; `kinds`: what else the hand can put down."""
    stay_apart()
    best = np.int64(WORST)
    for strand in range(many):
        fits = offered_kinds_of(desk, numbers, masks, seat, strand)
        if (fits >> np.uint64(kind)) & ONE != ZERO:
            code, gap = strand_code(desk, numbers, masks, seat, strand)
            number = with_card(desk, code, gap, kind)
            best = min(best, worth_made(desk, builder, number, code, low, high, least))
    rest = word(desk, At.KIND_ATTACH, kind) & kinds
    while rest != ZERO:
        other = lowest(rest)
        rest &= rest - ONE
        number = look_up(
            desk,
            whole(desk, At.KIND_CODE, kind) + whole(desk, At.KIND_CODE, other),
        )
        best = min(best, worth(desk, builder, number, low, high, least) + 1)
    return best


@inner
def choose_move(numbers, number, first, second, third):
    """Write a move to CHOSEN."""
    numbers[Number.CHOSEN] = number
    numbers[Number.CHOSEN + 1] = first
    numbers[Number.CHOSEN + 2] = second
    numbers[Number.CHOSEN + 3] = third


@inner
def is_urgent(desk, numbers, seat):
    """Tell whether the game may soon be over, by what all can see."""
    rules = desk.rules
    if numbers[Number.STOCK_SIZE] == 0 or numbers[Number.LAST_ROUND] != 0:
        return True
    urgent = False
    for rival in range(rules[Rule.SEATS]):
        if rival != seat:
            place = seat_place(rival)
            claims, points = rules[Rule.END_CLAIMS], rules[Rule.END_POINTS]
            if claims > 0 and numbers[place + Seat.CLAIMS] >= claims - 1:
                urgent = True
            if points > 0 and 6 * numbers[place + Seat.POINTS] >= 5 * points:
                urgent = True
    return urgent


@apart
def full_in_sight(desk, numbers, masks, seat, number, low, high):
    """Tell whether at most two cards of hand and display make a strand full."""
    stay_apart()
    kinds = placed(desk, masks[seat_masks(seat) + SeatMask.HAND] | masks[Mask.DISPLAY])
    code = whole(desk, At.CODES, number)
    rest = word(desk, At.ATTACH, number) & kinds
    while rest != ZERO:
        kind = lowest(rest)
        rest &= rest - ONE
        longer = code + whole(desk, At.KIND_CODE, kind)
        after = look_up(desk, longer)
        if lacks(desk, At.FULL, after, low, high, True) == 0:
            return True
        more = word(desk, At.ATTACH, after) & kinds
        while more != ZERO:
            other = lowest(more)
            more &= more - ONE
            last = look_up(desk, longer + whole(desk, At.KIND_CODE, other))
            if lacks(desk, At.FULL, last, low, high, True) == 0:
                return True
    return False


@apart
def choose_claim(desk, numbers, masks, seat, many, builder, low, high, least):
    """Choose a claim, if one is good; tells whether."""
    stay_apart()
    best = np.int64(-1)
    urgent = not builder or is_urgent(desk, numbers, seat)
    for strand in range(many):
        code, _ = strand_code(desk, numbers, masks, seat, strand)
        number = look_up(desk, code)
        cards = popcount(np.uint64(whole(desk, At.TIERS, number)))
        if cards >= least:
            waits = not urgent
            if waits:
                waits = full_in_sight(desk, numbers, masks, seat, number, low, high)
            for half in range(2):
                available = low if half == 0 else high
                found = available & offered_claims_of(
                    desk, numbers, masks, seat, strand, number, half
                )
                full = word(desk, At.FULL, AHEAD * number + half)
                while found != ZERO:
                    place = lowest(found)
                    found &= found - ONE
                    target = 64 * half + place
                    is_full = (full >> np.uint64(place)) & ONE != ZERO
                    value = 2 * np.int64(whole(desk, At.POINTS, target * POINTS_COLUMNS + cards))
                    if builder and is_full:
                        value += 1
                    if value > best and (is_full or not waits):
                        best = value
                        choose_move(numbers, MoveNumber.CLAIM, strand, target, 0)
    return best >= 0


@apart
def choose_join(desk, numbers, masks, seat, many, builder, low, high, least):
    """Choose a join that makes a better strand than both, if there is one; tells whether."""
    stay_apart()
    best = np.int64(WORST)
    for one in range(many):
        code, gap = strand_code(desk, numbers, masks, seat, one)
        if gap > 0:
            continue
        number = np.int64(look_up(desk, code))
        before = worth(desk, builder, number, low, high, least)
        for other in range(one + 1, many):
            more, more_gap = strand_code(desk, numbers, masks, seat, other)
            if more_gap > 0 or not offers_join(desk, numbers, masks, seat, one, other):
                continue
            others = np.int64(look_up(desk, more))
            other_before = worth(desk, builder, others, low, high, least)
            joined = np.int64(look_up(desk, code + more))
            if joined >= 0:
                after = np.int64(worth(desk, builder, joined, low, high, least))
            else:
                cards = popcount(np.uint64(whole(desk, At.TIERS, others)))
                after = np.int64(worth_tried(desk, builder, number, cards, low, high, least))
                cards = popcount(np.uint64(whole(desk, At.TIERS, number)))
                other_after = worth_tried(desk, builder, others, cards, low, high, least)
                after = min(after, np.int64(other_after))
            if after < before and after < other_before and after < best:
                best = after
                choose_move(numbers, MoveNumber.JOIN, one, other, 0)
    return best < WORST


@apart
def choose_draw(desk, numbers, masks, seat, many, builder, low, high, least):
    """Choose a draw; there is one."""
    stay_apart()
    counts = Number.COUNTS
    hand = masks[seat_masks(seat) + SeatMask.HAND]
    kinds = placed(desk, hand)
    held_best, held_worst, worst_kind = np.int64(WORST), np.int64(-1), np.int64(-1)
    best, choice = np.int64(WORST), np.int64(-1)
    # Cards in hand first, then those on display: a card is wanted only if more than all held.
    for turn in range(2):
        rest = kinds if turn == 0 else placed(desk, masks[Mask.DISPLAY])
        if turn == 1 and numbers[counts + MoveNumber.DRAW_DISPLAY] == 0:
            rest = ZERO
        while rest != ZERO:
            kind = lowest(rest)
            rest &= rest - ONE
            others = kinds
            if turn == 0 and numbers[Number.HAND + seat * MOST_KINDS + kind] == 1:
                others &= ~bit(kind)
            value = want(desk, numbers, masks, seat, many, builder, kind, others, low, high, least)
            if turn == 0:
                held_best = min(held_best, value)
                if value > held_worst and kind < desk.rules[Rule.STRUCTURES]:
                    held_worst, worst_kind = value, kind
            elif value < held_best and value < best:
                best = value
                choice = np.int64(kind)
    if choice >= 0:
        if choice >= desk.rules[Rule.FIRST_ANY_KIND]:
            choice = desk.rules[Rule.ANY_HAND_KIND]
        choose_move(numbers, MoveNumber.DRAW_DISPLAY, choice, 0, 0)
        return
    if numbers[counts + MoveNumber.TAKE_LOOSE] > 0:
        for on in range(1, desk.rules[Rule.SEATS]):
            rival = next_seat(desk, seat, on)
            if numbers[seat_place(rival) + Seat.GUARDED] == 0:
                theirs = masks[seat_masks(rival) + SeatMask.LOOSE]
                for strand in range(many):
                    rest = offered_kinds_of(desk, numbers, masks, seat, strand) & theirs
                    while rest != ZERO:
                        kind = lowest(rest)
                        rest &= rest - ONE
                        code, gap = strand_code(desk, numbers, masks, seat, strand)
                        number = with_card(desk, code, gap, kind)
                        value = worth_made(desk, builder, number, code, low, high, least)
                        if value < held_best and value < best:
                            best = value
                            choose_move(numbers, MoveNumber.TAKE_LOOSE, on, strand, kind)
        if best < WORST:
            return
    little = 7 if builder else 2
    if numbers[counts + MoveNumber.SWAP] > 0 and (
        held_worst > little or numbers[counts + MoveNumber.DRAW_STOCK] == 0
    ):
        swapped = worst_kind if worst_kind >= 0 else lowest(hand)
        choose_move(numbers, MoveNumber.SWAP, swapped, 0, 0)
    elif numbers[counts + MoveNumber.DRAW_STOCK] > 0:
        choose_move(numbers, MoveNumber.DRAW_STOCK, 0, 0, 0)
    elif numbers[counts + MoveNumber.DRAW_DISPLAY] > 0:
        choose_move(numbers, MoveNumber.DRAW_DISPLAY, lowest(masks[Mask.DISPLAY]), 0, 0)
    elif numbers[counts + MoveNumber.LIFT] > 0:
        choose_lift(desk, numbers, masks, seat, many, builder, low, high, least)
    else:
        rival_take(desk, numbers, masks, seat, many)


@apart
def choose_lift(desk, numbers, masks, seat, many, builder, low, high, least):
    """Choose the lift of the least useful loose card, else of a strand's distal end."""
    stay_apart()
    strands = np.int64(numbers[seat_place(seat) + Seat.STRANDS])
    if many == strands:
        choose_move(numbers, MoveNumber.LIFT, 0, 1, 0)
        return
    worst = np.int64(-1)
    for strand in range(strands, many):
        code, _ = strand_code(desk, numbers, masks, seat, strand)
        value = worth(desk, builder, look_up(desk, code), low, high, least)
        if value > worst:
            worst = value
            choose_move(numbers, MoveNumber.LIFT, strand, 0, 0)


@apart
def rival_take(desk, numbers, masks, seat, many):
    """Choose the first take, where nothing else can be drawn."""
    stay_apart()
    for on in range(1, desk.rules[Rule.SEATS]):
        rival = next_seat(desk, seat, on)
        if numbers[seat_place(rival) + Seat.GUARDED] == 0:
            theirs = masks[seat_masks(rival) + SeatMask.LOOSE]
            for strand in range(many):
                found = offered_kinds_of(desk, numbers, masks, seat, strand) & theirs
                if found != ZERO:
                    choose_move(numbers, MoveNumber.TAKE_LOOSE, on, strand, lowest(found))
                    return


@apart
def choose_play(desk, numbers, masks, seat, many, builder, low, high, least):
    """Choose a play, attach or lay; gives the worth of the strand it makes, `WORST` if none."""
    stay_apart()
    mine = seat_masks(seat)
    kinds = placed(desk, masks[mine + SeatMask.HAND])
    best, best_worth = np.int64(WORST * WORST), np.int64(WORST)
    for strand in range(many + 1):
        # The place after the last strand stands for a new loose card.
        is_new = strand == many
        code, gap = np.int64(0), np.int64(0)
        rest = kinds
        if not is_new:
            code, gap = strand_code(desk, numbers, masks, seat, strand)
            rest &= offered_kinds_of(desk, numbers, masks, seat, strand)
        while rest != ZERO:
            kind = lowest(rest)
            rest &= rest - ONE
            number = with_card(desk, code, gap, kind)
            made = worth_made(desk, builder, number, code, low, high, least)
            others = kinds
            if kind < MOST_KINDS and numbers[Number.HAND + seat * MOST_KINDS + kind] == 1:
                others &= ~bit(kind)
            after = np.int64(WORST)
            follow = word(desk, At.ATTACH, number) & others if number >= 0 else ZERO
            while follow != ZERO:
                other = lowest(follow)
                follow &= follow - ONE
                longer = look_up(
                    desk,
                    new_code(desk, code, gap, kind) + whole(desk, At.KIND_CODE, other),
                )
                if longer >= 0:
                    after = min(after, worth(desk, builder, longer, low, high, least))
            value = 16 * made + min(after, np.int64(15))
            value = 4 * value + (2 if is_new == builder else 0)
            if is_new and (masks[mine + SeatMask.LOOSE] >> np.uint64(kind)) & ONE != ZERO:
                value += 48
            if value < best:
                best, best_worth = value, np.int64(made)
                if is_new:
                    choose_move(numbers, MoveNumber.LAY, kind, 0, 0)
                else:
                    choose_move(numbers, MoveNumber.ATTACH, strand, kind, 0)
    return best_worth


@inner
def new_code(desk, code, gap, kind):
    """Give the code of a strand's claiming side after it has taken in a card."""
    if gap == 0 or whole(desk, At.KIND_TIER, kind) >= gap:
        return code + whole(desk, At.KIND_CODE, kind)
    return code


@apart
def choose_use(desk, numbers, masks, seat, many, builder, low, high, least):
    """Choose the use of a bonus, if one does good; tells whether.

    Judged by its first part that asks for something: an exchange takes away the open target
    that the seat's strands are furthest from, if they are not near it; a take the card that
    is wanted most; a moved end must make its new strand better than both were.
    """
    stay_apart()
    uses = np.int64(numbers[Number.COUNTS + MoveNumber.USE])
    best, choice = np.int64(WORST), np.int64(-1)
    kinds = placed(desk, masks[seat_masks(seat) + SeatMask.HAND])
    for use in range(uses):
        count_uses(desk, numbers, masks, seat, use)
        bonus = np.int64(numbers[Number.CHOSEN + 1])
        place_arguments(desk, numbers, masks, bonus)
        value = np.int64(0)
        asking = 0 if numbers[Number.ASKING] >= 0 else 1
        at = np.int64(numbers[Number.ASKING + asking])
        part = asking_part(desk, bonus, asking)
        if part >= 0 and at >= 0:
            does = bonus_part(desk, bonus, part, 0)
            first = np.int64(numbers[at])
            if does == Does.EXCHANGE_OPEN:
                near = DEAD
                for strand in range(many):
                    code, _ = strand_code(desk, numbers, masks, seat, strand)
                    one_low = bit(first) if first < 64 else ZERO
                    one_high = bit(first - 64) if first >= 64 else ZERO
                    number = look_up(desk, code)
                    near = min(near, lacks(desk, At.CLAIMS, number, one_low, one_high, True))
                value = np.int64(DEAD - near) if near > 1 else np.int64(WORST)
            elif does == Does.TAKE_ANY_LOOSE:
                kind = np.int64(numbers[at + 1])
                value = want(
                    desk, numbers, masks, seat, many, builder, kind, kinds, low, high, least
                )
                value = min(value, np.int64(WORST - 1))
            else:
                goal = np.int64(numbers[at + 2])
                kind = end_card(desk, numbers, masks, seat, first, np.int64(numbers[at + 1]))
                code, gap = strand_code(desk, numbers, masks, seat, goal)
                before = worth(desk, builder, look_up(desk, code), low, high, least)
                number = with_card(desk, code, gap, kind)
                value = worth(desk, builder, number, low, high, least)
                code, _ = strand_code(desk, numbers, masks, seat, first)
                if value >= min(
                    before, worth(desk, builder, look_up(desk, code), low, high, least)
                ):
                    value = np.int64(WORST)
        if value < best:
            best, choice = value, np.int64(use)
    if choice >= 0:
        count_uses(desk, numbers, masks, seat, choice)
    return choice >= 0


@apart
def choose_greedily(desk, numbers, masks, seat, builder):
    """Choose among the legal moves as the module says. Reads the counts, writes CHOSEN."""
    stay_apart()
    counts = Number.COUNTS
    if numbers[Number.ROBBED] >= 0:
        choose_move(numbers, MoveNumber.CANCEL, 0, 0, 0)
        return
    place, mine = seat_place(seat), seat_masks(seat)
    many = np.int64(numbers[place + Seat.STRANDS]) + popcount(masks[mine + SeatMask.LOOSE])
    low = masks[Mask.OPEN] | masks[mine + SeatMask.SECRET]
    high = masks[Mask.OPEN + 1] | masks[mine + SeatMask.SECRET + 1]
    least = least_claim(desk, numbers, seat)
    if numbers[counts + MoveNumber.CLAIM] > 0 and choose_claim(
        desk, numbers, masks, seat, many, builder, low, high, least
    ):
        return
    if numbers[counts + MoveNumber.JOIN] > 0 and choose_join(
        desk, numbers, masks, seat, many, builder, low, high, least
    ):
        return
    if numbers[counts + MoveNumber.USE] > 0 and choose_use(
        desk, numbers, masks, seat, many, builder, low, high, least
    ):
        return
    draws = 0
    for number in range(MoveNumber.DRAW_STOCK, MoveNumber.LIFT + 1):
        draws += numbers[counts + number]
    if draws > 0:
        choose_draw(desk, numbers, masks, seat, many, builder, low, high, least)
        return
    found = np.int64(WORST)
    if numbers[counts + MoveNumber.LAY] > 0:
        found = choose_play(desk, numbers, masks, seat, many, builder, low, high, least)
    dead = 3 * DEAD if builder else DEAD
    if found >= dead:
        if numbers[counts + MoveNumber.PASS] > 0:
            choose_move(numbers, MoveNumber.PASS, 0, 0, 0)
        elif numbers[counts + MoveNumber.END] > 0:
            choose_move(numbers, MoveNumber.END, 0, 0, 0)
        elif numbers[counts + MoveNumber.LAY] == 0:
            choose_rest(desk, numbers, masks, seat, many)


@apart
def choose_rest(desk, numbers, masks, seat, many):
    """Choose a join or a claim that the turn cannot do without, where it is a play."""
    stay_apart()
    low = masks[Mask.OPEN] | masks[seat_masks(seat) + SeatMask.SECRET]
    high = masks[Mask.OPEN + 1] | masks[seat_masks(seat) + SeatMask.SECRET + 1]
    least = least_claim(desk, numbers, seat)
    if numbers[Number.COUNTS + MoveNumber.CLAIM] > 0:
        choose_claim(desk, numbers, masks, seat, many, False, low, high, least)
        return
    for one in range(many):
        for other in range(one + 1, many):
            if offers_join(desk, numbers, masks, seat, one, other):
                choose_move(numbers, MoveNumber.JOIN, one, other, 0)
                return
