"""map.xlsx -> a table a sheet. The cells are what the sheet shows: no formula is computed here."""

from __future__ import annotations

import datetime
import io
import re
import warnings
import zipfile
from typing import Any

from nervure.errors import Fault, Place, error
from nervure.project._text import MAX_CELL_CHARACTERS, MAX_FILE_BYTES, in_megabytes
from nervure.project.tables import DateCell, Table

# Far more than any map; a single stray cell at the end of a sheet would else cost minutes.
MAX_SHEET_CELLS = 500_000

_OLD_OFFICE_FILE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_MERGED_AREA = re.compile(rb"<(?:\w+:)?mergeCell\s[^>]*?ref=[\"']([^\"']+)")
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")


def parse_workbook(
    data: bytes, place: Place, faults: list[Fault], *, fill_merged: bool = False
) -> dict[str, Table] | None:
    """Give the tables of a workbook by sheet name, or None and a fault.

    Merged cells are a fault, or with ``fill_merged`` all hold what the first one holds.
    """
    if not data:
        faults.append(error("workbook-broken", place))
        return None
    if data.startswith(_OLD_OFFICE_FILE):
        locked = _ENCRYPTED in data
        faults.append(error("workbook-locked", place) if locked else error("workbook-old", place))
        return None
    # Imported late: openpyxl costs a third of a second, and most folders hold no workbook.
    import openpyxl

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            unpacked = max((part.file_size for part in archive.infolist()), default=0)
            merged = 0 if unpacked > MAX_FILE_BYTES else _largest_merge(archive)
        if unpacked > MAX_FILE_BYTES:
            faults.append(error("file-too-large", place, value=in_megabytes(unpacked)))
            return None
        if merged > MAX_SHEET_CELLS:
            faults.append(error("merge-too-large", place, value=f"{merged:,}"))
            return None
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # styles and extensions that it does not know
            book = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
            return _tables(book, place, faults, fill_merged)
    except Exception:  # openpyxl raises whatever a broken part makes it stumble over
        faults.append(error("workbook-broken", place))
        return None


def _largest_merge(archive: zipfile.ZipFile) -> int:
    """Count the cells of the largest merged area; openpyxl makes an object of each."""
    # Imported late for the same reason as openpyxl itself.
    from openpyxl.utils import range_boundaries

    areas = [
        area
        for part in archive.namelist()
        if part.startswith("xl/worksheets/")
        for area in _MERGED_AREA.findall(archive.read(part))
    ]
    counts = []
    for area in areas:
        left, top, right, bottom = range_boundaries(area.decode())
        counts.append((right - left + 1) * (bottom - top + 1))
    return max(counts, default=0)


def _tables(book: Any, place: Place, faults: list[Fault], fill_merged: bool) -> dict[str, Table]:
    tables = {}
    for sheet in book.worksheets:
        where = Place(place.file, sheet=sheet.title)
        if sheet.max_row * sheet.max_column > MAX_SHEET_CELLS:
            faults.append(error("sheet-too-large", where, value=f"{sheet.max_row}"))
            continue
        merged = sorted(sheet.merged_cells.ranges, key=str)
        if merged and not fill_merged:
            faults.append(error("cells-merged", where, value=str(merged[0])))
        stand_in = {
            cell: (area.min_row, area.min_col)
            for area in (merged if fill_merged else ())
            for cell in area.cells
        }
        rows = [
            tuple(
                _shown(
                    sheet.cell(*stand_in[at])
                    if (at := (cell.row, cell.column)) in stand_in
                    else cell
                )
                for cell in row
            )
            for row in sheet.iter_rows(max_row=sheet.max_row)
        ]
        while rows and not any(rows[-1]):
            rows.pop()
        if any(len(cell) > MAX_CELL_CHARACTERS for row in rows for cell in row):
            faults.append(error("cell-too-large", where))
            continue
        tables[sheet.title] = Table(rows[0] if rows else (), tuple(rows[1:]))
    return tables


def _shown(cell: Any) -> str:
    """Give a cell's value as text, as the sheet shows it."""
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime.datetime) and value.time() == datetime.time.min:
        return DateCell(value.date().isoformat())
    if isinstance(value, datetime.datetime | datetime.date | datetime.time | datetime.timedelta):
        return DateCell(str(value))
    if isinstance(value, int | float):
        in_percent = "%" in (cell.number_format or "")
        return f"{value * 100 if in_percent else value:.12g}"
    return str(value)
