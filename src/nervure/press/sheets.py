"""Cards side by side on office paper, so that backs fall on their fronts.

The grid of butted cards is centred on the paper, which makes it fall on itself when the
sheet is turned on its long edge; the backs of a row stand in reverse order. Cutting marks
stand outside the cards. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

# ISO 216 and ANSI sizes, mm.
PAPERS: dict[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
LEAST_MARGIN = 7.5  # room outside the grid for marks on an office printer; common practice
MARK_GAP, MARK_LENGTH = 2.4, 3.6
OVERPRINT = 2.0  # the outer cards run on a little, so that a bad cut shows no white

_Item = TypeVar("_Item")


@dataclass(frozen=True, slots=True)
class Grid:
    """How cards stand on a sheet of paper."""

    paper: str
    width: float
    height: float
    columns: int
    rows: int
    card_width: float
    card_height: float

    @property
    def left(self) -> float:
        """From the paper's left edge to the first card."""
        return (self.width - self.columns * self.card_width) / 2

    @property
    def top(self) -> float:
        """From the paper's top edge to the first card."""
        return (self.height - self.rows * self.card_height) / 2

    @property
    def places(self) -> int:
        """Cards on one side."""
        return self.columns * self.rows

    def place(self, index: int, back: bool = False) -> tuple[int, int]:
        """Give column and row of a card's front, or of its back on the other side."""
        row, column = divmod(index, self.columns)
        return (self.columns - 1 - column if back else column), row

    def to_data(self, bleed: float) -> dict[str, float | int]:
        """Give the grid as plain data for the templates."""
        return {
            "width": self.width,
            "height": self.height,
            "columns": self.columns,
            "rows": self.rows,
            "left": self.left,
            "top": self.top,
            "mark": MARK_LENGTH,
            "mark_gap": MARK_GAP,
            "over": min(OVERPRINT, bleed),
        }


def grid_for(card_width: float, card_height: float, paper: str) -> Grid | None:
    """Give the grid with most cards on a paper, or None if not one fits."""
    width, height = PAPERS[paper]
    columns = math.floor((width - 2 * LEAST_MARGIN) / card_width + 1e-9)
    rows = math.floor((height - 2 * LEAST_MARGIN) / card_height + 1e-9)
    if columns < 1 or rows < 1:
        return None
    return Grid(paper, width, height, columns, rows, card_width, card_height)


def split(items: Sequence[_Item], size: int) -> Iterator[Sequence[_Item]]:
    """Cut a sequence into pieces of a size, the last one perhaps shorter."""
    for start in range(0, len(items), size):
        yield items[start : start + size]
