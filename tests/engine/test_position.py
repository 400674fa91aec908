from collections import Counter

import numpy as np
import pytest

from nervure.engine import Move, MoveNumber, Position, play
from nervure.engine.layout import SEAT_MASKS, Mask, Number, SeatMask
from nervure.errors import BadUsage
from nervure.game.tables import MOST_KINDS, Draw, Rule

LINE_UPS = [("chance",) * 3, ("sprinter",) * 3, ("builder", "chance", "sprinter")]
EVERY_DRAW = sum(Draw)


def _cards_everywhere(position):
    """Count the part cards of a position by hand kind, wherever they are."""
    tables = position.tables
    first_any = int(tables.rules[Rule.FIRST_ANY_KIND])
    found = Counter(position.stock)
    for held in (position.display, position.pile, position.card_claimed):
        found.update(held)
    for seat in range(tables.seats):
        found.update(position.hand(seat))
        for strand in position.strands(seat):
            for name in filter(None, strand.slots):
                kind = min(tables.placed_kinds.index(name), first_any)
                found[tables.hand_kinds[kind]] += strand.copies
    return found


@pytest.mark.parametrize("line_up", LINE_UPS)
def test_stepping_through_a_game_gives_the_game_that_is_played_in_bulk(tree_tables, line_up):
    played = play(tree_tables, line_up, seed=9, deals=4)

    for deal in range(4):
        position = Position.start(tree_tables, 9, deal)
        while not position.finished:
            position.apply(position.choose(line_up))
        row = position.result().columns()
        for name, column in played.columns().items():
            if name != "deal":
                assert np.array_equal(row[name][0], column[deal]), name


@pytest.mark.parametrize("line_up", LINE_UPS)
def test_every_style_chooses_from_the_list_of_legal_moves(make_tables, make_tree, line_up):
    design = make_tree(wild_tiers=(1,), wild_any=True)
    tables = make_tables(design, 3, draws=EVERY_DRAW, secret_targets=1, may_pass=2, must_play=0)

    for deal in range(6):
        position = Position.start(tables, 3, deal)
        while not position.finished:
            move = position.choose(line_up)
            assert move in position.legal_moves(), position.name(move)
            position.apply(move)


def test_no_card_is_lost_or_made_by_any_move(make_tables, make_tree):
    design = make_tree(wild_tiers=(0, 2), wild_any=True)
    tables = make_tables(design, 3, draws=EVERY_DRAW, swap_under=1, draw_count=2, play_count=2)
    made = Counter()

    for deal in range(20):
        position = Position.start(tables, 1, deal)
        while not position.finished:
            assert _cards_everywhere(position) == Counter(dict.fromkeys(tables.hand_kinds, 2))
            move = position.choose(["chance"] * 3)
            made[move.number] += 1
            position.apply(move)

    assert set(made) >= set(range(MoveNumber.DRAW_STOCK, MoveNumber.ATTACH + 1)) | {10, 11}


def test_the_list_is_in_the_order_of_the_rules_without_doubles(make_tables, make_tree):
    tables = make_tables(make_tree(wild_any=True), 3, draws=EVERY_DRAW, may_pass=2)

    for deal in range(10):
        position = Position.start(tables, 1, deal)
        while not position.finished:
            listed = [(move.number, *move.args) for move in position.legal_moves()]
            assert listed == sorted(set(listed))
            position.apply(position.choose(["chance"] * 3))


def test_a_clone_goes_its_own_way(tree_tables):
    position = Position.start(tree_tables, 1)
    clone = position.clone()
    before = position.legal_moves()

    clone.apply(0)

    assert position.legal_moves() == before
    assert clone.legal_moves() != before


def test_a_move_that_is_not_legal_is_refused(tree_tables):
    position = Position.start(tree_tables, 1)

    with pytest.raises(BadUsage, match="legal moves"):
        position.apply(Move(MoveNumber.LAY, (0,)))


def test_an_opening_hand_and_table_have_the_sizes_of_the_rules(tree_tables):
    position = Position.start(tree_tables, 1)

    assert [sum(position.hand(seat).values()) for seat in range(3)] == [4, 4, 4]
    assert sum(position.display.values()) == 3
    assert len(position.stock) == 30 - 12 - 3
    assert None not in position.open_targets


def test_moves_are_named_with_the_ids_of_the_design(tree_tables):
    position = Position.start(tree_tables, 1)

    names = [position.name(move) for move in position.legal_moves()]

    assert names[0] == ("draw-stock",)
    assert all(name[1] in tree_tables.hand_kinds for name in names[1:])


def _shuffle_what_is_hidden(position, chance):
    """Deal rivals' hands and both stocks anew among themselves."""
    numbers, masks = position._numbers, position._masks
    kinds = len(position.tables.hand_kinds)
    seat = position.seat_to_move
    rivals = [other for other in range(position.tables.seats) if other != seat]
    hidden = [position.tables.hand_kinds.index(name) for name in position.stock]
    sizes = {}
    for rival in rivals:
        start = Number.HAND + rival * MOST_KINDS
        counts = numbers[start : start + kinds]
        hidden += np.repeat(np.arange(kinds), counts).tolist()
        sizes[rival] = int(counts.sum())
        counts[:] = 0
    chance.shuffle(hidden)
    for rival in rivals:
        start = Number.HAND + rival * MOST_KINDS
        for kind in [hidden.pop() for _ in range(sizes[rival])]:
            numbers[start + kind] += 1
        held = np.flatnonzero(numbers[start : start + kinds])
        masks[Mask.SEATS + rival * SEAT_MASKS + SeatMask.HAND] = sum(1 << int(k) for k in held)
    ring = int(position.tables.rules[Rule.PART_CARDS])
    for place, kind in enumerate(hidden):
        numbers[Number.STOCK + (int(numbers[Number.STOCK_TOP]) + place) % ring] = kind
    size, top = int(numbers[Number.TARGET_SIZE]), int(numbers[Number.TARGET_TOP])
    ring = int(position.tables.rules[Rule.TARGET_CARDS])
    places = [Number.TARGET_STOCK + (top + place) % ring for place in range(size)]
    numbers[places] = chance.permutation(numbers[places])


@pytest.mark.parametrize("style", ["sprinter", "builder"])
def test_a_style_chooses_the_same_whatever_is_hidden(make_tables, make_tree, style):
    tables = make_tables(make_tree(wild_any=True), 3, draws=EVERY_DRAW)
    chance = np.random.default_rng(5)
    line_up = [style] * 3

    for deal in range(5):
        position = Position.start(tables, 6, deal)
        while not position.finished:
            other = position.clone()
            _shuffle_what_is_hidden(other, chance)
            move = position.choose(line_up)
            assert other.choose(line_up) == move
            position.apply(move)
