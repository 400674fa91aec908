"""The first start, the shelf of projects, the host key, the files of ``out/`` and the jobs."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, File, Form, HTTPException, Request, UploadFile
from fastapi import Path as InPath
from fastapi.responses import FileResponse, RedirectResponse, Response

from nervure import api, words
from nervure.errors import BadUsage, NervureError
from nervure.project import bundled_maps
from nervure.web.access import give_right, is_host_key
from nervure.web.bench import Bench, Page
from nervure.web.out_files import file_of_out, sandboxed
from nervure.web.shelf import OpenProject, slug

JobNumber = Annotated[int, InPath(ge=1, le=2**53)]
TABLE_KINDS = (".csv", ".xlsx", ".tsv", ".txt")


def routes(bench: Bench) -> APIRouter:
    """Make the routes."""
    router = APIRouter()
    say = bench.view.say

    @router.get("/")
    def start(request: Request) -> Response:
        if len(bench.shelf) == 1:
            return RedirectResponse(f"/p/{next(iter(bench.shelf)).id}/map", 303)
        return shelf(request)

    @router.get("/projects")
    def shelf(request: Request) -> Response:
        return _shelf(bench, request)

    @router.post("/projects/map")
    def from_map(
        name: Annotated[str, Form(max_length=200)], map: Annotated[str, Form(max_length=60)]
    ) -> Response:
        folder = _new_folder(bench, name)
        api.new(folder, map_name=map)
        return RedirectResponse(f"/p/{bench.shelf.put(folder).id}/map", 303)

    @router.post("/projects/table")
    def from_table(
        name: Annotated[str, Form(max_length=200)], table: Annotated[UploadFile, File()]
    ) -> Response:
        ending = Path(table.filename or "").suffix.lower()
        if ending not in TABLE_KINDS:
            raise BadUsage(say("web.first.not-a-table", kinds=" ".join(TABLE_KINDS)))
        folder = _new_folder(bench, name)
        with tempfile.TemporaryDirectory() as place:
            copy = Path(place) / f"table{ending}"
            copy.write_bytes(table.file.read())
            api.new(folder, table=copy)
        return RedirectResponse(f"/p/{bench.shelf.put(folder).id}/map", 303)

    @router.post("/projects/open")
    def open_found(folder: Annotated[str, Form(max_length=200)]) -> Response:
        found = {path.name: path for path in _found(bench)}
        if folder not in found:
            raise HTTPException(404)
        return RedirectResponse(f"/p/{bench.shelf.put(found[folder]).id}/map", 303)

    @router.get("/p/{project}")
    def project_start(project: str) -> Response:
        return RedirectResponse(f"/p/{bench.project(project).id}/map", 303)

    @router.get("/p/{project}/out/{name:path}")
    def out(project: str, name: str) -> Response:
        return _out_file(bench.project(project), name)

    @router.get("/key")
    def ask_key(request: Request) -> Response:
        return bench.page(request, "first/key.html", title=say("web.key.title"), wrong=False)

    @router.post("/key")
    def take_key(request: Request, key: Annotated[str, Form(max_length=40)]) -> Response:
        if not is_host_key(key, bench.settings):
            title = say("web.key.title")
            return bench.page(request, "first/key.html", title=title, wrong=True, status=403)
        answer = RedirectResponse("/", 303)
        give_right(answer, bench.settings)
        return answer

    @router.get("/jobs/{number}")
    def job(number: JobNumber) -> Response:
        return _job_part(bench, number)

    @router.post("/jobs/{number}/stop")
    def stop(request: Request, number: JobNumber) -> Response:
        bench.jobs.stop(number)
        return _job_part(bench, number, request)

    @router.post("/jobs/{number}/go-on")
    def go_on(request: Request, number: JobNumber) -> Response:
        bench.jobs.go_on(number)
        return _job_part(bench, number, request)

    return router


def _shelf(bench: Bench, request: Request) -> Response:
    shown = []
    for project in bench.shelf:
        try:
            title, problem = project.read().title, ""
        except NervureError as found:
            title, problem = project.path.name, str(found).splitlines()[0]
        shown.append(
            {"id": project.id, "title": title, "folder": project.path.name, "problem": problem}
        )
    return bench.page(
        request,
        "first/page.html",
        title=bench.view.say("web.first.title"),
        projects=shown,
        found=[path.name for path in _found(bench)],
        maps=bundled_maps(),
        home=str(bench.settings.home),
    )


def _found(bench: Bench) -> list[Path]:
    """Give the projects in the home folder that are not open."""
    opened = {project.path for project in bench.shelf}
    try:
        folders = sorted(path for path in bench.settings.home.iterdir() if path.is_dir())
    except OSError:
        return []
    return [
        path for path in folders if (path / "game.toml").is_file() and path.resolve() not in opened
    ]


def _new_folder(bench: Bench, name: str) -> Path:
    """Give the folder of a new project, within the home folder."""
    base = slug(name)
    if not base:
        raise BadUsage(words.say("web.first.no-name"))
    folder = bench.settings.home / base
    if folder.exists():
        raise BadUsage(words.say("web.first.taken", name=base))
    return folder


def _out_file(project: OpenProject, name: str) -> Response:
    file = file_of_out(project.path, name)
    if file is None:
        raise HTTPException(404)
    return sandboxed(FileResponse(file))


def _job_part(bench: Bench, number: int, request: Request | None = None) -> Response:
    found = bench.storage.job(number)
    if found is None:
        raise HTTPException(404)
    if request is not None and "hx-request" not in request.headers:
        return RedirectResponse("/kept", 303)
    return bench.part("job.html", job=found)


PAGE = Page("first", 0, routes)
