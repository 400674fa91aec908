"""Writes files so that a crash leaves the old one or the new one, never half of one."""

from __future__ import annotations

import os
import shutil
import stat
import tempfile
from collections.abc import Sequence
from pathlib import Path

from nervure.errors import Fault, FaultyProject, Place, error
from nervure.project._text import read_text
from nervure.project.columns import CREDITS, DECK, MAP_TABLES, PLAYS
from nervure.project.records import Ids
from nervure.project.tables import Table, TableStyle, parse_table


def write_bytes_safely(path: Path, data: bytes, *, keep_backup: bool = True) -> None:
    """Put bytes in a file: a temporary file beside it is filled, flushed and moved over it.

    A symbolic link stays one; what it points to is written. The mode of a file that was
    there is kept, and so is its content, as ``NAME.bak``, if ``keep_backup``.

    Raises
    ------
    FaultyProject
        The file could not be written; what was there is unchanged.
    """
    path = Path(path)
    try:
        _replace(path.resolve(), data, keep_backup)
    except (OSError, RuntimeError) as problem:  # RuntimeError: a ring of symbolic links
        reason = getattr(problem, "strerror", None) or str(problem)
        raise FaultyProject([error("not-written", Place(path.name), reason=reason)]) from problem


def _replace(path: Path, data: bytes, keep_backup: bool) -> None:
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".tmp", dir=path.parent)
    fresh = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        exists = path.exists()
        fresh.chmod(stat.S_IMODE(path.stat().st_mode) if exists else 0o644)
        if exists and keep_backup:
            shutil.copy2(path, path.with_name(path.name + ".bak"))
        fresh.replace(path)
    finally:
        fresh.unlink(missing_ok=True)
    _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    """Make the move itself last, where the system lets a folder be flushed."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def write_text_safely(path: Path, text: str, *, keep_backup: bool = True) -> None:
    """Put a text in a file as UTF-8, line ends as they stand; see `write_bytes_safely`."""
    write_bytes_safely(path, text.encode("utf-8"), keep_backup=keep_backup)


def read_table(path: Path) -> Table:
    """Give the table of a CSV file as it stands, with its style, for writing it back.

    Raises
    ------
    FaultyProject
        The file cannot be read as a table. Carries the faults.
    """
    path = Path(path)
    faults: list[Fault] = []
    place = Place(path.name)
    text = read_text(path, place, path.parent, faults)
    table = text and parse_table(text, place, _known_columns(path), faults)
    if not table:
        raise FaultyProject(faults)
    return table


def _known_columns(path: Path) -> Ids:
    others = {spec.name: spec for spec in (DECK, PLAYS, CREDITS)}
    spec = MAP_TABLES.get(path.stem) or others.get(path.stem)
    return spec.column_names if spec else ()


def write_table(path: Path, table: Table, *, keep_backup: bool = True) -> None:
    """Write a table with its delimiter, encoding, line ends and order of columns.

    A table in Windows-1252 that has come to hold other letters is written as UTF-8 with
    a byte-order mark, by which spreadsheet programs know it.

    Raises
    ------
    FaultyProject
        The file could not be written; what was there is unchanged.
    """
    write_bytes_safely(path, table_bytes(table), keep_backup=keep_backup)


def table_bytes(table: Table) -> bytes:
    """Give the bytes of a table as CSV.

    >>> print(table_bytes(Table(("tier", "name"), (("root", "L; S"),), TableStyle(";"))).decode())
    tier;name
    root;"L; S"
    <BLANKLINE>
    """
    # A header of one column shows no delimiter: the comma is what a reader then supposes,
    # and nothing but quotation marks tells a comma within a cell from it.
    quote_all = len(table.header) == 1
    delimiter = "," if quote_all else table.style.delimiter
    lines = (
        _line(row, delimiter, quote_all) + table.style.line_end
        for row in (table.header, *table.rows)
    )
    text = "".join(lines)
    try:
        return text.encode(table.style.encoding)
    except UnicodeEncodeError:
        return text.encode("utf-8-sig")


def _line(row: Sequence[str], delimiter: str, quote_all: bool) -> str:
    """Join cells; the csv module of Python 3.11 leaves a lone carriage return unquoted."""
    awkward = (delimiter, '"', "\n", "\r")
    return delimiter.join(
        '"' + cell.replace('"', '""') + '"'
        if quote_all or row == ("",) or any(mark in cell for mark in awkward)
        else cell
        for cell in row
    )


__all__ = [
    "Table",
    "TableStyle",
    "read_table",
    "table_bytes",
    "write_bytes_safely",
    "write_table",
    "write_text_safely",
]
