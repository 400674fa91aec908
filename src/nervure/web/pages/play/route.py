"""The lobby: lay a table, go on with one, look at one, delete one."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Annotated, Any

from fastapi import APIRouter, FastAPI, Form, HTTPException, Request
from fastapi.responses import RedirectResponse, Response

from nervure.engine import STYLES
from nervure.errors import BadUsage, has_errors
from nervure.table import SeatPlan, TableGame, seat_view
from nervure.web.bench import Bench, Page, State
from nervure.web.pages.play.after import after_routes
from nervure.web.pages.play.desk import Desk
from nervure.web.pages.play.room import room_routes
from nervure.web.pages.play.seats import TableNumber, seat_routes
from nervure.web.shelf import Reading

SEARCHER = "searcher:300"
PASSED, SEVERAL = "passed", "several"


def routes(bench: Bench) -> APIRouter:
    """Make the routes of the lobby and of the seats."""
    desk = Desk(bench)

    @asynccontextmanager
    async def life(_: FastAPI) -> AsyncIterator[None]:
        yield
        desk.hall.close()

    router = APIRouter(lifespan=life)
    router.include_router(room_routes(desk))
    router.include_router(after_routes(desk))
    router.include_router(_lobby_routes(desk), prefix="/p/{project}/play")
    router.include_router(seat_routes(desk))
    return router


def _lobby_routes(desk: Desk) -> APIRouter:
    router, bench = APIRouter(), desk.bench

    def of_project(project: str, table: int) -> TableGame:
        bench.project(project)
        try:
            return desk.of_project(project, table)
        except BadUsage as problem:
            raise HTTPException(404) from problem

    @router.get("")
    def lobby(request: Request, project: str) -> Response:
        return _lobby(desk, request, bench.project(project).read())

    @router.post("/new")
    def new(
        project: str,
        seats: Annotated[int, Form(ge=1, le=6)],
        who: Annotated[list[str], Form(max_length=6)],
        name: Annotated[list[str], Form(max_length=6)],
        help: Annotated[int, Form(ge=0, le=3)] = 2,
        devices: Annotated[str, Form(max_length=10)] = PASSED,
    ) -> Response:
        opened = bench.project(project)
        opened.read().project.require_sound()
        plans = _plans(desk, who[:seats], name[:seats], devices == SEVERAL)
        game, _ = desk.tables.lay(project, opened.path, plans, help_level=help)
        desk.hall.wake(game.id)
        if game.waits_for or not game.passed_round:
            return RedirectResponse(f"/p/{project}/play/{game.id}", 303)
        return RedirectResponse(desk.address(game, desk.passed_key(game.id)), 303)

    @router.get("/{table}")
    def host(request: Request, project: str, table: TableNumber) -> Response:
        return _host(desk, request, bench.project(project).read(), of_project(project, table))

    @router.post("/{table}/delete")
    def delete(project: str, table: TableNumber) -> Response:
        of_project(project, table)
        desk.tables.forget(table)
        desk.hall.tell(table)
        return RedirectResponse(f"/p/{project}/play", 303)

    @router.post("/{table}/ring")
    def ring(project: str, table: TableNumber) -> Response:
        of_project(project, table).ring_bell()
        desk.hall.tell(table)
        return RedirectResponse(f"/p/{project}/play/{table}", 303)

    @router.post("/{table}/stop")
    def stop(project: str, table: TableNumber) -> Response:
        of_project(project, table).stop()
        desk.hall.tell(table)
        return RedirectResponse(f"/p/{project}/play", 303)

    @router.post("/{table}/free")
    def free(project: str, table: TableNumber, seat: Annotated[int, Form(ge=0, le=5)]) -> Response:
        of_project(project, table).free_seat(seat)
        desk.hall.tell(table)
        return RedirectResponse(f"/p/{project}/play/{table}", 303)

    return router


def _plans(desk: Desk, who: list[str], names: list[str], joined_later: bool) -> list[SeatPlan]:
    plans = []
    for seat, player in enumerate(who):
        typed = names[seat].strip() if seat < len(names) else ""
        if player == "person":
            given = "" if joined_later else typed or desk.say("seat", seat=seat + 1)
            plans.append(SeatPlan("person", given))
        else:
            style = SEARCHER if player == "searcher" else player
            plans.append(SeatPlan("computer", style=style))
    return plans


def _lobby(desk: Desk, request: Request, reading: Reading) -> Response:
    say = desk.say
    faults = reading.project.faults
    sound = not has_errors(faults)
    sizes = list(reading.project.require_sound().rules.table_sizes) if sound else [1]
    tables = [_line(desk, game) for game in desk.tables_of(reading.id)]
    styles = [{"name": "person", "text": say("a-person")}]
    styles += [{"name": style, "text": say(f"style-{style}")} for style in (*STYLES, "searcher")]
    return desk.bench.page(
        request,
        "play/lobby.html",
        title=desk.bench.view.say("web.page.play"),
        page="play",
        reading=reading,
        sound=sound,
        errors=[fault for fault in faults if fault.level == "error"],
        sizes=sizes,
        chosen_size=min(3, sizes[-1]),
        styles=styles,
        tables=tables,
        running=[one for one in tables if one["running"]],
    )


def _line(desk: Desk, game: TableGame) -> dict[str, Any]:
    """Give a table's line in the lobby."""
    view = seat_view(game, None)
    return {
        "id": game.id,
        "made": game.made[:16].replace("T", " "),
        "seats": [seat["name"] for seat in view["seats"]],
        "state": desk.state(game),
        "running": view["result"] is None,
        "code": game.code if game.waits_for else "",
    }


def _host(desk: Desk, request: Request, reading: Reading, game: TableGame) -> Response:
    is_over = game.over_by is not None
    key = desk.passed_key(game.id)
    return desk.bench.page(
        request,
        "play/host.html",
        title=desk.say("table-number", number=game.id),
        page="play",
        reading=reading,
        table=game.id,
        state=desk.state(game),
        over=is_over,
        after=f"/p/{reading.id}/play/{game.id}/after",
        code="" if is_over or not game.waits_for else game.code,
        join=f"{request.url.scheme}://{request.headers['host']}/join",
        is_local=not desk.bench.settings.is_shared,
        passed=desk.address(game, key) if game.passed_round and not is_over else "",
        seats=[
            {
                "seat": seat,
                "name": game.who(seat),
                "is_free": held.is_free,
                "is_person": held.kind == "person",
            }
            for seat, held in enumerate(game.seats)
        ],
        watch=desk.address(game, game.watch()),
        rung=game.bell_round is not None,
    )


def state(reading: Reading) -> State:
    """Tell what the page's leaf shows: whether the game can be played."""
    return "attention" if has_errors(reading.project.faults) else "order"


PAGE = Page("play", 5, routes, state)
