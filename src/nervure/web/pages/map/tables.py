"""The tables below the leaf: given, proved with a change laid upon them, and saved."""

from __future__ import annotations

import hashlib
import shutil
import tempfile
from dataclasses import asdict
from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import APIRouter, HTTPException
from fastapi.responses import JSONResponse, Response
from pydantic import BaseModel, ConfigDict, Field

from nervure import anatomy as anatomies
from nervure.errors import BadUsage, Fault, FaultyProject, has_errors, sort_faults
from nervure.project import Table, read_map, read_table, write_table
from nervure.project.columns import MAP_TABLES
from nervure.web.bench import Bench
from nervure.web.pages.map.edits import Change, Conflict, Merged, merge
from nervure.web.shelf import OpenProject, Reading

Cell = Annotated[str, Field(max_length=20_000)]
Cells = Annotated[list[Cell], Field(max_length=40)]
FAULTS_SHOWN = 200


class ChangeForm(BaseModel):
    """One change as the page sends it; see `Change`."""

    model_config = ConfigDict(extra="forbid")
    kind: Literal["change", "add", "remove"]
    row: int = Field(ge=1, le=100_000)
    was: Cells = []
    now: Cells = []


class ChangesForm(BaseModel):
    """All changes of a table, with the digest of the file that they were made on."""

    model_config = ConfigDict(extra="forbid")
    digest: str = Field(max_length=64)
    changes: Annotated[list[ChangeForm], Field(max_length=5000)]

    def as_changes(self) -> list[Change]:
        """Give the changes as the merge takes them."""
        return [Change(one.kind, one.row, tuple(one.was), tuple(one.now)) for one in self.changes]


def routes(bench: Bench) -> APIRouter:
    """Make the routes, below ``/p/PROJECT/map/tables``."""
    router = APIRouter()

    @router.get("/{name}")
    def table(project: str, name: str) -> dict[str, Any]:
        opened = bench.project(project)
        return _given(bench, opened, name, _file_of(opened, name))

    @router.post("/{name}/prove")
    def prove(project: str, name: str, form: ChangesForm) -> Response:
        opened = bench.project(project)
        table = _read(_file_of(opened, name), name)
        merged = merge(table, form.as_changes(), _key(table, name))
        if not isinstance(merged, Merged):
            return JSONResponse(_met(merged), 409)
        faults = _proved(opened, name, merged.table)
        return JSONResponse({"faults": [_shown(fault) for fault in faults[:FAULTS_SHOWN]]})

    @router.post("/{name}/save")
    def save(project: str, name: str, form: ChangesForm) -> Response:
        return _save(bench, bench.project(project), name, form)

    @router.post("/{name}/drop-draft")
    def drop(project: str, name: str) -> dict[str, Any]:
        opened = bench.project(project)
        _file_of(opened, name)
        bench.storage.drop_draft(opened.id, _shown_name(name))
        return {}

    return router


def tables_of(bench: Bench, reading: Reading) -> list[dict[str, Any]]:
    """Give name, number of rows and faults of every table of the map."""
    map_ = reading.folder.map
    return [
        {
            "name": name,
            "rows": len(getattr(map_, name)),
            "errors": sum(
                fault.level == "error" and Path(fault.place.file).stem == name
                for fault in reading.map_faults
            ),
            "has_draft": bench.storage.draft(reading.id, _shown_name(name)) is not None,
        }
        for name in MAP_TABLES
    ]


def _shown_name(name: str) -> str:
    return f"map/{name}.csv"


def _file_of(project: OpenProject, name: str) -> Path:
    """Give the file of a table; only known names lead to a file."""
    if name not in MAP_TABLES:
        raise HTTPException(404)
    folder = project.path / "map"
    if not folder.is_dir():
        raise HTTPException(404)
    return folder / f"{name}.csv"


def _key(table: Table, name: str) -> list[int]:
    """Give the places of the columns by which a row is known."""
    spec = MAP_TABLES[name]
    columns = spec.one_row_for or spec.required_names[:1]
    return [table.header.index(column) for column in columns if column in table.header]


def _digest(file: Path) -> str:
    return hashlib.sha256(file.read_bytes()).hexdigest() if file.exists() else ""


