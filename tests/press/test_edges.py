"""Rows at the edges of a card: nothing is hidden while there is room."""

import pytest

from nervure.press.cards import Entry
from nervure.press.edges import CLOSE, EMPTY, OPEN, TOP, Room, group_to, set_edges

# A card of 63 x 88 with a margin of 4; the fibres row begins at 66.5.
ROOM = Room(inner_width=55.0, list_end=79.7, inner_list_end=65.7, head=11.0)
WIDTHS = {}


def entries(count, group="nerve", short="Abcde"):
    return [Entry(f"{group}{n}", group, f"tier-{group}", short) for n in range(count)]


def listed(side):
    shown = [row.id for column in side.columns for row in column if row.id]
    return shown + [row.id for group in side.grouped for row in group.members]


def test_nine_open_rows_fit_one_column_and_ten_do_not():
    # 39.4 + 8 x 4.4 + 1.6 = 76.2; 39.4 + 9 x 4.4 + 1.6 = 80.6 > 79.7.
    assert ROOM.rows(OPEN, inner=False) == 9


def test_an_inner_column_ends_above_the_fibres_row():
    # 39.4 + 5 x 4.4 + 1.6 = 63.0; one more is 67.4 > 65.7.
    assert ROOM.rows(OPEN, inner=True) == 6


@pytest.mark.parametrize("count", [0, 1, 9, 10, 13, 15, 20, 25])
def test_every_entry_stands_in_a_row_or_in_a_group(count):
    asked = entries(count)

    left, right = set_edges(entries(3, "root"), asked, ROOM, WIDTHS)

    assert sorted(listed(right)) == sorted(entry.id for entry in asked)
    assert len(listed(left)) == 3


@pytest.mark.parametrize("count", [1, 9])
def test_up_to_nine_stand_in_one_open_column(count):
    _, right = set_edges(entries(3, "root"), entries(count), ROOM, WIDTHS)

    assert (len(right.columns), right.look) == (1, OPEN)


def test_ten_to_fifteen_stay_at_7_pt_in_two_columns():
    _, right = set_edges(entries(3, "root"), entries(15), ROOM, {"Abcde": 7.0})

    assert (len(right.columns), right.look, right.grouped) == (2, OPEN, ())


def test_beyond_two_open_columns_rows_are_close():
    _, right = set_edges(entries(3, "root"), entries(16), ROOM, {"Abcde": 7.0})

    assert right.is_close
    assert right.grouped == ()


def test_only_what_fits_no_close_rows_is_grouped_the_largest_group_first():
    many = entries(30, "muscle") + entries(4, "skin") + entries(2, "nerve")

    _, right = set_edges(entries(3, "root"), many, ROOM, {"Abcde": 7.0})

    (group,) = right.grouped
    assert {entry.group for entry in group.members} == {"muscle"}
    assert group.entry.short == "+ 30"


def test_a_side_alone_has_the_whole_height_for_both_columns():
    left, right = set_edges([], entries(18), ROOM, {"Abcde": 7.0})

    assert left is EMPTY
    assert [len(column) for column in right.columns] == [9, 9]
    assert right.look is OPEN


def test_the_map_keeps_its_smallest_width():
    left, right = set_edges(entries(9, "root"), entries(14), ROOM, {"Abcde": 9.2})

    assert 55.0 - left.width - right.width >= 15.0


def test_rows_keep_their_order_inner_column_first():
    _, right = set_edges(entries(2, "root"), entries(12), ROOM, {"Abcde": 7.0})

    shown = [row.id for column in right.columns for row in column]
    assert shown == [f"nerve{n}" for n in range(12)]


def test_columns_stand_beside_one_another():
    _, right = set_edges([], entries(12), ROOM, {"Abcde": 7.0})

    inner, outer = right.shift(0), right.shift(1)
    assert outer == 0
    assert inner >= OPEN.offset + 7.0


def test_a_list_ends_where_its_longest_column_does():
    _, right = set_edges(entries(2, "root"), entries(3), ROOM, WIDTHS)

    assert right.end() == pytest.approx(TOP + 2 * 4.4 + 1.6)


def test_grouping_stops_when_every_group_is_one_row():
    mixed = [entry for kind in "abcd" for entry in entries(2, kind)]

    rows, grouped = group_to(mixed, 3)

    assert [row.short for row in rows] == ["+ 2"] * 4
    assert len(grouped) == 4


def test_close_rows_are_lower_than_open_ones_but_never_under_5_and_a_half_pt():
    assert CLOSE.pitch < OPEN.pitch
    assert CLOSE.text == 5.5
