"""The addresses of players: joining by code, a seat's page and its line.

They need no right to edit: a code lets in where a seat is free, and a seat's own address,
which nobody can guess, opens that seat.
"""

from __future__ import annotations

import hmac
from time import monotonic
from typing import Annotated, Any

from fastapi import APIRouter, Form, HTTPException, Request, WebSocket
from fastapi import Path as InPath
from fastapi.responses import PlainTextResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from nervure.errors import BadUsage
from nervure.table import TableGame
from nervure.web.guard import Buckets
from nervure.web.pages.play.desk import Desk
from nervure.web.pages.play.devices import PassedDevice, SeatDevice, device_of
from nervure.web.pages.play.socket import GONE, serve

WRONG_CODES_A_SECOND = 1.0  # from one address, eight at once
TableNumber = Annotated[int, InPath(ge=1, le=2**53)]
Key = Annotated[str, InPath(max_length=100)]
Code = Annotated[str, Form(max_length=40)]


def seat_routes(desk: Desk) -> APIRouter:
    """Make the routes."""
    router, say = APIRouter(), desk.say
    wrong_codes = Buckets(WRONG_CODES_A_SECOND, monotonic)

    def device(table: int, key: str) -> SeatDevice | PassedDevice:
        try:
            return device_of(desk, table, key)
        except BadUsage as problem:
            raise HTTPException(404) from problem

    def join_page(request: Request, code: str = "", problem: str = "") -> Response:
        return desk.bench.page(
            request,
            "play/join.html",
            title=say("join-title"),
            page="play",
            status=400 if problem else 200,
            code=code,
            problem=problem,
        )

    def tables_of(code: str) -> list[TableGame]:
        """Give the tables that a code opens: one, or with the workbench's own code all."""
        typed, own = code.strip().upper(), desk.bench.settings.join_code
        if own and hmac.compare_digest(typed.encode(), own.encode()):
            return [game for game in desk.tables.running() if game.waits_for]
        return [desk.tables.by_code(typed)]

    @router.get("/join")
    def ask(request: Request) -> Response:
        return join_page(request)

    @router.post("/join")
    def join(request: Request, code: Code) -> Response:
        try:
            found = tables_of(code)
        except BadUsage as problem:
            address = request.client.host if request.client else ""
            if not wrong_codes.take(address):
                return join_page(request, code, say("join-often"))
            return join_page(request, code, str(problem))
        chairs = [
            {
                "id": game.id,
                "title": game.game.title,
                "seats": [(seat, game.who(seat)) for seat in game.waits_for],
                "watch": desk.address(game, game.watch()),
            }
            for game in found
        ]
        title = say("chairs-title")
        return desk.bench.page(
            request, "play/chairs.html", title=title, page="play", tables=chairs, code=code
        )

    @router.post("/join/sit")
    def sit(
        code: Code,
        table: Annotated[int, Form(ge=1)],
        seat: Annotated[int, Form(ge=0, le=5)],
        name: Annotated[str, Form(max_length=200)] = "",
    ) -> Response:
        game = next((one for one in tables_of(code) if one.id == table), None)
        if game is None:
            raise HTTPException(404)
        _, token = game.sit(name, seat)
        desk.hall.tell(game.id)
        return RedirectResponse(desk.address(game, token), 303)

    @router.get("/seat/{table}/{key}")
    def seat_page(request: Request, table: TableNumber, key: Key) -> Response:
        device(table, key)
        address = f"/seat/{table}/{key}"
        return desk.bench.page(
            request,
            "play/table.html",
            title=desk.tables.by_id(table).game.title,
            page="play",
            marksheet=desk.marksheet,
            live=f"{address}/live",
            leaf=f"{address}/leaf",
            why=f"{address}/why",
        )

    @router.websocket("/seat/{table}/{key}/live")
    async def live(socket: WebSocket, table: int, key: str) -> None:
        try:
            found = await run_in_threadpool(device_of, desk, table, key)
        except (BadUsage, OverflowError):
            await socket.accept()
            await socket.close(GONE)
            return
        await serve(socket, desk.hall, table, found, say)

    @router.get("/seat/{table}/{key}/leaf")
    def leaf(table: TableNumber, key: Key) -> Response:
        device(table, key)
        svg = desk.shown(desk.tables.by_id(table)).map.leaf
        return PlainTextResponse(svg, media_type="image/svg+xml")

    @router.get("/seat/{table}/{key}/why/{entry}")
    def why(table: TableNumber, key: Key, entry: int) -> dict[str, Any]:
        device(table, key)
        return why_of(desk, desk.tables.by_id(table), entry)

    return router


def why_of(desk: Desk, game: TableGame, entry: int) -> dict[str, Any]:
    """Give what of the map a ruling lights, and its sentence; 404 where there is none."""
    with game.lock:
        events = game.entries[entry].events if 0 <= entry < len(game.entries) else ()
        ruling = next((one for one in events if one.kind in ("why", "refused")), None)
        if ruling is None or game.help_level == 0:
            raise HTTPException(404)
        text, ids = ruling.text, ruling.ids
    map_ = desk.shown(game).map
    structures = {row.id for row in map_.anatomy.map.structures}
    targets = {row.id for row in map_.anatomy.map.targets}
    asked = [
        name
        for role in ("cards", "one", "other", "parts", "last", "reading", "target")
        for name in ids.get(role, ())
    ]
    named = list(dict.fromkeys(name for name in asked if name in structures | targets))
    way = [name for name in ids.get("way", ()) if name in structures]
    if ruling.kind == "why" and way:
        goal = ids.get("supplies", ())[:1]
        pathways = [
            pathway
            for target in goal
            for pathway in map_.anatomy.pathways(target)
            if set(way[1:]) <= set(pathway.structures) and pathway.origin in ids.get("origins", ())
        ]
        lit = map_.lit(pathways)
        return {"says": [text], **lit, "asked": named, "far": []}
    near, far = _sides([name for name in named if name in structures], ids.get("target", ()))
    lit = map_.lit(map_.pathways_through(near)) if near else {"lanes": [], "parts": []}
    other = (
        map_.lit(
            map_.pathways_through(far[:1])
            if far[0] in structures
            else map_.anatomy.pathways(far[0])
        )
        if far
        else {"lanes": [], "parts": []}
    )
    return {
        "says": [text],
        "lanes": lit["lanes"],
        "far": [lane for lane in other["lanes"] if lane not in set(lit["lanes"])],
        "parts": named,
        "asked": named,
    }


def _sides(cards: list[str], target: Any) -> tuple[list[str], list[str]]:
    """Part what was refused: what holds by itself, and what does not go with it."""
    if target:
        return cards[-1:], list(target[:1])
    return cards[:-1], cards[-1:]
