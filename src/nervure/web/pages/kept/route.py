"""What is stored, for how long, and how to take it away or delete it."""

from __future__ import annotations

import json
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from nervure.table.storage import JOBS_KEPT_DAYS
from nervure.web.bench import Bench, Page


def routes(bench: Bench) -> APIRouter:
    """Make the routes."""
    router = APIRouter()

    @router.get("/kept")
    def kept(request: Request) -> Response:
        return bench.page(
            request,
            "kept/page.html",
            title=bench.view.say("web.kept.title"),
            file=str(bench.storage.path),
            days=JOBS_KEPT_DAYS,
            rows=bench.storage.kept(),
            jobs=bench.storage.jobs()[:12],
        )

    @router.get("/kept/{project}.json")
    def export(project: str) -> Response:
        data = json.dumps(bench.storage.export(project), ensure_ascii=False, indent=1)
        headers = {"content-disposition": 'attachment; filename="nervure-kept.json"'}
        return Response(data, media_type="application/json", headers=headers)

    @router.post("/kept/delete")
    def delete(project: Annotated[str, Form(max_length=200)]) -> Response:
        bench.storage.delete_project(project)
        return RedirectResponse("/kept", 303)

    return router


PAGE = Page("kept", 0, routes)
