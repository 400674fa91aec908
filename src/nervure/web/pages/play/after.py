"""After the game: the result, what was met, yardsticks, the game again, the record."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from threading import Lock
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import PlainTextResponse, Response

from nervure import words
from nervure.errors import BadUsage
from nervure.records import Measure
from nervure.records.figures import said_unit, say_figure
from nervure.table import TableGame, measured_pace, seat_view, turn_seconds, yardsticks
from nervure.table import write_record as record_of
from nervure.table.outcome import pathways_met
from nervure.table.replayed import Replayed
from nervure.web.pages.play.desk import Desk
from nervure.web.pages.play.devices import device_of
from nervure.web.pages.play.seats import Key, TableNumber
from nervure.web.pages.play.shown import Shown
from nervure.web.pages.playtest.found import last_of

MEASURES = (
    "turns",
    "minutes",
    "wait",
    "first_claim",
    "choices",
    "forced",
    "idle",
    "stuck",
    "lead_changes",
    "margin",
)
REPLAYS_KEPT = 8
JSON_LINES = "application/x-ndjson"


def after_routes(desk: Desk) -> APIRouter:
    """Make the routes, for hosts and for everybody who sat at the table."""
    router, replays = APIRouter(), _Replays()

    def hosted(project: str, table: int) -> TableGame:
        desk.bench.project(project)
        try:
            return over(desk.of_project(project, table))
        except BadUsage as problem:
            raise HTTPException(404) from problem

    def seated(table: int, key: str) -> TableGame:
        try:
            device_of(desk, table, key)
            return over(desk.tables.by_id(table))
        except BadUsage as problem:
            raise HTTPException(404) from problem

    @router.get("/p/{project}/play/{table}/after")
    def for_host(request: Request, project: str, table: TableNumber) -> Response:
        base = f"/p/{project}/play/{table}"
        return _page(desk, request, hosted(project, table), base, project)

    @router.get("/p/{project}/play/{table}/replay")
    def replay_for_host(project: str, table: TableNumber, at: int) -> dict[str, Any]:
        game = hosted(project, table)
        return _step(desk, game, replays.of(game), at)

    @router.get("/p/{project}/play/{table}/leaf")
    def leaf_for_host(project: str, table: TableNumber) -> Response:
        svg = desk.shown(hosted(project, table)).map.leaf
        return PlainTextResponse(svg, media_type="image/svg+xml")

    @router.get("/p/{project}/play/{table}/record.jsonl")
    def record_for_host(project: str, table: TableNumber) -> Response:
        return _record(hosted(project, table))

    @router.get("/seat/{table}/{key}/after")
    def for_seat(request: Request, table: TableNumber, key: Key) -> Response:
        return _page(desk, request, seated(table, key), f"/seat/{table}/{key}", "")

    @router.get("/seat/{table}/{key}/replay")
    def replay_for_seat(table: TableNumber, key: Key, at: int) -> dict[str, Any]:
        game = seated(table, key)
        return _step(desk, game, replays.of(game), at)

    @router.get("/seat/{table}/{key}/record.jsonl")
    def record_for_seat(table: TableNumber, key: Key) -> Response:
        return _record(seated(table, key))

    return router


def over(game: TableGame) -> TableGame:
    """Give a table that is over; 404 while it runs, for what is hidden would be told."""
    if game.over_by is None:
        raise HTTPException(404)
    return game


class _Replays:
    """The games that are looked at again, the last few."""

    def __init__(self) -> None:
        self._lock, self._kept = Lock(), dict[int, Replayed]()

    def of(self, game: TableGame) -> Replayed:
        with self._lock:
            found = self._kept.pop(game.id, None) or Replayed(game)
            self._kept[game.id] = found
            while len(self._kept) > REPLAYS_KEPT:
                del self._kept[next(iter(self._kept))]
            return found


def _step(desk: Desk, game: TableGame, replay: Replayed, at: int) -> dict[str, Any]:
    """Give how the table stood after a line, and what the line says."""
    if not 0 <= at <= len(replay):
        raise HTTPException(404)
    with replay.lock:
        entry = replay.at(at)
        view = seat_view(replay, None)
        faces = desk.shown(game).faces
        shown = Shown(view, faces, desk.say, desk.amount)
        told = " ".join(event.told_to(None) for event in entry.events) if entry else ""
    return {"told": told or desk.say("replay-deal"), "html": desk.table_html(shown)}


def _record(game: TableGame) -> Response:
    name = f"table-{game.id}.jsonl"
    return Response(
        record_of(game),
        media_type=JSON_LINES,
        headers={"content-disposition": f'attachment; filename="{name}"'},
    )


def _page(desk: Desk, request: Request, game: TableGame, base: str, project: str) -> Response:
    view = seat_view(game, None)
    pace = measured_pace([turn_seconds(game)])
    here = yardsticks([game], pace or game.seconds_per_turn).get(game.tables.seats, ())
    simulated = _simulated(desk, game)
    reading = desk.bench.project(project).read() if project else None
    return desk.bench.page(
        request,
        "play/after.html",
        title=desk.say("after-title", title=game.game.title),
        page="play",
        reading=reading,
        marksheet=desk.marksheet,
        lead=desk.won(view),
        scores=_scores(view),
        why=[view["result"]["sentence"], *_tie(game, view, desk)],
        leaf=f"{base}/leaf",
        lights=lights_of(desk, [game]),
        has_simulated=bool(simulated),
        yardsticks=_compared(here, simulated),
        questions=[desk.say(f"question-{number}") for number in (1, 2, 3)],
        last=len(Replayed(game)),
        replay=f"{base}/replay",
        record=f"{base}/record.jsonl",
        export=f"/kept/{project}.json" if project else "",
    )


def _scores(view: Mapping[str, Any]) -> list[dict[str, Any]]:
    result = view["result"]
    return [
        {
            "name": row["name"],
            "won": row["seat"] in result["winners"],
            "points": row["points"],
            "claims": row["claims"],
            "full": view["seats"][row["seat"]]["full_claims"],
            "left": row["left"],
            "refused": row["refused"],
        }
        for row in result["seats"]
    ]


def _tie(game: TableGame, view: Mapping[str, Any], desk: Desk) -> list[str]:
    """Say how a tie was broken, if points alone did not tell."""
    rows, winners = view["result"]["seats"], view["result"]["winners"]
    best = max(row["points"] for row in rows)
    level = [row["name"] for row in rows if row["points"] == best]
    if len(rows) == 1 or len(level) == 1 or not winners:
        return []
    names = ", ".join(rows[seat]["name"] for seat in winners)
    key = "tie-shared" if len(winners) == len(level) else "tie-broken"
    return [desk.say(key, level=", ".join(level), winners=names)]


def lights_of(desk: Desk, games: Sequence[TableGame]) -> list[dict[str, Any]]:
    """Give by player, over some tables of one design, what pathways to light and the claims."""
    shown = desk.shown(games[0]).map
    players = []
    for game in games:
        for seat in range(game.tables.seats):
            claims = [claim for claim in game.claims if claim.seat == seat]
            several = f" ({game.id})" if len(games) > 1 else ""
            players.append(
                {
                    "name": game.who(seat) + several,
                    "lit": shown.lit(pathways_met(game.game, claims)),
                    "claims": [
                        desk.say(
                            "claim-line",
                            target=game.naming.target(claim.target),
                            points=desk.amount("points", claim.points),
                            cards=game.naming.tell("list.strand").join(
                                game.naming.card(slot) for slot in claim.slots if slot is not None
                            ),
                        )
                        for claim in claims
                    ],
                }
            )
    every = [way for game in games for way in pathways_met(game.game, game.claims)]
    players.insert(0, {"name": desk.say("everybody"), "lit": shown.lit(every), "claims": []})
    return players


def _simulated(desk: Desk, game: TableGame) -> dict[str, Measure]:
    """Give the measures of the project's last playtest at as many seats, by name."""
    try:
        found = last_of(desk.bench.project(game.project).path)
    except BadUsage:
        return {}
    if found is None:
        return {}
    seats = game.tables.seats
    return {one.name: one for one in found.result.measures if one.players == seats}


def _compared(here: Iterable[Measure], simulated: Mapping[str, Measure]) -> list[dict[str, str]]:
    own = {one.name: one for one in here}
    rows = []
    for name in MEASURES:
        if name not in own:
            continue
        unit = said_unit(name, own[name].unit)
        beside = simulated.get(name)
        rows.append(
            {
                "name": words.say(f"playtest_page.measure.{name}"),
                "here": say_figure(own[name].value, unit),
                "simulated": "–" if beside is None else say_figure(beside.value, unit),
            }
        )
    return rows
