"""The application: pages behind the guard, errors in plain sentences."""

from __future__ import annotations

import logging
from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager
from pathlib import Path

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException

from nervure.errors import FaultyProject, NervureError, UnknownName
from nervure.table import Jobs, Storage, Work
from nervure.web.bench import Bench
from nervure.web.guard import Guard
from nervure.web.pages import PAGES
from nervure.web.settings import Settings
from nervure.web.shelf import Shelf
from nervure.web.statics import Statics
from nervure.web.view import View

_log = logging.getLogger(__name__)


def create_app(projects: Iterable[Path], storage: Storage, settings: Settings) -> FastAPI:
    """Make the workbench.

    Parameters
    ----------
    projects
        Folders to open; none leads to the page for a first start.
    storage
        What it keeps; its owner closes it.
    settings
        Where it listens, and who may do what.

    Returns
    -------
    The application; ``app.state.bench`` is what its pages work with. Jobs run between the
    start and the end of its life.
    """
    statics = Statics()
    view = View(statics, PAGES, settings.language)
    bench = Bench(settings, Shelf(projects), storage, view)
    works: dict[str, Work] = {}
    for page in PAGES:
        works |= page.works(bench) if page.works else {}
    object.__setattr__(bench, "jobs", Jobs(storage, works))  # works need the bench, it them

    @asynccontextmanager
    async def life(_: FastAPI) -> AsyncIterator[None]:
        bench.jobs.start()
        yield
        bench.jobs.close()

    app = FastAPI(title="Nervure", docs_url=None, redoc_url=None, openapi_url=None, lifespan=life)
    app.state.bench = bench

    app.add_middleware(Guard, settings=settings)

    @app.get("/static/{name:path}", include_in_schema=False)
    def static(name: str, request: Request) -> Response:
        return statics.answer(name, request)

    for page in PAGES:
        app.include_router(page.routes(bench))
    _tell_errors(app, bench)
    return app


def _tell_errors(app: FastAPI, bench: Bench) -> None:
    say = bench.view.say

    def told(request: Request, status: int, message: str, faults: list[str]) -> Response:
        if not wants_page(request):
            return JSONResponse({"message": message, "faults": faults}, status)
        return bench.page(
            request,
            "problem.html",
            title=say("web.problem.title"),
            status=status,
            message=message,
            faults=faults,
        )

    @app.exception_handler(NervureError)
    async def known(request: Request, problem: NervureError) -> Response:
        if isinstance(problem, FaultyProject):
            sentences = [fault.message for fault in problem.faults]
            return told(request, 422, say("web.problem.faulty"), sentences)
        status = 404 if isinstance(problem, UnknownName) else 400
        return told(request, status, str(problem), [])

    @app.exception_handler(HTTPException)
    async def refused(request: Request, problem: HTTPException) -> Response:
        keys = {404: "problem.missing", 405: "problem.method", 413: "refused.size"}
        key = keys.get(problem.status_code, "problem.other")
        return told(request, problem.status_code, say(f"web.{key}"), [])

    @app.exception_handler(RequestValidationError)
    async def misshapen(request: Request, problem: RequestValidationError) -> Response:
        return told(request, 400, say("web.problem.form"), [])

    @app.exception_handler(Exception)
    async def own_mistake(request: Request, problem: Exception) -> Response:
        _log.error("a page failed: %s", request.url.path, exc_info=problem)
        return told(request, 500, say("web.problem.own"), [])


def wants_page(request: Request) -> bool:
    """Tell whether a request is a person's, who gets a page, or a script's, which gets data."""
    return (
        "text/html" in request.headers.get("accept", "text/html")
        and "hx-request" not in request.headers
    )
