"""Setting up, opening and closing turns, the end of a game. Kernel functions only.

What is done once a turn or once a game is compiled apart, with the few arrays it needs.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import ONE, ZERO, apart, inner, lowest, popcount, stay_apart
from nervure.engine.desk import At
from nervure.engine.games import EndedBy, Tie
from nervure.engine.layout import (
    KIND_COLUMNS,
    SEAT_COLUMNS,
    SEAT_NUMBERS,
    TARGET_COLUMNS,
    Mask,
    Number,
    Row,
    Seat,
    SeatMask,
)
from nervure.engine.randomness import PLAYERS, key_of
from nervure.engine.stocks import draw, fill_open, fill_secret, hold_secret, show, turn_up
from nervure.engine.strands import count_cards, hand_kind, record, seat_masks, seat_place, whole
from nervure.game.tables import (
    MOST_BONUSES,
    MOST_KINDS,
    MOST_OPEN_TARGETS,
    MOST_SECRET_TARGETS,
    MOST_TIE_BREAKS,
    Rule,
    TieBreak,
)

WHOLE_SHARE = 60


@inner
def wipe(rules, numbers, masks):
    """Clear what the last game left in the parts that this design uses."""
    for place in range(Number.SEATS):
        numbers[place] = 0
    for kind in range(MOST_KINDS):
        numbers[Number.DISPLAY + kind] = 0
        numbers[Number.PILE + kind] = 0
        numbers[Number.DRAWN + kind] = 0
        numbers[Number.PLAYED + kind] = 0
        numbers[Number.CLAIMED + kind] = 0
    for target in range(rules[Rule.TARGETS]):
        numbers[Number.TARGET_OPEN + target] = 0
        numbers[Number.TARGET_CLAIMED + target] = 0
        numbers[Number.CLAIM_LENGTH + target] = 0
        numbers[Number.CLAIM_WAIT + target] = 0
        numbers[Number.TARGET_SEATS + target] = 0
    for place in range(MOST_OPEN_TARGETS):
        numbers[Number.OPEN + place] = -1
    masks[Mask.DISPLAY] = ZERO
    for seat in range(rules[Rule.SEATS]):
        place, mine = seat_place(seat), seat_masks(seat)
        for column in range(SEAT_NUMBERS):
            numbers[place + column] = 0
        for column in range(MOST_SECRET_TARGETS):
            numbers[place + Seat.SECRET + column] = -1
        for kind in range(MOST_KINDS):
            numbers[Number.HAND + seat * MOST_KINDS + kind] = 0
            numbers[Number.LOOSE + seat * MOST_KINDS + kind] = 0
        for bonus in range(rules[Rule.BONUSES]):
            numbers[Number.BONUS + seat * MOST_BONUSES + bonus] = 0
        numbers[place + Seat.LATE_LIFTS] = rules[Rule.LATE_LIFTS]
        numbers[place + Seat.FIRST_CLAIM] = -1
        masks[mine + SeatMask.HAND] = ZERO
        masks[mine + SeatMask.LOOSE] = ZERO
    numbers[Number.SCORED] = 1
    numbers[Number.ROBBED] = -1
    numbers[Number.LEADER] = -1
    numbers[Number.LAST_LEADER] = -1


@apart
def set_up(rules, numbers, masks, seed, deal, cards, targets):
    """Set up a game from its two keyed decks; who sits where is written by `seat_players`."""
    stay_apart()
    wipe(rules, numbers, masks)
    seats = rules[Rule.SEATS]
    for place in range(rules[Rule.PART_CARDS]):
        numbers[Number.STOCK + place] = cards[place]
    for place in range(rules[Rule.TARGET_CARDS]):
        numbers[Number.TARGET_STOCK + place] = targets[place]
    numbers[Number.STOCK_SIZE] = rules[Rule.PART_CARDS]
    numbers[Number.TARGET_SIZE] = rules[Rule.TARGET_CARDS]
    for _ in range(rules[Rule.HAND]):
        for seat in range(seats):
            if numbers[Number.STOCK_SIZE] > 0:
                draw(rules, numbers, masks, seat)
    for seat in range(seats):
        for _ in range(rules[Rule.SEAT_CARDS + seat]):
            if numbers[Number.STOCK_SIZE] > 0:
                draw(rules, numbers, masks, seat)
    for _ in range(rules[Rule.DISPLAY]):
        show(rules, numbers, masks)
    for place in range(rules[Rule.OPEN_TARGETS]):
        turn_up(rules, numbers, place)
    for place in range(rules[Rule.SECRET_TARGETS]):
        for seat in range(seats):
            hold_secret(rules, numbers, seat, place)
    fill_open(numbers, masks)
    for seat in range(seats):
        fill_secret(numbers, masks, seat)
        masks[seat_masks(seat) + SeatMask.OPENING] = masks[seat_masks(seat) + SeatMask.HAND]
        masks[Mask.STREAM + seat] = key_of(seed, deal, np.uint64(PLAYERS + seat))
    numbers[Number.ROUND] = 1
    open_turn(rules, numbers)


@inner
def seat_players(rules, numbers, rotation, reversed_order):
    """Write who sits where: player p in seat (p + rotation) mod n, or counted backwards."""
    seats = rules[Rule.SEATS]
    for player in range(seats):
        place = seats - 1 - player if reversed_order else player
        seat = (place + rotation) % seats
        numbers[seat_place(seat) + Seat.PLAYER] = player


@inner
def open_turn(rules, numbers):
    """Open the turn of the seat to move."""
    numbers[Number.TURN] += 1
    numbers[Number.DRAWS] = rules[Rule.DRAW_COUNT]
    numbers[Number.PLAYS] = rules[Rule.PLAY_COUNT]
    numbers[Number.BEGAN] = 0
    numbers[Number.FRESH] = 1
    numbers[Number.ACTIVE] = 0
    numbers[Number.JUDGED] = 0


@inner
def note_leader(rules, numbers):
    """Write who leads alone after this turn, and count a change of the lead."""
    if numbers[Number.SCORED] == 0:
        numbers[Number.LEADERS + numbers[Number.TURN]] = numbers[Number.LEADER]
        return
    numbers[Number.SCORED] = 0
    best, leader = np.int64(-(1 << 30)), np.int64(-1)
    for seat in range(rules[Rule.SEATS]):
        points = np.int64(numbers[seat_place(seat) + Seat.POINTS])
        if points > best:
            best, leader = points, np.int64(seat)
        elif points == best:
            leader = np.int64(-1)
    numbers[Number.LEADER] = leader
    numbers[Number.LEADERS + numbers[Number.TURN]] = leader
    if leader >= 0:
        if numbers[Number.LAST_LEADER] >= 0 and numbers[Number.LAST_LEADER] != leader:
            numbers[Number.LEAD_CHANGES] += 1
        numbers[Number.LAST_LEADER] = leader


@inner
def end_reached(rules, numbers):
    """Tell whether a value of `end` is reached by anyone, looked at now."""
    reached = False
    if rules[Rule.END_CLAIMS] > 0 or rules[Rule.END_POINTS] > 0:
        for seat in range(rules[Rule.SEATS]):
            place = seat_place(seat)
            if 0 < rules[Rule.END_CLAIMS] <= numbers[place + Seat.CLAIMS]:
                reached = True
            if 0 < rules[Rule.END_POINTS] <= numbers[place + Seat.POINTS]:
                reached = True
    if 0 < rules[Rule.END_ROUNDS] <= numbers[Number.ROUND]:
        reached = True
    if 0 < rules[Rule.END_TURNS] <= numbers[Number.TURN]:
        reached = True
    return reached or (rules[Rule.END_STOCK] != 0 and numbers[Number.STOCK_SIZE] == 0)


@apart
def close_turn(rules, numbers, masks):
    """Close the turn; ends the game, or opens the next turn. Tells whether it has ended."""
    stay_apart()
    seat = np.int64(numbers[Number.SEAT])
    seats = rules[Rule.SEATS]
    place = seat_place(seat)
    if rules[Rule.REFILL] != 0:
        limit = rules[Rule.HAND] + numbers[place + Seat.EXTRA_HAND]
        while numbers[place + Seat.HAND_SIZE] < limit and numbers[Number.STOCK_SIZE] > 0:
            draw(rules, numbers, masks, seat)
    passed = np.int64(numbers[Number.PASSED])
    if numbers[Number.FRESH] == 0:
        numbers[Number.STILL] = 0
    elif (passed >> seat) & 1 == 0:
        numbers[Number.STILL] += 1
    if numbers[Number.ACTIVE] == 0:
        numbers[Number.IDLE] += 1
    note_leader(rules, numbers)

    in_game = seats - popcount(np.uint64(passed))
    if in_game == 0 and rules[Rule.END_PASSED] != 0:
        numbers[Number.ENDED] = EndedBy.OWN_RULE + 1
        return True
    if end_reached(rules, numbers):
        numbers[Number.LAST_ROUND] = 1
    later = (passed >> (seat + 1)) ^ ((1 << (seats - seat - 1)) - 1)
    if numbers[Number.LAST_ROUND] != 0 and later == 0:
        numbers[Number.ENDED] = EndedBy.OWN_RULE + 1
        return True
    if targets_gone(rules, numbers, masks):
        numbers[Number.ENDED] = EndedBy.TARGETS_GONE + 1
        return True
    if numbers[Number.STILL] >= in_game:
        numbers[Number.ENDED] = EndedBy.NOBODY_MOVES + 1
        return True
    if numbers[Number.TURN] >= 4 * rules[Rule.PART_CARDS] + 100:
        numbers[Number.ENDED] = EndedBy.UNFINISHED + 1
        return True

    if later != 0:
        seat += 1 + lowest(np.uint64(later))
    else:
        seat = lowest(np.uint64(passed ^ ((1 << seats) - 1)))
        numbers[Number.ROUND] += 1
    numbers[Number.SEAT] = seat
    open_turn(rules, numbers)
    return False


@inner
def targets_gone(rules, numbers, masks):
    """Tell whether no target is open, secret or in the target stock."""
    if numbers[Number.TARGET_SIZE] > 0 or (masks[Mask.OPEN] | masks[Mask.OPEN + 1]) != ZERO:
        return False
    for seat in range(rules[Rule.SEATS]):
        mine = seat_masks(seat) + SeatMask.SECRET
        if (masks[mine] | masks[mine + 1]) != ZERO:
            return False
    return True


@inner
def cards_held(desk, numbers, seat):
    """Give the part cards that a seat has in hand and on the table."""
    place = seat_place(seat)
    cards = np.int64(numbers[place + Seat.HAND_SIZE])
    for kind in range(desk.rules[Rule.PLACED_KINDS]):
        cards += numbers[Number.LOOSE + seat * MOST_KINDS + kind]
    for strand in range(numbers[place + Seat.STRANDS]):
        at = record(seat, strand)
        many = popcount(np.uint64(whole(desk, At.TIERS, numbers[at + 1])))
        if numbers[at + 2] >= 0:
            many += popcount(np.uint64(whole(desk, At.TIERS, numbers[at + 2]))) + 1
        cards += many * numbers[at + 3]
    return cards


@inner
def standing(desk, numbers, seat, rule):
    """Give how well a seat stands by a tie-break; more is better."""
    place = seat_place(seat)
    if rule == TieBreak.FULL_STRANDS:
        return np.int64(numbers[place + Seat.FULL_CLAIMS])
    if rule == TieBreak.FEWEST_CARDS:
        return -cards_held(desk, numbers, seat)
    if rule == TieBreak.CLAIMS:
        return np.int64(numbers[place + Seat.CLAIMS])
    if rule == TieBreak.LAST_SEAT:
        return np.int64(seat)
    return np.int64((numbers[Number.TARGET_SEATS + rule - TieBreak.TARGET] >> seat) & 1)


@inner
def share_win(desk, numbers):
    """Write each seat's share of the win, in sixtieths, and how the tie was told apart."""
    seats = desk.rules[Rule.SEATS]
    if seats == 1:
        return
    tied = 0
    best = np.int64(-(1 << 30))
    for seat in range(seats):
        points = np.int64(numbers[seat_place(seat) + Seat.POINTS])
        if points > best:
            best, tied = points, 0
        if points == best:
            tied |= 1 << seat
    if tied & (tied - 1) != 0:
        numbers[Number.TIE] = Tie.TIE_BREAK
        for column in range(MOST_TIE_BREAKS):
            rule = desk.rules[Rule.TIE_BREAKS + column]
            if rule != TieBreak.NONE and tied & (tied - 1) != 0:
                best, kept = np.int64(-(1 << 30)), 0
                for seat in range(seats):
                    if (tied >> seat) & 1:
                        value = standing(desk, numbers, seat, rule)
                        if value > best:
                            best, kept = value, 0
                        if value == best:
                            kept |= 1 << seat
                tied = kept
        if tied & (tied - 1) != 0:
            numbers[Number.TIE] = Tie.SHARED
    share = WHOLE_SHARE // popcount(np.uint64(tied))
    for seat in range(seats):
        if (tied >> seat) & 1:
            numbers[seat_place(seat) + Seat.SHARE] = share


