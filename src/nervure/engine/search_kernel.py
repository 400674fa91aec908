"""The compiled entries of line-ups with a searcher; apart, since few games need them.

As `kernel`, whose entries know no searcher: a block of games, and one choice for `Position`.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import apart, bare, bare_fixed, entry, inner, onward, stay_apart
from nervure.engine.desk import At
from nervure.engine.greedy import choose_greedily
from nervure.engine.kernel import bare_decks, bare_desk, deal_out, is_partly
from nervure.engine.knowledge import believe_all
from nervure.engine.layout import Mask, Number, Seat, SeatMask, Style
from nervure.engine.randomness import below
from nervure.engine.search import choose_by_search, count_on, decider, make_move, write_nth
from nervure.engine.strands import seat_masks, seat_place
from nervure.engine.traces import note_claim, note_junctions, note_refusal
from nervure.engine.turns import seat_players, set_up, write_row
from nervure.engine.values import learn_line_up
from nervure.engine.weigher import choose_by_weight
from nervure.game.tables import Rule


@apart
def decide_any(desk, numbers, masks, line_up, memory, total, store):
    """Write the move that the seat to decide chooses among `total` legal ones to CHOSEN."""
    stay_apart()
    seat = decider(numbers)
    player = np.int64(numbers[seat_place(seat) + Seat.PLAYER])
    style = line_up[player]
    if style == Style.CHANCE:
        write_nth(desk, numbers, masks, below(masks, Mask.STREAM + player, total))
    elif style == Style.SEARCHER:
        if total == 1:
            write_nth(desk, numbers, masks, 0)
        else:
            choose_by_search(desk, numbers, masks, line_up, memory, seat, player, total, store)
    elif style == Style.WEIGHER:
        at = player * desk.rules[At.MEMORY]
        choose_by_weight(desk, numbers, masks, memory, at, seat)
    else:
        choose_greedily(desk, numbers, masks, seat, style == Style.BUILDER)


@entry
def search_block(
    desk,
    decks,
    line_up,
    seed,
    first_deal,
    first_game,
    games,
    rotations,
    rows,
    openings,
    trace,
    work,
    store,
):
    """Play games as `kernel.play_block` does. ``store``: see `search.choose_by_search`."""
    desk, decks = bare_desk(desk), bare_decks(decks)
    width = rows.shape[1]
    rows, openings, line_up = bare(rows), bare(openings), bare_fixed(line_up)
    numbers, masks = bare(work[0]), bare(work[1])
    cards, targets, keys, scratch = bare(work[2]), bare(work[3]), bare(work[4]), bare(work[5])
    memory = bare(work[6])
    store = bare_store(store)
    learn_line_up(desk, memory, line_up)
    fact_words = trace[1].shape[2]
    refusals, enacted = bare(trace[0]), bare(trace[1])
    seats = desk.rules[Rule.SEATS]
    partly = is_partly(line_up)
    for game in range(games):
        deal = first_deal + (first_game + game) // rotations
        rotation = (first_game + game) % rotations
        deal_out(desk.rules, decks, seed, np.uint64(deal), cards, targets, keys, scratch)
        set_up(desk.rules, numbers, masks, seed, np.uint64(deal), cards, targets)
        seat_players(desk.rules, numbers, rotation, rotations > 1 and seats > 2 and deal % 2 == 1)
        if partly:
            believe_all(desk, numbers, masks, seed, np.uint64(deal), line_up)
        total = np.int64(count_on(desk, numbers, masks))
        while total > 0:
            numbers[Number.DECISIONS] += 1
            numbers[Number.CHOICES] += total
            if total == 1:
                numbers[Number.FORCED] += 1
            decide_any(desk, numbers, masks, line_up, memory, total, store)
            mover = np.int64(numbers[Number.SEAT])
            if fact_words > 0:
                note_claim(
                    desk, numbers, masks, onward(enacted, game * seats * fact_words), fact_words
                )
            total = np.int64(make_move(desk, numbers, masks))
            if partly:
                note_refusal(numbers, refusals)
            if fact_words > 0:
                note_junctions(
                    desk, numbers, mover, onward(enacted, game * seats * fact_words), fact_words
                )
        write_row(desk, numbers, masks, onward(rows, game * width), rotation)
        for seat in range(seats):
            openings[game * seats + seat] = masks[seat_masks(seat) + SeatMask.OPENING]


@entry
def search_choose(desk, line_up, total, work, store):
    """Let the seat to decide choose by its style; the move is then at CHOSEN."""
    desk = bare_desk(desk)
    numbers, masks = bare(work[0]), bare(work[1])
    line_up, memory = bare_fixed(line_up), bare(work[6])
    learn_line_up(desk, memory, line_up)
    decide_any(desk, numbers, masks, line_up, memory, np.int64(total), bare_store(store))


@inner
def bare_store(store):
    """Give the store with bare arrays."""
    return (
        bare(store[0]),
        bare(store[1]),
        bare(store[2]),
        bare(store[3]),
        bare(store[4]),
        bare(store[5]),
        bare(store[6]),
        bare(store[7]),
        bare(store[8]),
    )
