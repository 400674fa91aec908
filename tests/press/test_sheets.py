"""Cards on office paper: grids worked by hand."""

import pytest

from nervure.press.sheets import MARK_GAP, MARK_LENGTH, grid_for, split


@pytest.mark.parametrize(
    ("size", "paper", "columns", "rows", "left", "top"),
    [
        # (210 - 189) / 2 and (297 - 264) / 2; (215.9 - 189) / 2 and (279.4 - 264) / 2.
        ((63, 88), "a4", 3, 3, 10.5, 16.5),
        ((63, 88), "letter", 3, 3, 13.45, 7.7),
        # Bridge: (210 - 171) / 2 and (297 - 267) / 2.
        ((57, 89), "a4", 3, 3, 19.5, 15.0),
        # Tarot: three would leave no margin, so two across: (210 - 140) / 2, (297 - 240) / 2.
        ((70, 120), "a4", 2, 2, 35.0, 28.5),
    ],
)
def test_the_grid_is_centred_on_the_paper(size, paper, columns, rows, left, top):
    grid = grid_for(*size, paper)

    assert (grid.columns, grid.rows) == (columns, rows)
    assert (grid.left, grid.top) == pytest.approx((left, top))


def test_a_card_larger_than_the_paper_has_no_grid():
    assert grid_for(150, 290, "letter") is None


def test_backs_stand_in_reverse_order_in_the_same_row():
    grid = grid_for(63, 88, "a4")

    places = [(grid.place(n), grid.place(n, back=True)) for n in range(9)]

    assert all(
        front_row == back_row and front_column + back_column == 2
        for (front_column, front_row), (back_column, back_row) in places
    )


def test_cutting_marks_stay_on_the_paper():
    for paper in ("a4", "letter"):
        grid = grid_for(63, 88, paper)
        assert min(grid.left, grid.top) - MARK_GAP - MARK_LENGTH > 0


def test_the_last_sheet_may_be_short():
    assert [len(piece) for piece in split(range(20), 9)] == [9, 9, 2]
