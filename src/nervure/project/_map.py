"""The tables of a map -> one `Map` in which every id that is named exists."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from nervure.errors import Fault, Place, error, nearest, warning
from nervure.project._cells import Known, is_id, looks_like_date, to_id
from nervure.project._rows import Row, check_header, iter_cells, read_rows
from nervure.project._text import decode, read_bytes
from nervure.project._to_records import map_records, without_loose_ends
from nervure.project._workbook import parse_workbook
from nervure.project.columns import MAP_TABLES, TableSpec
from nervure.project.records import Map
from nervure.project.tables import Table, parse_table

Cells = list[tuple[Place, dict[str, str]]]
RESERVED_IDS = ("variant", "any")


def read_map_tables(
    folder: Path, root: Path, shown: str, faults: list[Fault]
) -> dict[str, tuple[Place, Table | None]]:
    """Give the tables of a folder of CSV files by name, each with its place.

    ``shown`` is what faults call the folder (``map``). A file that is there but cannot
    be read has None; an unknown CSV file is a fault.
    """
    found: dict[str, tuple[Place, Table | None]] = {}
    for path in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if path.suffix.lower() != ".csv" or path.name.startswith((".", "~")):
            continue
        place = Place(f"{shown}/{path.name}")
        spec = MAP_TABLES.get(path.stem) if path.suffix == ".csv" else None
        if spec is None:
            names = [f"{name}.csv" for name in MAP_TABLES]
            closest = nearest(path.name.lower(), names, most=1)[0]
            faults.append(error("unknown-table", place, value=path.name, nearest=closest))
            continue
        data = read_bytes(path, place, root, faults)
        text = None if data is None else decode(data, place, faults)
        table = text and parse_table(text, place, spec.column_names, faults)
        found[spec.name] = (place, table or None)
    return found


def read_workbook_tables(
    path: Path, root: Path, faults: list[Fault]
) -> dict[str, tuple[Place, Table | None]] | None:
    """Give the tables of a workbook by name, each with its place; None if it cannot be read."""
    place = Place(path.name)
    data = read_bytes(path, place, root, faults)
    sheets = None if data is None else parse_workbook(data, place, faults)
    if sheets is None:
        return None
    found: dict[str, tuple[Place, Table | None]] = {}
    for name, table in sheets.items():
        where = Place(path.name, sheet=name)
        if name not in MAP_TABLES:
            closest = nearest(name.lower(), list(MAP_TABLES), most=1)[0]
            faults.append(error("unknown-table", where, value=name, nearest=closest))
        elif not table.header:
            names = " ".join(MAP_TABLES[name].column_names)
            faults.append(error("file-empty", where, names=names))
            found[name] = (where, None)
        else:
            found[name] = (where, table)
    return found


def build_map(
    tables: Mapping[str, tuple[Place, Table | None]],
    absent: Mapping[str, Place],
    name: str,
    faults: list[Fault],
) -> tuple[Map, Known]:
    """Give the map of the tables, and the ids that may be named elsewhere.

    ``absent`` tells where a table that is missing should have stood.
    """
    known = Known()
    cells: dict[str, Cells] = {}
    for spec in MAP_TABLES.values():
        cells[spec.name] = _cells_of(spec, tables.get(spec.name), absent, known, faults)
    for spec in MAP_TABLES.values():
        _declare(spec, cells[spec.name], known, faults)
    _name_origins(cells, known)
    _name_links(cells["links"], known)
    rows = {
        spec.name: read_rows(cells[spec.name], spec, known, faults) for spec in MAP_TABLES.values()
    }
    rows = {name: _first_of_each_id(name, each) for name, each in rows.items()}
    for table in ("links", "supplies", "readings", "lesions"):
        _check_main(rows[table], faults)
    return without_loose_ends(map_records(rows, name)), known


def _cells_of(
    spec: TableSpec,
    found: tuple[Place, Table | None] | None,
    absent: Mapping[str, Place],
    known: Known,
    faults: list[Fault],
) -> Cells:
    """Give the filled cells of one table; mark as unsure what a broken table would declare."""
    if found is None:
        if spec.need == "rows":
            faults.append(
                error("table-missing", absent[spec.name], names=" ".join(spec.column_names))
            )
            _doubt(spec, known)
        elif spec.need == "file":
            faults.append(
                warning("sources-missing", absent[spec.name], names=" ".join(spec.column_names))
            )
            _doubt(spec, known)
        return []
    place, table = found
    if table is None or not check_header(table, spec, place, faults):
        _doubt(spec, known)
        return []
    cells = list(iter_cells(table, spec, place, faults))
    if not cells and spec.need == "rows":
        faults.append(error("table-without-rows", place, names=" ".join(spec.column_names)))
        _doubt(spec, known)
    return cells


def _doubt(spec: TableSpec, known: Known) -> None:
    if spec.declares:
        known.unsure.add(spec.declares)
    if spec.name in ("tiers", "structures"):
        known.origins_unsure = True
    if spec.name == "links":
        known.links_unsure = True


def _declare(spec: TableSpec, cells: Cells, known: Known, faults: list[Fault]) -> None:
    """Note the ids of a table; an id that stands twice in the whole map is a fault."""
    if spec.declares is None:
        return
    column = spec.columns[0].name
    for place, filled in cells:
        cell = filled.get(column, "")
        if looks_like_date(cell):
            known.unsure.add(spec.declares)  # its references cannot be judged
            continue
        name = cell if is_id(cell) else to_id(cell)
        if not name:
            continue
        here = place.at(column)
        first = _declared_at(name, known)
        if first is not None:
            faults.append(error("id-twice", here, value=name, first=str(first)))
        elif name in RESERVED_IDS:
            faults.append(error("id-reserved", here, value=name))
        known.of(spec.declares).setdefault(name, here)


def _declared_at(name: str, known: Known) -> Place | None:
    return next((ids[name] for ids in known.ids.values() if name in ids), None)


def _name_origins(cells: Mapping[str, Cells], known: Known) -> None:
    first = next(iter(known.of("tier")), None)
    known.origins = tuple(
        dict.fromkeys(
            to_id(filled["structure"])
            for _, filled in cells["structures"]
            if "structure" in filled and to_id(filled.get("tier", "")) == first
        )
    )
    if "structure" in known.unsure or "tier" in known.unsure:
        known.origins_unsure = True


def _name_links(cells: Cells, known: Known) -> None:
    known.links = {
        (to_id(filled.get("from", "")), to_id(filled.get("to", ""))) for _, filled in cells
    }


def _first_of_each_id(table: str, rows: list[Row]) -> list[Row]:
    if MAP_TABLES[table].declares is None:
        return rows
    column = MAP_TABLES[table].columns[0].name
    return list({row.text(column): row for row in reversed(rows)}.values())[::-1]


def _check_main(rows: Sequence[Row], faults: list[Fault]) -> None:
    for row in rows:
        fibres = row.ids_or_none("fibres")
        outside = [name for name in row.ids("main_fibres") if name not in (fibres or ())]
        if fibres is not None and outside:
            listing = " ".join(fibres)
            place = row.place.at("main_fibres")
            faults.append(error("main-outside", place, value=" ".join(outside), fibres=listing))
