"""Two hands on one file: changes of rows laid upon a table that may have moved meanwhile.

Comes in: the table as it stands in the file, and changes, each with the row as it was read.
Goes out: the new table, or the rows on which the two hands meet. Nothing is read or
written here, and what cells mean is not looked at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from nervure.project import Table

Cells = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """One row changed, added or removed.

    ``row`` counts as a spreadsheet does (header 1): of the row as it was read; for an added
    one, of the row after which it stands. ``was``: its cells then (of the row before an
    added one; empty: at the head). ``now``: its cells now; empty for a removed one.
    """

    kind: Literal["change", "add", "remove"]
    row: int
    was: Cells
    now: Cells


@dataclass(frozen=True, slots=True)
class Conflict:
    """A row that both hands changed: as it was read, as it is wanted, as it stands (or not)."""

    row: int
    was: Cells
    mine: Cells
    theirs: Cells | None


@dataclass(frozen=True, slots=True)
class Merged:
    """The new table; ``moved``: how many changes were laid upon a row that stands elsewhere."""

    table: Table
    moved: int


def merge(
    table: Table, changes: Sequence[Change], key: Sequence[int]
) -> Merged | tuple[Conflict, ...]:
    """Lay changes upon a table.

    Parameters
    ----------
    table
        As it stands in the file.
    changes
        At most one of a row, but for added ones, which stand in their order.
    key
        The columns by which a row is known where its cells have changed.

    Returns
    -------
    The new table, or the rows on which the hands meet; then nothing is to be written.
    """
    width = len(table.header)
    rows = [_fitted(row, width) for row in table.rows]
    taken: set[int] = set()
    conflicts: list[Conflict] = []
    replaced: dict[int, Cells | None] = {}
    added: dict[int, list[Cells]] = {}
    moved = 0
    for change in changes:
        was = _fitted(change.was, width)
        if change.kind == "add" and not change.was:
            added.setdefault(-1, []).append(_fitted(change.now, width))
            continue
        place = _find(rows, was, change.row - 2, taken if change.kind != "add" else set())
        if place is None and change.kind == "add":
            # The row before it is gone or changed: it stands at the end, and loses nothing.
            added.setdefault(len(rows) - 1, []).append(_fitted(change.now, width))
            moved += 1
        elif place is None:
            theirs = next((row for row in rows if _same(row, was, key)), None)
            conflicts.append(Conflict(change.row, was, _fitted(change.now, width), theirs))
        else:
            moved += place != change.row - 2
            if change.kind == "add":
                added.setdefault(place, []).append(_fitted(change.now, width))
            else:
                taken.add(place)
                replaced[place] = _fitted(change.now, width) if change.kind == "change" else None
    if conflicts:
        return tuple(conflicts)
    result: list[Cells] = list(added.get(-1, ()))
    for place, as_written in enumerate(table.rows):
        kept = replaced.get(place, as_written)
        if kept is not None:
            result.append(kept)
        result += added.get(place, ())
    return Merged(Table(table.header, tuple(result), table.style), moved)


def _find(rows: Sequence[Cells], was: Cells, place: int, taken: set[int]) -> int | None:
    """Give where a row stands now: where it stood, else the nearest that is the same."""
    same = [found for found, row in enumerate(rows) if row == was and found not in taken]
    return min(same, key=lambda found: abs(found - place), default=None)


def _fitted(cells: Sequence[str], width: int) -> Cells:
    """Give cells as wide as the header; further ones stay if they hold anything."""
    full = [*cells, *[""] * (width - len(cells))]
    while len(full) > width and not full[-1]:
        full.pop()
    return tuple(full)


def _same(row: Cells, other: Cells, key: Sequence[int]) -> bool:
    return all(
        place < len(row) and place < len(other) and row[place] == other[place] for place in key
    )
