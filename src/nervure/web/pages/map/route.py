"""The map (placeholder of the frame until the page stands)."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from nervure.errors import has_errors
from nervure.web.bench import Bench, Page, State
from nervure.web.shelf import Reading


def routes(bench: Bench) -> APIRouter:
    """Make the routes."""
    router = APIRouter(prefix="/p/{project}/map")

    @router.get("")
    def page(request: Request, project: str) -> Response:
        reading = bench.project(project).read()
        return bench.page(
            request,
            "map/page.html",
            title=bench.view.say("web.page.map"),
            page="map",
            reading=reading,
        )

    return router


def state(reading: Reading) -> State:
    """Tell what the page's leaf shows."""
    return "attention" if has_errors(reading.map_faults) else "order"


PAGE = Page("map", 1, routes, state)
