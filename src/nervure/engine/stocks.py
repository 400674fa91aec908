"""The two stocks, the display and where target cards lie. Kernel functions only.

They read the rules, write the state, and draw no chance: the order of a stock is that of
the deal.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import ZERO, bit, inner
from nervure.engine.layout import Mask, Number, Seat, SeatMask
from nervure.engine.strands import add_to_hand, seat_masks, seat_place
from nervure.game.tables import MOST_OPEN_TARGETS, MOST_SEATS, MOST_SECRET_TARGETS, Rule


@inner
def from_stock(rules, numbers):
    """Take the top card off the stock, which is not empty; gives its hand kind."""
    top = np.int64(numbers[Number.STOCK_TOP])
    kind = np.int64(numbers[Number.STOCK + top])
    top += 1
    numbers[Number.STOCK_TOP] = 0 if top == rules[Rule.PART_CARDS] else top
    numbers[Number.STOCK_SIZE] -= 1
    return kind


@inner
def under_stock(rules, numbers, kind):
    """Put a card under the stock."""
    place = np.int64(numbers[Number.STOCK_TOP]) + numbers[Number.STOCK_SIZE]
    if place >= rules[Rule.PART_CARDS]:
        place -= rules[Rule.PART_CARDS]
    numbers[Number.STOCK + place] = kind
    numbers[Number.STOCK_SIZE] += 1


@inner
def draw(rules, numbers, masks, seat):
    """Draw a card from the stock, which is not empty, to a hand."""
    kind = from_stock(rules, numbers)
    numbers[Number.DRAWN + kind] += 1
    add_to_hand(numbers, masks, seat, kind)


@inner
def show(rules, numbers, masks):
    """Put the top card of the stock, if any, on the display."""
    if numbers[Number.STOCK_SIZE] > 0:
        kind = from_stock(rules, numbers)
        numbers[Number.DISPLAY + kind] += 1
        masks[Mask.DISPLAY] |= bit(kind)


@inner
def next_target(rules, numbers):
    """Take the top card off the target stock; gives the target, -1 if there is none."""
    if numbers[Number.TARGET_SIZE] == 0:
        return np.int64(-1)
    top = np.int64(numbers[Number.TARGET_TOP])
    target = np.int64(numbers[Number.TARGET_STOCK + top])
    top += 1
    numbers[Number.TARGET_TOP] = 0 if top == rules[Rule.TARGET_CARDS] else top
    numbers[Number.TARGET_SIZE] -= 1
    return target


@inner
def turn_up(rules, numbers, place):
    """Turn up the next target card, if any, at a place of the open ones."""
    target = next_target(rules, numbers)
    numbers[Number.OPEN + place] = target
    numbers[Number.OPEN_SINCE + place] = numbers[Number.TURN]
    if target >= 0:
        numbers[Number.TARGET_OPEN + target] += 1


@inner
def hold_secret(rules, numbers, seat, place):
    """Give a seat the next target card, if any, as a secret one at a place."""
    numbers[seat_place(seat) + Seat.SECRET + place] = next_target(rules, numbers)
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
    for seat in range(MOST_SEATS):
        numbers[seat_place(seat) + Seat.CLAIMABLE] = -1
    fill_target_masks(numbers, masks, Number.OPEN, MOST_OPEN_TARGETS, Mask.OPEN)


@inner
def fill_secret(numbers, masks, seat):
    """Write the masks of a seat's secret targets."""
    numbers[seat_place(seat) + Seat.CLAIMABLE] = -1
    start = seat_place(seat) + Seat.SECRET
    into = seat_masks(seat) + SeatMask.SECRET
    fill_target_masks(numbers, masks, start, MOST_SECRET_TARGETS, into)


@inner
def under_target_stock(rules, numbers, target):
    """Put a target card under the target stock."""
    place = np.int64(numbers[Number.TARGET_TOP]) + numbers[Number.TARGET_SIZE]
    if place >= rules[Rule.TARGET_CARDS]:
        place -= rules[Rule.TARGET_CARDS]
    numbers[Number.TARGET_STOCK + place] = target
    numbers[Number.TARGET_SIZE] += 1
