"""Two hands on one file (docs/screens.md): merged by row, or both shown and nothing written."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nervure.project import Table
from nervure.web.pages.map.edits import Change, Conflict, Merged, merge

HEAD = ("structure", "tier", "note")
A, B, C = ("a", "root", ""), ("b", "trunk", "x"), ("c", "cord", "")


def table(*rows: tuple[str, ...]) -> Table:
    return Table(HEAD, rows)


def rows_of(found: Merged | tuple[Conflict, ...]) -> tuple[tuple[str, ...], ...]:
    assert isinstance(found, Merged)
    return found.table.rows


def change(row: int, was: tuple[str, ...], *now: str) -> Change:
    return Change("change", row, was, now)


def test_a_row_is_changed_where_it_stands() -> None:
    found = merge(table(A, B, C), [change(3, B, "b", "trunk", "y")], [0])

    assert rows_of(found) == (A, ("b", "trunk", "y"), C)


def test_a_row_that_has_moved_meanwhile_is_found() -> None:
    found = merge(table(C, A, B), [change(3, B, "b", "trunk", "y")], [0])

    assert rows_of(found) == (C, A, ("b", "trunk", "y"))
    assert isinstance(found, Merged)
    assert found.moved == 1


def test_a_row_that_the_other_hand_changed_is_shown_twice() -> None:
    theirs = ("b", "cord", "x")

    found = merge(table(A, theirs, C), [change(3, B, "b", "trunk", "y")], [0])

    assert found == (Conflict(3, B, ("b", "trunk", "y"), theirs),)


def test_a_row_that_the_other_hand_removed_is_told() -> None:
    found = merge(table(A, C), [change(3, B, "b", "trunk", "y")], [0])

    assert found == (Conflict(3, B, ("b", "trunk", "y"), None),)


def test_one_conflict_keeps_every_change_from_being_laid() -> None:
    changes = [change(2, A, "a", "root", "new"), change(3, B, "b", "trunk", "y")]

    found = merge(table(A, C), changes, [0])

    assert isinstance(found, tuple)


def test_rows_are_added_in_their_order_after_the_row_before() -> None:
    changes = [Change("add", 2, A, ("d", "", "")), Change("add", 2, A, ("e", "", ""))]

    found = merge(table(A, B), changes, [0])

    assert rows_of(found) == (A, ("d", "", ""), ("e", "", ""), B)


def test_a_row_is_added_at_the_head() -> None:
    assert rows_of(merge(table(A), [Change("add", 1, (), ("d",))], [0])) == (("d", "", ""), A)


def test_a_row_whose_neighbour_is_gone_is_added_at_the_end() -> None:
    found = merge(table(B, C), [Change("add", 2, A, ("d", "", ""))], [0])

    assert rows_of(found) == (B, C, ("d", "", ""))


def test_a_row_is_removed() -> None:
    assert rows_of(merge(table(A, B, C), [Change("remove", 3, B, ())], [0])) == (A, C)


def test_of_two_alike_rows_the_nearer_is_taken_and_each_once() -> None:
    changes = [change(4, A, "a", "root", "second"), change(2, A, "a", "root", "first")]

    found = merge(table(A, B, A), changes, [0])

    assert rows_of(found) == (("a", "root", "first"), B, ("a", "root", "second"))


def test_untouched_rows_stay_as_they_were_written() -> None:
    ragged = ("b",)

    found = merge(table(A, ragged, C), [change(2, A, "a", "root", "y")], [0])

    assert rows_of(found)[1] == ragged


@pytest.mark.parametrize("was", [("b", "trunk"), ("b", "trunk", ""), ("b", "trunk", "", "")])
def test_blanks_at_the_end_make_no_other_row(was: tuple[str, ...]) -> None:
    found = merge(table(("b", "trunk")), [change(2, was, "b", "cord", "")], [0])

    assert rows_of(found) == (("b", "cord", ""),)


_rows = st.lists(
    st.tuples(st.sampled_from("abcdef"), st.sampled_from(["root", "cord"])),
    unique=True,
    max_size=6,
)


@given(mine=_rows, theirs=_rows, data=st.data())
def test_the_other_hands_rows_are_never_lost(
    mine: list[tuple[str, str]], theirs: list[tuple[str, str]], data: st.DataObject
) -> None:
    touched = data.draw(st.lists(st.sampled_from(mine), unique=True)) if mine else []
    changes = [Change("change", mine.index(row) + 2, row, (row[0], "new")) for row in touched]

    found = merge(Table(("id", "tier"), tuple(theirs)), changes, [0])

    if isinstance(found, Merged):
        assert set(touched) <= set(theirs)
        assert set(found.table.rows) >= set(theirs) - set(touched)
        assert len(found.table.rows) == len(theirs)
    else:
        assert not set(touched) <= set(theirs)
