"""The lobby: lay a table, go on with one, look at one, delete one."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from nervure.engine import STYLES
from nervure.errors import has_errors
from nervure.web.bench import Bench, Page, State
from nervure.web.shelf import Reading


def routes(bench: Bench) -> APIRouter:
    """Make the routes."""
    router = APIRouter(prefix="/p/{project}/play")
    say = bench.view.say

    @router.get("")
    def lobby(request: Request, project: str) -> Response:
        reading = bench.project(project).read()
        faults = reading.project.faults
        sound = not has_errors(faults)
        sizes = list(reading.project.require_sound().rules.table_sizes) if sound else [1]
        return bench.page(
            request,
            "play/lobby.html",
            title=say("web.page.play"),
            page="play",
            reading=reading,
            sound=sound,
            errors=[fault for fault in faults if fault.level == "error"],
            sizes=sizes,
            chosen_size=min(3, sizes[-1]),
            styles=[{"name": "person", "text": say("web.play.person")}]
            + [{"name": style, "text": say(f"web.play.style-{style}")} for style in STYLES],
            tables=[],
            running=[],
        )

    return router


def state(reading: Reading) -> State:
    """Tell what the page's leaf shows: whether the game can be played."""
    return "attention" if has_errors(reading.project.faults) else "order"


PAGE = Page("play", 5, routes, state)
