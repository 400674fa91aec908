"""The compiled entries: a block of complete games, and single steps for `Position`.

The only functions that Python calls. What is passed must come from `desk_of` and `Sizes`
and is kept alive by the caller; nothing is checked.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import bare, bare_fixed, entry, inner, onward
from nervure.engine.desk import At, Decks, Desk
from nervure.engine.doing import do_move
from nervure.engine.greedy import choose_greedily
from nervure.engine.knowledge import believe_all, pay
from nervure.engine.layout import Mask, Number, Seat, SeatMask, Style
from nervure.engine.line_up import KNOWS_ALL, LineUp
from nervure.engine.moves import nth_move
from nervure.engine.offers import count_offers, nth_offer
from nervure.engine.randomness import PART_CARDS, TARGET_CARDS, below, key_of, keyed_order
from nervure.engine.strands import seat_masks, seat_place
from nervure.engine.traces import note_claim, note_junctions, note_refusal
from nervure.engine.turns import close_turn, seat_players, set_up, write_row
from nervure.engine.values import learn_line_up
from nervure.engine.weigher import choose_by_weight
from nervure.game.tables import MOST_SEATS, Rule


@inner
def bare_desk(desk):
    """Give the desk with bare arrays."""
    return Desk(bare_fixed(desk.rules), bare_fixed(desk.ints), bare_fixed(desk.words))


@inner
def bare_decks(decks):
    """Give the decks with bare arrays."""
    return Decks(
        bare_fixed(decks.cards),
        bare_fixed(decks.card_salts),
        bare_fixed(decks.targets),
        bare_fixed(decks.target_salts),
    )


@inner
def deal_out(rules, decks, seed, deal, cards, targets, keys, scratch):
    """Write the two decks of a deal in keyed order."""
    key = key_of(seed, deal, np.uint64(PART_CARDS))
    many = rules[Rule.PART_CARDS]
    keyed_order(key, decks.card_salts, decks.cards, many, cards, keys, scratch)
    key = key_of(seed, deal, np.uint64(TARGET_CARDS))
    many = rules[Rule.TARGET_CARDS]
    keyed_order(key, decks.target_salts, decks.targets, many, targets, keys, scratch)


@inner
def is_partly(styles):
    """Tell whether any player of a line-up knows only a part of the map."""
    found = False
    for player in range(MOST_SEATS):
        found = found or styles[LineUp.KNOWLEDGE + player] < KNOWS_ALL
    return found


@inner
def decide(desk, numbers, masks, styles, memory, total):
    """Write the move that the seat to decide chooses among `total` legal ones to CHOSEN."""
    seat = np.int64(numbers[Number.SEAT])
    if numbers[Number.ROBBED] >= 0:
        seat = np.int64(numbers[Number.ROBBED])
    player = np.int64(numbers[seat_place(seat) + Seat.PLAYER])
    if styles[player] == Style.CHANCE:
        nth_move(desk, numbers, masks, below(masks, Mask.STREAM + player, total))
    elif styles[player] == Style.WEIGHER:
        at = player * desk.rules[At.MEMORY]
        choose_by_weight(desk, numbers, masks, memory, at, seat)
    else:
        choose_greedily(desk, numbers, masks, seat, styles[player] == Style.BUILDER)


@entry
def play_block(
    desk,
    decks,
    styles,
    seed,
    first_deal,
    first_game,
    games,
    rotations,
    rows,
    openings,
    trace,
    work,
):
    """Play games first_game .. first_game + games - 1 of a block whose first deal is given.

    ``rotations``: games of one deal. Writes a row of `rows` (games, row size) and of
    `openings` (games, seats) for each. ``trace``: see `batch.Trace`. ``work``: numbers, masks, two
    decks, two scratches, memory.
    """
    desk, decks = bare_desk(desk), bare_decks(decks)
    width = rows.shape[1]
    rows, openings, styles = bare(rows), bare(openings), bare_fixed(styles)
    numbers, masks = bare(work[0]), bare(work[1])
    cards, targets, keys, scratch = bare(work[2]), bare(work[3]), bare(work[4]), bare(work[5])
    memory = bare(work[6])
    learn_line_up(desk, memory, styles)
    fact_words = trace[1].shape[2]
    refusals, enacted = bare(trace[0]), bare(trace[1])
    seats = desk.rules[Rule.SEATS]
    partly = is_partly(styles)
    dealt = np.int64(-1)
    for game in range(games):
        deal = first_deal + (first_game + game) // rotations
        rotation = (first_game + game) % rotations
        if deal != dealt:
            deal_out(desk.rules, decks, seed, np.uint64(deal), cards, targets, keys, scratch)
            dealt = deal
        set_up(desk.rules, numbers, masks, seed, np.uint64(deal), cards, targets)
        seat_players(desk.rules, numbers, rotation, rotations > 1 and seats > 2 and deal % 2 == 1)
        if partly:
            believe_all(desk, numbers, masks, seed, np.uint64(deal), styles)
        running = True
        while running:
            total = count_offers(desk, numbers, masks)
            closes = True
            if total > 0:
                numbers[Number.DECISIONS] += 1
                numbers[Number.CHOICES] += total
                if total == 1:
                    numbers[Number.FORCED] += 1
                decide(desk, numbers, masks, styles, memory, total)
                if fact_words > 0:
                    note_claim(
                        desk,
                        numbers,
                        masks,
                        onward(enacted, game * seats * fact_words),
                        fact_words,
                    )
                closes = do_move(desk, numbers, masks)
                if partly:
                    note_refusal(numbers, refusals)
                if fact_words > 0:
                    mover = np.int64(numbers[Number.SEAT])
                    note_junctions(
                        desk,
                        numbers,
                        mover,
                        onward(enacted, game * seats * fact_words),
                        fact_words,
                    )
            if closes:
                running = not close_turn(desk.rules, numbers, masks)
        write_row(desk, numbers, masks, onward(rows, game * width), rotation)
        for seat in range(seats):
            openings[game * seats + seat] = masks[seat_masks(seat) + SeatMask.OPENING]


@entry
def start_game(desk, decks, styles, seed, deal, rotation, reversed_order, work):
    """Set up one game and run to its first decision; gives the number of legal moves."""
    desk, decks = bare_desk(desk), bare_decks(decks)
    numbers, masks = bare(work[0]), bare(work[1])
    cards, targets, keys, scratch = bare(work[2]), bare(work[3]), bare(work[4]), bare(work[5])
    deal_out(desk.rules, decks, seed, deal, cards, targets, keys, scratch)
    set_up(desk.rules, numbers, masks, seed, deal, cards, targets)
    seat_players(desk.rules, numbers, rotation, reversed_order)
    believe_all(desk, numbers, masks, seed, deal, bare_fixed(styles))


@entry
def go_to_decision(desk, numbers, masks):
    """Close turns until somebody has to decide; gives the legal moves, 0 at the end."""
    desk = bare_desk(desk)
    numbers, masks = bare(numbers), bare(masks)
    if numbers[Number.ENDED] != 0:
        return 0
    total = count_offers(desk, numbers, masks)
    while total == 0:
        if close_turn(desk.rules, numbers, masks):
            return 0
        total = count_offers(desk, numbers, masks)
    return total


@entry
def write_moves(desk, numbers, masks, total, moves):
    """Write the canonical list of the moves offered to `moves` (total, 8)."""
    desk = bare_desk(desk)
    width = moves.shape[1]
    numbers, masks, moves = bare(numbers), bare(masks), bare(moves)
    for nth in range(total):
        nth_offer(desk, numbers, masks, nth)
        for column in range(width):
            moves[nth * width + column] = numbers[Number.CHOSEN + column]


@entry
def choose(desk, styles, total, work):
    """Let the seat to decide choose by its style; the move is then at CHOSEN."""
    desk = bare_desk(desk)
    numbers, masks = bare(work[0]), bare(work[1])
    styles, memory = bare_fixed(styles), bare(work[6])
    learn_line_up(desk, memory, styles)
    decide(desk, numbers, masks, styles, memory, total)


@entry
def do_chosen(desk, numbers, masks, total):
    """Do the move at CHOSEN, one of `total`, and close the turn if it says so."""
    desk = bare_desk(desk)
    numbers, masks = bare(numbers), bare(masks)
    numbers[Number.DECISIONS] += 1
    numbers[Number.CHOICES] += total
    if total == 1:
        numbers[Number.FORCED] += 1
    if do_move(desk, numbers, masks):
        close_turn(desk.rules, numbers, masks)


@entry
def refuse_chosen(desk, numbers, number):
    """Pay for a refused attempt of the seat to move; nothing else changes."""
    desk = bare_desk(desk)
    numbers = bare(numbers)
    numbers[Number.FRESH] = 0
    numbers[seat_place(np.int64(numbers[Number.SEAT])) + Seat.REFUSED] += 1
    pay(desk, numbers, number)


@entry
def finish_row(desk, numbers, masks, row, rotation):
    """Write the row of a finished game."""
    write_row(bare_desk(desk), bare(numbers), bare(masks), bare(row), rotation)
