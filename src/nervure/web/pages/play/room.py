"""A class: all tables of a project at a glance, one button for the bell, a joint debrief."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import PlainTextResponse, RedirectResponse, Response

from nervure.table import TableGame, debrief
from nervure.table.tables import at_a_glance
from nervure.web.pages.play.after import lights_of
from nervure.web.pages.play.desk import Desk

QUESTIONS = (1, 2, 3)
REFUSED_SHOWN = 12


def room_routes(desk: Desk) -> APIRouter:
    """Make the routes; they stand before those of single tables, whose numbers are whole."""
    router, bench = APIRouter(prefix="/p/{project}/play/class"), desk.bench

    @router.get("")
    def everybody(request: Request, project: str) -> Response:
        reading = bench.project(project).read()
        tables = _tables(desk, project)
        return bench.page(
            request,
            "play/class.html",
            title=desk.say("class-link"),
            page="play",
            reading=reading,
            tables=tables,
            running=any(one["running"] for one in tables),
        )

    @router.get("/part")
    def part(project: str) -> Response:
        bench.project(project)
        return bench.part("play/_class.html", tables=_tables(desk, project))

    @router.post("/ring")
    def ring(project: str) -> Response:
        bench.project(project)
        for game in desk.tables_of(project):
            if game.ring_bell():
                desk.hall.tell(game.id)
        return RedirectResponse(f"/p/{project}/play/class", 303)

    @router.get("/leaf")
    def leaf(project: str) -> Response:
        bench.project(project)
        games = _played(desk, project)
        svg = desk.shown(games[0]).map.leaf if games else ""
        return PlainTextResponse(svg, media_type="image/svg+xml")

    @router.get("/debrief")
    def joint(request: Request, project: str) -> Response:
        reading = bench.project(project).read()
        games = _played(desk, project)
        told = debrief(games)
        refused = told["refused"][:REFUSED_SHOWN]
        return bench.page(
            request,
            "play/debrief.html",
            title=desk.say("debrief"),
            page="play",
            reading=reading,
            lead=desk.amount("debrief-lead", len(games)),
            refused=[
                desk.amount("times", one["count"], connection=one["text"]) for one in refused
            ],
            questions=[desk.say(f"question-{number}") for number in QUESTIONS],
            met_line=desk.say("met-line", met=told["met"], pathways=told["pathways"]),
            leaf=f"/p/{project}/play/class/leaf",
            lights=lights_of(desk, games) if games else [],
            unmet=[one["text"] for one in told["unmet"]],
        )

    return router


def _played(desk: Desk, project: str) -> list[TableGame]:
    """Give the tables of the newest design that was played, running ones too, oldest first."""
    games = desk.tables_of(project)
    return [game for game in games if game.design_digest == games[0].design_digest][::-1]


def _tables(desk: Desk, project: str) -> list[dict[str, Any]]:
    return [_line(desk, project, game) for game in desk.tables_of(project)]


def _line(desk: Desk, project: str, game: TableGame) -> dict[str, Any]:
    glance = at_a_glance(game)
    is_over = glance["over"] is not None
    end = datetime.fromisoformat(glance["last"]) if is_over else datetime.now(UTC)
    minutes = max(0, int((end - datetime.fromisoformat(glance["made"])).total_seconds() // 60))
    clock = desk.amount("minutes", minutes)
    if glance["bell"] and not is_over:
        clock += f" · {desk.say('bell-rung')}"
    address = f"/p/{project}/play/{game.id}"
    return {
        "id": game.id,
        "code": game.code if game.waits_for else "",
        "state": desk.state(game),
        "running": not is_over,
        "clock": clock,
        "seats": [
            f"{seat['name']} {desk.amount('points', seat['points'])}" for seat in glance["seats"]
        ],
        "refused": [
            desk.amount("times", one["count"], connection=one["text"]) for one in glance["refused"]
        ],
        "address": f"{address}/after" if is_over else address,
    }