@inner
def count_left(desk, numbers, masks, row, start):
    """Add up, by hand kind, the cards in hands and on the table."""
    for seat in range(desk.rules[Rule.SEATS]):
        for kind in range(desk.rules[Rule.HAND_KINDS]):
            row[start + kind] += numbers[Number.HAND + seat * MOST_KINDS + kind]
        rest = masks[seat_masks(seat) + SeatMask.LOOSE]
        while rest != ZERO:
            kind = lowest(rest)
            rest &= rest - ONE
            row[start + hand_kind(desk, kind)] += numbers[Number.LOOSE + seat * MOST_KINDS + kind]
        for strand in range(numbers[seat_place(seat) + Seat.STRANDS]):
            at = record(seat, strand)
            key, many = np.int64(numbers[at]), np.int64(numbers[at + 3])
            count_cards(desk, np.int64(numbers[at + 1]), key & 63, row, start, many)
            if numbers[at + 2] >= 0:
                count_cards(desk, np.int64(numbers[at + 2]), key & 63, row, start, many)
                row[start + desk.rules[Rule.VARIANT_KIND]] += numbers[at + 3]


@apart
def write_row(desk, numbers, masks, row, rotation):
    """Write the row of a finished game, as `Row` and docs/engine.md say."""
    stay_apart()
    share_win(desk, numbers)
    turns = np.int64(numbers[Number.TURN])
    row[Row.ROTATION] = rotation
    row[Row.TURNS] = turns
    row[Row.DECISIONS] = numbers[Number.DECISIONS]
    row[Row.CHOICES] = numbers[Number.CHOICES]
    row[Row.FORCED] = numbers[Number.FORCED]
    row[Row.ENDED_BY] = numbers[Number.ENDED] - 1
    row[Row.TIE] = numbers[Number.TIE]
    row[Row.IDLE] = numbers[Number.IDLE]
    row[Row.STUCK] = numbers[Number.STUCK]
    row[Row.TURNS_JUDGED] = turns
    row[Row.LEAD_CHANGES] = numbers[Number.LEAD_CHANGES]
    quarter = 3 * turns // 4
    row[Row.LEADER_THREE_QUARTERS] = numbers[Number.LEADERS + quarter] if quarter > 0 else -1
    row[Row.TAKES] = numbers[Number.TAKES]
    at = np.int64(Row.SIZE)
    seats = desk.rules[Rule.SEATS]
    for seat in range(seats):
        place = seat_place(seat)
        row[at + seat] = numbers[place + Seat.PLAYER]
        row[at + seats + seat] = numbers[place + Seat.SHARE]
        row[at + 2 * seats + seat] = numbers[place + Seat.POINTS]
        row[at + 3 * seats + seat] = numbers[place + Seat.CLAIMS]
        row[at + 4 * seats + seat] = numbers[place + Seat.FULL_CLAIMS]
        row[at + 5 * seats + seat] = numbers[place + Seat.FIRST_CLAIM]
        row[at + 6 * seats + seat] = numbers[place + Seat.POINTS_LENGTH]
        row[at + 7 * seats + seat] = numbers[place + Seat.POINTS_BONUS]
        row[at + 8 * seats + seat] = numbers[place + Seat.REFUSED]
        row[at + 9 * seats + seat] = numbers[place + Seat.UNTRUE_CLAIMS]
    at += SEAT_COLUMNS * seats
    targets = desk.rules[Rule.TARGETS]
    for target in range(targets):
        row[at + target] = numbers[Number.TARGET_OPEN + target]
        row[at + targets + target] = numbers[Number.TARGET_CLAIMED + target]
        row[at + 2 * targets + target] = numbers[Number.CLAIM_LENGTH + target]
        row[at + 3 * targets + target] = numbers[Number.CLAIM_WAIT + target]
    at += TARGET_COLUMNS * targets
    kinds = desk.rules[Rule.HAND_KINDS]
    for kind in range(kinds):
        row[at + kind] = numbers[Number.DRAWN + kind]
        row[at + kinds + kind] = numbers[Number.PLAYED + kind]
        row[at + 2 * kinds + kind] = numbers[Number.CLAIMED + kind]
        row[at + 3 * kinds + kind] = 0
    at += (KIND_COLUMNS - 1) * kinds
    count_left(desk, numbers, masks, row, at)
