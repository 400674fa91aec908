"""The page of playtests: a sentence asks, a job plays, and what is found narrows on screen."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, HTTPException, Query, Request
from fastapi import Path as InPath
from fastapi.responses import RedirectResponse, Response

from nervure.errors import BadUsage, has_errors
from nervure.playtest.request import plan_of
from nervure.table import Job
from nervure.web.bench import Bench, Page, State
from nervure.web.pages.playtest import asking, found
from nervure.web.pages.playtest.showing import Showing, shown
from nervure.web.pages.playtest.work import PLAYTEST, options_of_job, works
from nervure.web.shelf import Reading

JobNumber = Annotated[int, InPath(ge=1, le=2**53)]
Field = Annotated[str, Form(max_length=60)]
Fields = Annotated[list[str], Form(max_length=12)]
Short = Annotated[str, Query(max_length=80)]
NO_CONTENT = 204


def routes(bench: Bench) -> APIRouter:
    """Make the routes."""
    router = APIRouter(prefix="/p/{project}/playtest")
    say = bench.view.say

    @router.get("")
    def page(
        request: Request, project: str, players: Short = "", beside: Short = "", more: bool = False
    ) -> Response:
        reading = bench.project(project).read()
        faults = reading.project.faults
        job = _latest(bench, project)
        sound = not has_errors(faults)
        asked = job.options if job else None
        return bench.page(
            request,
            "playtest/page.html",
            title=say("web.page.playtest"),
            page="playtest",
            reading=reading,
            faults=[fault for fault in faults if fault.level == "error"],
            sound=sound,
            job=job,
            ask=asking.filled_in(asked, reading.project.game) if sound else {},
            offers=_offers(reading) if sound else {},
            **_shown(bench, reading, job, players, beside).values(),
        )

    @router.get("/found")
    def found_part(
        project: str,
        seen: Short = "",
        players: Short = "",
        beside: Short = "",
    ) -> Response:
        """Give the result again if there is a newer one, with its polling while it runs."""
        reading = bench.project(project).read()
        job = _latest(bench, project)
        showing = _shown(bench, reading, job, players, beside)
        if showing.runs and seen == showing.seen:
            return Response(status_code=NO_CONTENT)
        values = {"reading": reading, "address": f"/p/{reading.id}", "job": job}
        return bench.part("playtest/found.html", **values, **showing.values())

    @router.get("/job/{number}")
    def job_part(project: str, number: JobNumber) -> Response:
        return bench.part("playtest/job.html", job=_job(bench, project, number))

    @router.post("/job/{number}/stop")
    def stop(request: Request, project: str, number: JobNumber) -> Response:
        bench.jobs.stop(_job(bench, project, number).id)
        if "hx-request" in request.headers:
            return bench.part("playtest/job.html", job=_job(bench, project, number))
        return RedirectResponse(f"/p/{project}/playtest", 303)

    @router.post("/job/{number}/go-on")
    def go_on(project: str, number: JobNumber) -> Response:
        job = _job(bench, project, number)
        _refuse_two(bench, project)
        bench.jobs.go_on(job.id)
        return RedirectResponse(f"/p/{project}/playtest", 303)

    @router.post("/run")
    def run(
        project: str,
        what: Field = asking.PLAN,
        players: Field = "",
        games: Field = "",
        until: Field = "",
        seed: Field = "",
        style: Fields = [],  # noqa: B006
        knows: Fields = [],  # noqa: B006
    ) -> Response:
        opened = bench.project(project)
        game = opened.read().project.require_sound()
        form = {"what": what, "players": players, "games": games, "until": until, "seed": seed}
        knows = [*knows, *[""] * (len(style) - len(knows))]
        seats = list(zip(style, knows, strict=False))
        options = asking.options_of(game, form, seats)
        _refuse_two(bench, opened.id)
        bench.jobs.add(opened.id, PLAYTEST, asking.to_job(options, game))
        return RedirectResponse(f"/p/{opened.id}/playtest", 303)

    return router


def _latest(bench: Bench, project: str) -> Job | None:
    """Give the last playtest of a project, running or over."""
    jobs = (job for job in bench.storage.jobs(project) if job.kind == PLAYTEST)
    return next(jobs, None)


def _job(bench: Bench, project: str, number: int) -> Job:
    job = bench.storage.job(number)
    if job is None or job.kind != PLAYTEST or job.project != bench.project(project).id:
        raise HTTPException(404)
    return job


def _refuse_two(bench: Bench, project: str) -> None:
    """Refuse a second playtest of a project: both would write to one folder."""
    for job in bench.storage.jobs(project):
        if job.kind == PLAYTEST and not job.is_over:
            raise BadUsage(bench.view.say("web.playtest.two"))


def _offers(reading: Reading) -> dict[str, Any]:
    """Give what can be chosen in the sentence."""
    fewest, most = reading.project.game.rules.players
    return {
        "players": list(range(fewest, most + 1)),
        "styles": asking.styles(),
        "knowledge": asking.knowledge(),
        "until": asking.UNTIL,
    }


def _shown(bench: Bench, reading: Reading, job: Job | None, players: str, beside: str) -> Showing:
    """Give what the page shows of the last result."""
    line_ups: list[tuple[str, ...]] = []
    game = None
    if not has_errors(reading.project.faults):
        game = reading.project.game
        if job is not None and not job.is_over:
            line_ups = [e.line_up for e in plan_of(game, options_of_job(job))]
    last = found.last_of(reading.path)
    is_of_job = (
        last is not None
        and job is not None
        and not job.is_over
        and found.answers(last.result, job.options, line_ups)
    )
    return shown(
        bench,
        game,
        last,
        found.earlier_of(reading.path),
        runs=job is not None and not job.is_over,
        is_of_job=is_of_job,
        is_damaged=found.is_damaged(reading.path),
        players=players,
        beside=beside,
    )


def state(reading: Reading) -> State:
    """Tell what the page's leaf shows."""
    if has_errors(reading.map_faults):
        return "attention"
    last = found.last_of(reading.path)
    if last is None:
        return "unmade"
    if has_errors(reading.project.faults):
        return "attention"
    is_old = found.is_stale(last.result, reading.project.game)
    return "attention" if is_old or found.has_trouble(last.result) else "order"


PAGE = Page("playtest", 3, routes, state, works)
