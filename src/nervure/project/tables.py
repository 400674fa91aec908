"""One table of cells, from CSV text: header in row 1, rows as a spreadsheet counts them.

Comes in: text. Goes out: `Table`, all cells as written. What the cells mean is not
looked at here.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Literal

from nervure.errors import Fault, Place, error
from nervure.project._text import MAX_CELL_CHARACTERS, Encoding, Text

Delimiter = Literal[",", ";", "\t"]
LineEnd = Literal["\n", "\r\n"]
DELIMITERS: tuple[Delimiter, ...] = (",", ";", "\t")

# The module's own limit (131,072) is shared by the whole process; ours is the wider one.
csv.field_size_limit(max(csv.field_size_limit(), MAX_CELL_CHARACTERS))


@dataclass(frozen=True, slots=True)
class TableStyle:
    """How a table is written: kept when it is written back."""

    delimiter: Delimiter = ","
    encoding: Encoding = "utf-8"
    line_end: LineEnd = "\n"


@dataclass(frozen=True, slots=True)
class Table:
    """A table as it stands in a file: ``rows[0]`` is row 2 of the spreadsheet.

    Rows may be shorter or longer than the header, and blank, as the file has them.
    """

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    style: TableStyle = TableStyle()


class DateCell(str):
    """The text of a cell that a workbook stores as a date."""

    __slots__ = ()


def parse_table(
    text: Text, place: Place, known: Collection[str], faults: list[Fault]
) -> Table | None:
    """Give the table of a CSV text, or None and a fault.

    ``known`` names columns that the table may have; it decides between delimiters.
    """
    if not text.text.strip():
        faults.append(error("file-empty", place, names=" ".join(known)))
        return None
    delimiter = sniff_delimiter(text.text, known)
    rows: list[tuple[str, ...]] = []
    header_lines = 0
    records = _Records(text.text, delimiter)
    try:
        for cells in records:
            header_lines = header_lines or records.line_number
            if any(len(cell) > MAX_CELL_CHARACTERS for cell in cells):
                raise csv.Error("field larger than field limit")
            rows.append(tuple(cells))
    except csv.Error as problem:
        faults.append(_csv_fault(str(problem), Place(place.file, len(rows) + 1)))
        return None
    style = TableStyle(delimiter, text.encoding, records.line_end(header_lines))
    return Table(rows[0], tuple(rows[1:]), style)


class _Records:
    """The records of a CSV text one by one, and how its lines end."""

    def __init__(self, text: str, delimiter: Delimiter) -> None:
        self._text = text
        self._reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)

    def __iter__(self) -> Iterator[list[str]]:
        return iter(self._reader)

    @property
    def line_number(self) -> int:
        """Number of lines of the file read so far."""
        return self._reader.line_num

    def line_end(self, line: int) -> LineEnd:
        """Give the end of a line, 1 first."""
        lines = io.StringIO(self._text, newline="")
        return "\r\n" if next(islice(lines, line - 1, line), "").endswith("\r\n") else "\n"


def _csv_fault(problem: str, place: Place) -> Fault:
    if "larger than" in problem:
        return error("cell-too-large", place)
    if "end of data" in problem:
        return error("quote-open", place)
    return error("quote-misplaced", place)


def sniff_delimiter(text: str, known: Collection[str]) -> Delimiter:
    """Give the delimiter under which the header names most known columns.

    The first ten rows are looked at, since a title may stand above the header. Quoted
    cells are honoured, so a semicolon within one is no delimiter. Ties go to the
    delimiter that makes most columns, then to the comma.

    >>> sniff_delimiter('tier;"name, in full"', ["tier", "name"])
    ';'
    """
    names = {_plain(name) for name in known}

    def score(delimiter: Delimiter) -> tuple[int, int]:
        rows: list[list[str]] = []
        try:
            for row in islice(_Records(text, delimiter), 10):
                rows.append(row)
        except csv.Error:
            pass  # told when the table is read; the rows above still show the delimiter
        named = [len({_plain(cell) for cell in row} & names) for row in rows]
        return (max(named, default=0), len(rows[0]) if rows else 0)

    return max(DELIMITERS, key=score)


def _plain(name: str) -> str:
    return name.strip().casefold().replace(" ", "_").replace("-", "_")


def column_letter(index: int) -> str:
    """Give the letters by which a spreadsheet names a column, 0 first.

    >>> [column_letter(index) for index in (0, 25, 26, 701, 702)]
    ['A', 'Z', 'AA', 'ZZ', 'AAA']
    """
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters
