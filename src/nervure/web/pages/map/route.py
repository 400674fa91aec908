"""The page of the map: the leaf, cuts and likely sites, sources, the tables below."""

from __future__ import annotations

import csv
import io
import tempfile
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, File, Query, Request, UploadFile
from fastapi.responses import RedirectResponse, Response
from markupsafe import Markup

from nervure import anatomy as anatomies
from nervure.errors import has_errors
from nervure.report.check_sources import drawers_of
from nervure.report.leaf_facts import pathway_count
from nervure.report.marks import mark_of_tier
from nervure.table import Job, Progress, Stop, Work
from nervure.web.bench import Bench, Page, State
from nervure.web.pages.map import tables
from nervure.web.pages.map.asking import cut_answer, localize_answer
from nervure.web.pages.map.drawing import picture_of
from nervure.web.pages.map.facts import facts_of
from nervure.web.shelf import Reading

Ids = Annotated[list[str], Query(max_length=200)]
CHECK = "check"


def routes(bench: Bench) -> APIRouter:
    """Make the routes."""
    router = APIRouter(prefix="/p/{project}/map")

    def reading_of(project: str, chosen: bool, variant: list[str]) -> Reading:
        return bench.project(project).read(variant if chosen else None)

    @router.get("")
    def page(
        request: Request,
        project: str,
        chosen: bool = False,
        variant: Ids = [],  # noqa: B006
    ) -> Response:
        return _page(bench, request, reading_of(project, chosen, variant))

    @router.get("/facts")
    def facts(project: str, chosen: bool = False, variant: Ids = []) -> dict[str, Any]:  # noqa: B006
        return facts_of(reading_of(project, chosen, variant))

    @router.get("/cut")
    def cut(
        project: str,
        site: Ids = [],  # noqa: B006
        via: Ids = [],  # noqa: B006
        fibre: Ids = [],  # noqa: B006
        chosen: bool = False,
        variant: Ids = [],  # noqa: B006
    ) -> dict[str, Any]:
        reading = reading_of(project, chosen, variant)
        return cut_answer(bench, reading, site, via, fibre or None)

    @router.get("/localize")
    def localize(
        project: str,
        affected: Ids = [],  # noqa: B006
        spared: Ids = [],  # noqa: B006
        chosen: bool = False,
        variant: Ids = [],  # noqa: B006
    ) -> dict[str, Any]:
        return localize_answer(bench, reading_of(project, chosen, variant), affected, spared)

    @router.post("/check")
    def check(request: Request, project: str) -> Response:
        job = bench.jobs.add(bench.project(project).id, CHECK)
        if "hx-request" in request.headers:
            return bench.part("job.html", job=job)
        return RedirectResponse("/kept", 303)

    @router.get("/review.csv")
    def review_sheet(project: str) -> Response:
        text = io.StringIO()
        rows = anatomies.review_rows(bench.project(project).read().anatomy)
        writer = csv.DictWriter(text, list(rows[0]) if rows else ["target"])
        writer.writeheader()
        writer.writerows(rows)
        headers = {"content-disposition": 'attachment; filename="review.csv"'}
        return Response(text.getvalue(), media_type="text/csv", headers=headers)

    @router.post("/review")
    def review(request: Request, project: str, sheet: Annotated[UploadFile, File()]) -> Response:
        return _review(bench, request, bench.project(project).read(), sheet.file.read())

    router.include_router(tables.routes(bench), prefix="/tables")
    return router


def _page(bench: Bench, request: Request, reading: Reading) -> Response:
    anatomy, map_ = reading.anatomy, reading.folder.map
    picture = picture_of(reading)
    errors = [fault for fault in reading.map_faults if fault.level == "error"]
    warnings = [fault for fault in reading.map_faults if fault.level == "warning"]
    return bench.page(
        request,
        "map/page.html",
        title=bench.view.say("web.page.map"),
        page="map",
        reading=reading,
        marks=[mark_of_tier(tier, map_) for tier in map_.tiers],
        leaf=Markup(picture.svg),
        map_words=dict(reading.folder.words),
        counts={
            "structures": len(map_.structures),
            "targets": len(map_.targets),
            "pathways": pathway_count(anatomy),
        },
        errors=errors,
        warnings=warnings,
        drawers=drawers_of(anatomy, reading.evidence),
        has_readings=bool(map_.readings),
        variants=[(row, row.id in anatomy.variants) for row in map_.variants],
        lesions=map_.lesions,
        links=list(dict.fromkeys((row.start, row.end) for row in anatomy.links)),
        names={row.id: row.name for row in map_.structures},
        targets=[anatomy.target(name) for name in picture.targets],
        tables=tables.tables_of(bench, reading),
        is_editable=reading.folder.map_origin == "folder",
        map_origin=reading.folder.map_origin,
    )


def _review(bench: Bench, request: Request, reading: Reading, sheet: bytes) -> Response:
    with tempfile.TemporaryDirectory() as place:
        copy = Path(place) / "review.csv"
        copy.write_bytes(sheet)
        found = anatomies.read_review(copy, reading.anatomy)
    names = {row.id: row.name for row in reading.folder.map.structures}
    names |= {row.id: row.name for row in reading.folder.map.targets}
    return bench.page(
        request,
        "map/review.html",
        title=bench.view.say("web.map.review-title"),
        reading=reading,
        found=found,
        names=names,
    )


def _works(bench: Bench) -> dict[str, Work]:
    def check(job: Job, progress: Progress, stop: Stop) -> dict[str, Any]:
        project = bench.project(job.project).read().project
        result = project.check()
        files = [Path(file).name for file in result["files"]]
        return {"sentence": result.summary, "files": files, "complete": True}

    return {CHECK: check}


def state(reading: Reading) -> State:
    """Tell what the page's leaf shows."""
    return "attention" if has_errors(reading.map_faults) else "order"


PAGE = Page("map", 1, routes, state, _works)
