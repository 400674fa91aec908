"""A table of cells -> rows of typed values: header, blanks, ragged ends, then each cell."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import cast

from nervure.errors import Fault, Place, error, nearest
from nervure.project._cells import Known, Value, parse_cell
from nervure.project.columns import TableSpec
from nervure.project.records import Ids
from nervure.project.tables import Table, column_letter

# Invisible characters that pasting from web pages and word processors leaves behind.
_INVISIBLE = dict.fromkeys(map(ord, "\u200b\u200c\u200d\u2060\ufeff\u00ad"))
_BLANK = " \t\r\n\u00a0\u202f\u2009"


@dataclass(frozen=True, slots=True)
class Row:
    """The values of one row by column; a blank or faulty cell is None."""

    place: Place
    values: dict[str, Value]

    def text(self, column: str, default: str = "") -> str:
        """Give a text cell, or the default if it is blank."""
        value = self.values.get(column)
        return default if value is None else str(value)

    def ids(self, column: str) -> Ids:
        """Give the ids of a cell, () if it is blank."""
        return self.ids_or_none(column) or ()

    def ids_or_none(self, column: str) -> Ids | None:
        """Give the ids of a cell, None if it is blank."""
        return cast("Ids | None", self.values.get(column))

    def whole(self, column: str) -> int | None:
        """Give a whole number, None if the cell is blank."""
        return cast("int | None", self.values.get(column))

    def wholes(self, column: str) -> tuple[int, ...] | None:
        """Give several whole numbers, None if the cell is blank."""
        return cast("tuple[int, ...] | None", self.values.get(column))

    def number(self, column: str) -> float | None:
        """Give a number, None if the cell is blank."""
        return cast("float | None", self.values.get(column))

    def yes(self, column: str, default: bool) -> bool:
        """Give yes or no, or the default if the cell is blank."""
        value = self.values.get(column)
        return default if value is None else bool(value)


def clean(cell: str) -> str:
    """Strip a cell of blanks at its ends and of invisible characters; keep its class."""
    bare = cell.translate(_INVISIBLE).strip(_BLANK)
    return cell if bare == cell else type(cell)(bare)


def check_header(table: Table, spec: TableSpec, place: Place, faults: list[Fault]) -> bool:
    """Check the names in row 1; False if rows cannot be read under them."""
    head = place.in_row(1)
    names = [clean(cell) for cell in table.header]
    if not any(name in spec.column_names for name in names):
        for number, row in enumerate(table.rows[:10], start=2):
            if len({clean(cell) for cell in row} & set(spec.column_names)) >= 2:
                faults.append(error("header-not-first", head, value=str(number)))
                return False
    missing = [name for name in spec.required_names if name not in names]
    for index, name in enumerate(names):
        if not name:
            _check_nameless(table, index, head, faults)
        elif name not in spec.column_names:
            closest = nearest(_plain(name), spec.column_names, most=1)[0]
            faults.append(
                error(
                    "unknown-column",
                    head.at(name[:40]),
                    value=name[:40],
                    nearest=closest,
                )
            )
            missing = [column for column in missing if column != closest]
        elif name in names[:index]:
            faults.append(error("column-twice", head.at(name), value=name))
    for name in missing:
        needed = " ".join(spec.required_names)
        faults.append(error("column-missing", head.at(name), value=name, needed=needed))
    return all(name in names for name in spec.required_names)


def _check_nameless(table: Table, index: int, head: Place, faults: list[Fault]) -> None:
    for number, row in enumerate(table.rows, start=2):
        if index < len(row) and clean(row[index]):
            letter = column_letter(index)
            shown = clean(row[index])[:40]
            faults.append(error("column-nameless", head.at(letter), value=shown, filled=number))
            return


def _plain(name: str) -> str:
    return name.casefold().replace(" ", "_").replace("-", "_")


def iter_cells(
    table: Table, spec: TableSpec, place: Place, faults: list[Fault]
) -> Iterator[tuple[Place, dict[str, str]]]:
    """Give the filled cells of each row by column name; blank rows are passed over.

    A row that is shorter than the header is filled with blanks, as spreadsheets write it.
    """
    names = [clean(cell) for cell in table.header]
    wanted = {name: names.index(name) for name in spec.column_names if name in names}
    for number, row in enumerate(table.rows, start=2):
        cells = [clean(cell) for cell in row]
        if not any(cells):
            continue
        beyond = [cell for cell in cells[len(names) :] if cell]
        if beyond:
            count, width = len(cells), len(names)
            shown = beyond[0][:40]
            faults.append(
                error("row-long", place.in_row(number), value=shown, count=count, width=width)
            )
            continue
        yield (
            place.in_row(number),
            {
                name: cells[index]
                for name, index in wanted.items()
                if index < len(cells) and cells[index]
            },
        )


def read_rows(
    cells: Sequence[tuple[Place, dict[str, str]]],
    spec: TableSpec,
    known: Known,
    faults: list[Fault],
) -> list[Row]:
    """Give the rows whose required cells can be read; faults name what is wrong in the others."""
    rows = []
    seen: dict[tuple[object, ...], Place] = {}
    for place, filled in cells:
        values: dict[str, Value] = {}
        for column in spec.columns:
            cell = filled.get(column.name)
            if cell is not None:
                values[column.name] = parse_cell(
                    cell, column, place.at(column.name), known, faults
                )
            elif column.required:
                faults.append(error("cell-blank", place.at(column.name), column=column.name))
        if any(values.get(name) is None for name in spec.required_names):
            continue
        row = Row(place, values)
        if _is_repeated(row, filled, spec, seen, faults):
            continue
        rows.append(row)
    return rows


def _is_repeated(
    row: Row,
    filled: dict[str, str],
    spec: TableSpec,
    seen: dict[tuple[object, ...], Place],
    faults: list[Fault],
) -> bool:
    if not spec.one_row_for:
        return False
    # A cell that could not be read counts as written: it is not alike to a blank one.
    key = tuple(
        frozenset(value)
        if isinstance(value, tuple)
        else filled.get(name)
        if value is None
        else value
        for name, value in ((name, row.values.get(name)) for name in spec.one_row_for)
    )
    first = seen.setdefault(key, row.place)
    if first is row.place:
        return False
    columns = ", ".join(spec.one_row_for)
    faults.append(error("row-twice", row.place, first=first.row, columns=columns))
    return True
