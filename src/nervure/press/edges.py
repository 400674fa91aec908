"""How many connections stand at the two edges of a part card, and in which rows.

A card can only be refereed from its lists, so everything is listed as long as there is room:
in one column of 7 pt, then in two, then in close rows of 5.5 pt (a warning), and only then
are the largest groups drawn together in one row with their number (a note; the answer key
has them all). The map between the lists gives way first, down to ``SMALLEST_MAP``.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from nervure.press.cards import Entry

TOP = 39.4  # middle of the first row, mm from the top of the trimmed card
FIBRES_ABOVE_END = 21.5  # the fibres row begins so far above the foot of the card, mm
SMALLEST_MAP = 15.0  # mm
TEXT_WIDTH = 9.2  # of a short form at 7 pt, mm
GAP = 1.8  # between two columns, mm
MAP_GAP = 1.0  # between the innermost column and the map, mm


@dataclass(frozen=True, slots=True)
class RowLook:
    """Measures of the rows of a list: pitch and mark in mm, text in pt."""

    pitch: float
    mark: float
    text: float

    @property
    def offset(self) -> float:
        """From the outer end of the mark to the text, mm."""
        return self.mark + 0.7


OPEN = RowLook(4.4, 3.2, 7.0)
CLOSE = RowLook(3.0, 2.5, 5.5)


@dataclass(frozen=True, slots=True)
class Grouped:
    """A group of entries drawn together in one row."""

    entry: Entry
    members: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class EdgeList:
    """One side as it is set: columns of rows, the outermost last for either side.

    ``widths``: of each column, mark and text, mm. ``grouped`` names what stands in a common
    row, for the answer key. ``head``: width of the word above the list, mm.
    """

    columns: tuple[tuple[Entry, ...], ...]
    look: RowLook
    widths: tuple[float, ...] = ()
    grouped: tuple[Grouped, ...] = ()
    head: float = 0.0

    @property
    def width(self) -> float:
        """Room that the list takes from the safe margin inward, mm."""
        return max(self.shift(-1), self.head) + MAP_GAP if self.columns else 0.0

    def shift(self, column: int) -> float:
        """From the safe margin to the outer end of a column; column -1 is where the map begins."""
        inside = self.widths[column + 1 :]
        return sum(inside) + GAP * (len(inside) - (column < 0))

    def end(self) -> float:
        """Where its longest column ends, mm from the top of the card; 0 for an empty list."""
        rows = max((len(column) for column in self.columns), default=0)
        return TOP + (rows - 1) * self.look.pitch + self.look.mark / 2 if rows else 0.0

    @property
    def is_close(self) -> bool:
        """Whether the rows are the close ones of 5.5 pt."""
        return self.look is CLOSE


EMPTY = EdgeList((), OPEN)
Widths = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Room:
    """The room on a card: inner width between the safe margins and where lists must end, mm.

    ``inner_list_end``: where a column that is not the outermost must end, above the fibres
    row, unless the other side is empty and the row gives way. ``head``: width of the wider of
    the words above the lists.
    """

    inner_width: float
    list_end: float
    inner_list_end: float
    head: float = 0.0

    def rows(self, look: RowLook, inner: bool) -> int:
        """How many rows fit in an outer or inner column."""
        end = self.inner_list_end if inner else self.list_end
        return max(0, math.floor((end - TOP - look.mark / 2) / look.pitch + 1e-9) + 1)


def set_edges(
    proximal: Sequence[Entry], distal: Sequence[Entry], room: Room, widths: Widths
) -> tuple[EdgeList, EdgeList]:
    """Set both lists of a card: fewest grouped, then fewest close rows, then fewest columns.

    ``widths``: short form -> its width at 7 pt, mm; one that is missing counts as
    `TEXT_WIDTH`.
    """
    best: tuple[tuple[int, int, int], EdgeList, EdgeList] | None = None
    for left_form, right_form in itertools.product(_FORMS, _FORMS):
        left = _set_side(proximal, *left_form, room, widths, alone=not distal)
        right = _set_side(distal, *right_form, room, widths, alone=not proximal)
        if left is None or right is None:
            continue
        if room.inner_width - left.width - right.width < SMALLEST_MAP:
            continue
        cost = (_hidden(left) + _hidden(right), _close(left) + _close(right), _wide(left, right))
        if best is None or cost < best[0]:
            best = cost, left, right
    assert best is not None, "one close column on each side always leaves room for the map"
    return best[1], best[2]


_FORMS = ((1, OPEN), (2, OPEN), (1, CLOSE), (2, CLOSE))


def _hidden(side: EdgeList) -> int:
    return sum(len(group.members) for group in side.grouped)


def _close(side: EdgeList) -> int:
    return int(side.is_close)


def _wide(left: EdgeList, right: EdgeList) -> int:
    return len(left.columns) + len(right.columns)


def _set_side(
    entries: Sequence[Entry],
    columns: int,
    look: RowLook,
    room: Room,
    widths: Widths,
    *,
    alone: bool,
) -> EdgeList | None:
    if not entries:
        return EMPTY if (columns, look) == _FORMS[0] else None
    outer = room.rows(look, inner=False)
    inner = outer if alone else room.rows(look, inner=True)
    capacity = outer + inner * (columns - 1)
    rows, grouped = group_to(entries, capacity)
    if columns == 1:
        return _as_list((rows,), look, widths, grouped, room.head)
    if len(rows) <= outer:
        return None
    # Even columns, as far as the inner one reaches; reading order is inner first.
    first = min(inner, len(rows) // 2)
    return _as_list((rows[:first], rows[first:]), look, widths, grouped, room.head)


def _as_list(
    columns: tuple[tuple[Entry, ...], ...],
    look: RowLook,
    widths: Widths,
    grouped: tuple[Grouped, ...],
    head: float,
) -> EdgeList:
    across = tuple(
        look.offset + max(widths.get(entry.short, TEXT_WIDTH) for entry in column) * look.text / 7
        for column in columns
    )
    return EdgeList(columns, look, across, grouped, head)


def group_to(entries: Sequence[Entry], most: int) -> tuple[tuple[Entry, ...], tuple[Grouped, ...]]:
    """Draw the largest groups together until at most ``most`` rows are left.

    A group becomes one row, its mark and "+ n", where its first member stood. With more
    groups than rows nothing can be done: all rows are returned, for the caller to refuse.
    """
    rows = list(entries)
    grouped: list[Grouped] = []
    while len(rows) > most:
        sizes = Counter(row.group for row in rows if row.id)
        if not sizes or max(sizes.values()) < 2:
            break
        largest = max(sizes, key=lambda name: sizes[name])
        members = tuple(row for row in rows if row.group == largest)
        at = rows.index(members[0])
        one = replace(members[0], id="", short=f"+ {len(members)}")
        rows = [*rows[:at], one, *(row for row in rows[at:] if row.group != largest)]
        grouped.append(Grouped(one, members))
    return tuple(rows), tuple(grouped)
