"""The deck as it prints: what is refused, a picture of every card, files to take away."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from nervure.errors import BadUsage, has_errors
from nervure.game import Game
from nervure.press import print_deck
from nervure.table import Job, Progress, Stop, Work
from nervure.web.bench import Bench, Page, State
from nervure.web.shelf import Reading

PRINT = "print"
CHOICES = ("cards", "backs", "sheets")
PAPERS = ("a4", "letter")


def routes(bench: Bench) -> APIRouter:
    """Make the routes."""
    router = APIRouter(prefix="/p/{project}/cards")
    say = bench.view.say

    @router.get("")
    def page(request: Request, project: str) -> Response:
        reading = bench.project(project).read()
        jobs = [job for job in bench.storage.jobs(project) if job.kind == PRINT]
        latest = max(jobs, key=lambda job: job.id, default=None)
        done = [job for job in jobs if job.state == "done"]
        printed = max(done, key=lambda job: job.id).result if done else {}
        faults = reading.project.faults
        return bench.page(
            request,
            "cards/page.html",
            title=say("web.page.cards"),
            page="cards",
            reading=reading,
            faults=faults,
            sound=not has_errors(faults),
            latest=latest,
            printed=printed,
            choices=CHOICES,
            papers=PAPERS,
        )

    @router.post("/print")
    def start(
        project: str,
        what: Annotated[list[Literal["cards", "backs", "sheets"]] | None, Form()] = None,
        paper: Annotated[Literal["a4", "letter"], Form()] = "a4",
        grey: Annotated[bool, Form()] = False,
    ) -> Response:
        opened = bench.project(project)
        if not what:
            raise BadUsage(say("web.cards.nothing"))
        opened.read().project.require_sound()
        wanted = [name for name in CHOICES if name in what]
        bench.jobs.add(opened.id, PRINT, {"what": wanted, "paper": paper, "grey": grey})
        return RedirectResponse(f"/p/{opened.id}/cards", 303)

    return router


def _works(bench: Bench) -> dict[str, Work]:
    def work(job: Job, progress: Progress, stop: Stop) -> dict[str, Any]:
        opened = bench.project(job.project)
        game = opened.read().project.require_sound()
        out, options = opened.path / "out", job.options
        progress(bench.view.say("web.cards.setting"), 0, 0)
        made = print_deck(
            game,
            out / "print",
            (*options["what"], "previews"),
            options["paper"],
            grey=options["grey"],
        )
        files, pictures = [], []
        for file in made.files:
            name = file.path.resolve().relative_to(out.resolve()).as_posix()
            if file.kind == "preview":
                pictures.append({"file": name, "text": _told(bench, game, file.path)})
            else:
                size = f"{file.width_mm:g} × {file.height_mm:g} mm"
                files.append({"file": name, "pages": file.pages, "size": size})
        key = "refused" if made.refused else "fits"
        return {
            "sentence": bench.view.say(f"web.cards.{key}", count=len(made.refused)),
            "made": files,
            "pictures": pictures,
            "refused": [refusal.to_dict() for refusal in made.refused],
            "notes": list(made.notes),
            "complete": True,
        }

    return {PRINT: work}


def _told(bench: Bench, game: Game, picture: Path) -> str:
    """Give what a card's picture shows, in words: name, tier or kind, fibres."""
    card, anatomy = picture.stem, game.anatomy
    if card in game.structures:
        tier = next(row.name for row in anatomy.map.tiers if row.id == anatomy.tier_of(card))
        name = anatomy.structure(card).name
        shorts = [anatomy.structure(one).short or one for one in anatomy.reach(card)]
        reached = ", ".join(shorts) or "–"
        return bench.view.say(
            "web.cards.part",
            **{**dict(game.folder.words), "name": name, "tier": tier, "reached": reached},
        )
    if card in game.targets:
        return bench.view.say("web.cards.target", name=anatomy.target(card).name)
    return bench.view.say("web.cards.other", name=card)


def state(reading: Reading) -> State:
    """Tell what the page's leaf shows."""
    if has_errors(reading.map_faults):
        return "attention"
    return "order" if (reading.path / "out" / "print" / "manifest.json").is_file() else "unmade"


PAGE = Page("cards", 6, routes, state, _works)
