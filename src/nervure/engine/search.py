"""The style `searcher:N`: a tree search over what its seat can tell apart, N playouts a move.

One tree of the searcher's own information sets. Each playout deals anew what the seat cannot
see (`hidden`), goes down the tree by upper bounds that count availability (`tree`), adds one
move, plays on by a cheap style for some turns, and sends back a reward for every seat: shares
of the win if the game is over, else by how the points stand. The most visited move is made.
A forced move costs nothing. In the tree all know what was dealt, as in every search of this
kind, and what rivals' moves tell about their hands is not used: a strong practical player,
never an optimal one. Two moves are one if they do the same thing to strands that look the
same, whatever place these have in the list. Kernel functions only.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import ONE as ONE_BIT
from nervure.engine._native import ZERO, apart, inner, lowest, onward, popcount, stay_apart
from nervure.engine.desk import AHEAD, At
from nervure.engine.doing import do_move
from nervure.engine.greedy import choose_greedily
from nervure.engine.hidden import copy_state, deal_unseen, gather_unseen
from nervure.engine.layout import MOVE_SIZE, Mask, MoveNumber, Number, Seat, SeatMask, Style
from nervure.engine.line_up import LineUp
from nervure.engine.offers import count_offers, nth_offer
from nervure.engine.pool import MOST_SEARCHED, Node
from nervure.engine.randomness import GOLDEN, below, mix
from nervure.engine.strands import loose_kind, record, seat_masks, seat_place, whole
from nervure.engine.tree import ONE, clear_tree, most_visited, node_place, pick, send_back
from nervure.engine.turns import close_turn, share_win
from nervure.engine.values import best_points
from nervure.engine.weigher import choose_by_weight
from nervure.game.tables import LOOK_AHEAD, Rule

LOOSE_MARK = np.int64(1) << 40
SPAN = 12
"""Points ahead that count as a win halfway, where a playout is cut."""


@apart
def count_on(desk, numbers, masks):
    """Close turns until somebody has to decide; gives the legal moves, 0 at the end."""
    stay_apart()
    total = count_offers(desk, numbers, masks)
    while total == 0:
        if close_turn(desk.rules, numbers, masks):
            return 0
        total = count_offers(desk, numbers, masks)
    return total


@apart
def write_nth(desk, numbers, masks, nth):
    """Write the nth move of the list to CHOSEN."""
    stay_apart()
    nth_offer(desk, numbers, masks, nth)


@apart
def make_move(desk, numbers, masks):
    """Do the move at CHOSEN; gives the moves that are legal next, 0 at the end."""
    stay_apart()
    if do_move(desk, numbers, masks) and close_turn(desk.rules, numbers, masks):
        return 0
    return count_on(desk, numbers, masks)


@inner
def decider(numbers):
    """Give the seat that decides."""
    robbed = np.int64(numbers[Number.ROBBED])
    return robbed if robbed >= 0 else np.int64(numbers[Number.SEAT])


@inner
def looks(numbers, masks, seat, strand):
    """Give what a strand looks like, as a number."""
    if strand < numbers[seat_place(seat) + Seat.STRANDS]:
        return np.int64(numbers[record(seat, strand)])
    return LOOSE_MARK | loose_kind(numbers, masks, seat, strand)


@inner
def move_key(numbers, masks, seat):
    """Give the key of the move at CHOSEN, alike for moves that do the same thing."""
    number = np.int64(numbers[Number.CHOSEN])
    first, second = np.int64(numbers[Number.CHOSEN + 1]), np.int64(numbers[Number.CHOSEN + 2])
    third = np.int64(numbers[Number.CHOSEN + 3])
    if MoveNumber.ATTACH <= number <= MoveNumber.CLAIM or number == MoveNumber.LIFT:
        first = looks(numbers, masks, seat, first)
    if number == MoveNumber.JOIN or number == MoveNumber.TAKE_LOOSE:
        second = looks(numbers, masks, seat, second)
    key = mix(np.uint64(16 * seat + number) * GOLDEN + np.uint64(first))
    key = mix(key + np.uint64(second) * GOLDEN)
    key = mix(key + np.uint64(third) * GOLDEN)
    if number == MoveNumber.USE:
        for column in range(4, MOVE_SIZE):
            key = mix(key + np.uint64(np.int64(numbers[Number.CHOSEN + column])) * GOLDEN)
    return key


@apart
def write_keys(desk, numbers, masks, seat, total, keys):
    """Write the keys of the legal moves in their order."""
    stay_apart()
    for nth in range(total):
        write_nth(desk, numbers, masks, nth)
        keys[nth] = move_key(numbers, masks, seat)


@inner
def promise(desk, masks, seat, number):
    """Give what a strand promises its seat, in eighths of a point.

    The points of the best target that it can claim soonest: seven eighths of them if it can
    at once, less for every card that it lacks.
    """
    low = masks[Mask.OPEN] | masks[seat_masks(seat) + SeatMask.SECRET]
    high = masks[Mask.OPEN + 1] | masks[seat_masks(seat) + SeatMask.SECRET + 1]
    cards = popcount(np.uint64(whole(desk, At.TIERS, number)))
    place = desk.rules[At.CLAIMS] + AHEAD * number
    for ahead in range(LOOK_AHEAD + 1):
        found, more = desk.words[place + 2 * ahead] & low, desk.words[place + 2 * ahead + 1] & high
        if (found | more) != ZERO and (ahead > 0 or cards >= desk.rules[Rule.CLAIM_MINIMUM]):
            return best_points(desk, found, more, cards + ahead) * (7 >> ahead)
    return np.int64(0)


@apart
def prospects(desk, numbers, masks, seat):
    """Give the points of a seat and what its strands promise, in eighths of a point."""
    stay_apart()
    total = 8 * np.int64(numbers[seat_place(seat) + Seat.POINTS])
    for strand in range(numbers[seat_place(seat) + Seat.STRANDS]):
        place = record(seat, strand)
        number = np.int64(numbers[place + 2])
        if number < 0:
            number = np.int64(numbers[place + 1])
        total += promise(desk, masks, seat, number)
    rest = masks[seat_masks(seat) + SeatMask.LOOSE]
    while rest != ZERO:
        total += promise(desk, masks, seat, whole(desk, At.KIND_ID, lowest(rest)))
        rest &= rest - ONE_BIT
    return total


@apart
def write_rewards(desk, numbers, masks, rewards):
    """Write the reward of every seat, between 0 and `ONE`."""
    stay_apart()
    seats = desk.rules[Rule.SEATS]
    if numbers[Number.ENDED] != 0 and seats > 1:
        share_win(desk, numbers)
        for seat in range(seats):
            rewards[seat] = numbers[seat_place(seat) + Seat.SHARE] * (ONE // 60)
        return
    most, second, first = np.int64(-(1 << 30)), np.int64(0), np.int64(0)
    for seat in range(seats):
        rewards[seat] = prospects(desk, numbers, masks, seat)
        if rewards[seat] > most:
            most, second, first = rewards[seat], most, seat
        elif rewards[seat] > second:
            second = rewards[seat]
    if seats == 1:
        second = np.int64(0)
    for seat in range(seats):
        ahead = rewards[seat] - (second if seat == first else most)
        ahead = min(max(ahead, -8 * SPAN), 8 * SPAN)
        rewards[seat] = ONE // 2 + ahead * ONE // (16 * SPAN + 16)


@inner
def play_on(desk, numbers, masks, memory, total, style, until):
    """Play by one style until the game ends or a turn is reached."""
    while total > 0 and numbers[Number.TURN] < until:
        seat = decider(numbers)
        player = np.int64(numbers[seat_place(seat) + Seat.PLAYER])
        if style == Style.CHANCE:
            write_nth(desk, numbers, masks, below(masks, Mask.STREAM + player, total))
        elif style == Style.WEIGHER:
            at = player * desk.rules[At.MEMORY]
            choose_by_weight(desk, numbers, masks, memory, at, seat)
        else:
            choose_greedily(desk, numbers, masks, seat, style == Style.BUILDER)
        total = make_move(desk, numbers, masks)


@apart
def place_of_favoured(desk, numbers, masks, memory, seat, total, keys):
    """Give the place in the list of the move that the weigher would make."""
    stay_apart()
    player = np.int64(numbers[seat_place(seat) + Seat.PLAYER])
    at = player * desk.rules[At.MEMORY]
    choose_by_weight(desk, numbers, masks, memory, at, seat)
    key = move_key(numbers, masks, seat)
    for nth in range(total):
        if keys[nth] == key:
            return nth
    return -1


@apart
def choose_by_search(desk, numbers, masks, line_up, memory, seat, player, total, store):
    """Choose among `total` legal moves, more than one; writes the move to CHOSEN.

    ``store``: a second state (numbers, masks), the pool, keys, path, unseen cards and
    targets, rewards, and a stream. The player's own stream goes on by one.
    """
    stay_apart()
    copy, copy_masks, pool, all_keys, path, cards, targets, rewards, chance = store
    masks[Mask.STREAM + player] += GOLDEN
    chance[0] = mix(masks[Mask.STREAM + player])
    style = np.int64(line_up[LineUp.PLAYOUT_STYLE + player])
    until = np.int64(numbers[Number.TURN] + line_up[LineUp.PLAYOUT_TURNS + player])
    root_keys, later_keys = all_keys, onward(all_keys, MOST_SEARCHED)
    total = min(total, np.int64(MOST_SEARCHED))
    many, many_targets = gather_unseen(desk.rules, numbers, seat, cards, targets)
    clear_tree(pool)
    bias = np.int64(line_up[LineUp.BIAS + player]) * ONE // 100
    widening = np.int64(line_up[LineUp.WIDENING + player])
    wide = np.int64(line_up[LineUp.EXPLORATION + player])
    # At the root all that the moves depend on is seen: the same in every copy.
    write_keys(desk, numbers, masks, seat, total, root_keys)
    first = np.int64(-1)
    if bias > 0:
        first = place_of_favoured(desk, numbers, masks, memory, seat, total, root_keys)
    same = max(np.int64(1), total * line_up[LineUp.SWEEPS + player])
    for playout in range(line_up[LineUp.PLAYOUTS + player]):
        copy_state(desk.rules, numbers, masks, copy, copy_masks)
        anew = playout % same == 0
        deal_unseen(
            desk.rules, copy, copy_masks, seat, cards, many, targets, many_targets, chance, anew
        )
        if style == Style.CHANCE:
            for other in range(desk.rules[Rule.SEATS]):
                chance[0] += GOLDEN
                copy_masks[Mask.STREAM + other] = mix(chance[0])
        node, depth, left = np.int64(0), 0, np.int64(total)
        is_new = False
        while left > 0 and not is_new and copy[Number.TURN] < until:
            mover = decider(copy)
            favoured = first
            keys = root_keys
            if depth > 0:
                keys = later_keys
                left = min(left, np.int64(MOST_SEARCHED))
                write_keys(desk, copy, copy_masks, mover, left, keys)
                if bias > 0:
                    favoured = place_of_favoured(desk, copy, copy_masks, memory, mover, left, keys)
            nth, node = pick(
                pool, node, mover, keys, left, wide, favoured, bias, widening, chance, 0
            )
            path[depth] = node
            depth += 1
            is_new = pool[node_place(node) + Node.VISITS] == 0
            write_nth(desk, copy, copy_masks, nth)
            left = np.int64(make_move(desk, copy, copy_masks))
        play_on(desk, copy, copy_masks, memory, left, style, until)
        write_rewards(desk, copy, copy_masks, rewards)
        send_back(pool, path, depth, rewards)
    write_nth(desk, numbers, masks, most_visited(pool))