def _read(file: Path, name: str) -> Table:
    """Give a table; one that is not there is empty under its known header."""
    return read_table(file) if file.exists() else Table(MAP_TABLES[name].column_names, ())


def _given(bench: Bench, project: OpenProject, name: str, file: Path) -> dict[str, Any]:
    digest = _digest(file)
    table = _read(file, name)
    reading = project.read()
    draft = bench.storage.draft(project.id, _shown_name(name))
    return {
        "name": name,
        "file": _shown_name(name),
        "digest": digest,
        "columns": list(table.header),
        "required": list(MAP_TABLES[name].required_names),
        "rows": [list(row) for row in table.rows],
        "faults": [_shown(fault) for fault in reading.map_faults if _is_of(fault, name)],
        "disputed": _disputed(reading) if name == "supplies" else {},
        "sources": {
            row.id: f"{row.citation} ({row.how_obtained})" if row.how_obtained else row.citation
            for row in reading.folder.map.sources
        },
        "draft": dict(draft.content) if draft else None,
        "draftMade": draft.made if draft else "",
    }


def _disputed(reading: Reading) -> dict[int, str]:
    """Give the targets on whose fibres sources differ, by the row of their supply."""
    return {
        row.place.row: row.target
        for row in reading.folder.map.supplies
        if row.place.row is not None and row.target in reading.evidence.disputes
    }


def _is_of(fault: Fault, name: str) -> bool:
    return Path(fault.place.file).stem == name


def _shown(fault: Fault) -> dict[str, Any]:
    return {**fault.to_dict(), "table": Path(fault.place.file).stem}


def _proved(project: OpenProject, name: str, table: Table) -> tuple[Fault, ...]:
    """Give the faults that the map would have with this table, by the code that reads files."""
    with tempfile.TemporaryDirectory() as place:
        copy = Path(place) / "map"
        copy.mkdir()
        for file in (project.path / "map").glob("*.csv"):
            shutil.copyfile(file, copy / file.name)
        write_table(copy / f"{name}.csv", table, keep_backup=False)
        try:
            map_, faults = read_map(copy)
        except FaultyProject as problem:
            return problem.faults
    return sort_faults([*faults, *anatomies.map_faults(map_, project.read().project.variants)])


def _met(conflicts: tuple[Conflict, ...]) -> dict[str, Any]:
    return {"conflicts": [asdict(conflict) for conflict in conflicts]}


def _save(bench: Bench, project: OpenProject, name: str, form: ChangesForm) -> Response:
    file, say = _file_of(project, name), bench.view.say
    if not form.changes:
        raise BadUsage(say("web.map.nothing-to-save"))
    is_unchanged = _digest(file) == form.digest
    before = _read(file, name)
    merged = merge(before, form.as_changes(), _key(before, name))
    if not isinstance(merged, Merged):
        told = say("web.map.two-hands", file=_shown_name(name))
        return JSONResponse({**_met(merged), "told": told}, 409)
    faults = _proved(project, name, merged.table)
    if has_errors(faults) and _is_worse(project, faults):
        return JSONResponse({"faults": [_shown(one) for one in faults[:FAULTS_SHOWN]]}, 422)
    try:
        write_table(file, merged.table)
    except FaultyProject as problem:
        bench.storage.keep_draft(project.id, _shown_name(name), form.model_dump())
        told = say("web.map.held", reason=str(problem))
        return JSONResponse({"told": told, "kept": True}, 423)
    bench.storage.drop_draft(project.id, _shown_name(name))
    key = "saved" if is_unchanged else "saved-merged"
    told = say(f"web.map.{key}", file=_shown_name(name), backup=f"{name}.csv.bak")
    return JSONResponse({"told": told, **_given(bench, project, name, file)})


def _is_worse(project: OpenProject, faults: tuple[Fault, ...]) -> bool:
    """Tell whether there are error faults that the map had not before.

    A map that has faults already may be mended one row at a time.
    """
    now = project.read().map_faults
    before = sorted((one.code, one.value or "") for one in now if one.level == "error")
    after = [(one.code, one.value or "") for one in faults if one.level == "error"]
    for fault in before:
        if fault in after:
            after.remove(fault)
    return bool(after)
