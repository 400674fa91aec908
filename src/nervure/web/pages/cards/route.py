"""The page of cards: faults first, every card as it prints, files to take away, pictures."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, File, Form, HTTPException, Query, Request, UploadFile
from fastapi import Path as InPath
from fastapi.responses import FileResponse, RedirectResponse, Response

from nervure import words
from nervure.errors import BadUsage, has_errors
from nervure.game.look import NAMED_SIZES
from nervure.project import languages_of, read_game_file
from nervure.table import Job
from nervure.typeset.palette import PALETTES
from nervure.web.bench import Bench, Page, State
from nervure.web.out_files import SHOWN_KINDS, sandboxed
from nervure.web.pages.cards import art, found
from nervure.web.pages.cards.work import CHOICES, PRINT, told, works
from nervure.web.shelf import Reading

PAPERS = ("a4", "letter")
MOST_DECKS = 10_000
JobNumber = Annotated[int, InPath(ge=1, le=2**53)]
Credit = Annotated[str, Form(max_length=300)]
Short = Annotated[str, Query(max_length=80)]


def routes(bench: Bench) -> APIRouter:
    """Make the routes."""
    router = APIRouter(prefix="/p/{project}/cards")
    say = bench.view.say

    @router.get("")
    def page(request: Request, project: str, only: Short = "") -> Response:
        reading = bench.project(project).read()
        return _page(bench, request, reading, only)

    @router.get("/job/{number}")
    def job_part(project: str, number: JobNumber) -> Response:
        return bench.part("cards/job.html", job=_job(bench, project, number))

    @router.post("/print")
    def start(
        project: str,
        what: Annotated[list[Literal["cards", "backs", "sheets"]] | None, Form()] = None,
        paper: Annotated[Literal["a4", "letter"], Form()] = "a4",
        grey: Annotated[bool, Form()] = False,
        language: Annotated[str, Form(max_length=40)] = "",
        decks: Annotated[int, Form(ge=1, le=MOST_DECKS)] = 1,
    ) -> Response:
        opened = bench.project(project)
        if not what:
            raise BadUsage(say("web.cards.nothing"))
        reading = opened.read()
        reading.project.require_sound()
        if language and language not in languages_of(reading.folder):
            raise BadUsage(
                say(
                    "web.cards.no-language",
                    value=repr(language),
                    accepted=" ".join(languages_of(reading.folder)),
                )
            )
        wanted = [name for name in CHOICES if name in what]
        options = {"what": wanted, "paper": paper, "grey": grey, "decks": decks}
        bench.jobs.add(opened.id, PRINT, options | {"language": language or None})
        return RedirectResponse(f"/p/{opened.id}/cards", 303)

    @router.post("/look")
    def look(
        project: str,
        size: Annotated[str, Form(max_length=20)] = "",
        palette: Annotated[str, Form(max_length=20)] = "",
    ) -> Response:
        """Write size and palette into game.toml, nothing else of it."""
        opened = bench.project(project)
        opened.read().project.require_sound()
        changes: dict[str, Any] = {}
        if size:
            if size not in NAMED_SIZES:
                raise BadUsage(_not_offered(say, size, tuple(NAMED_SIZES)))
            changes["look.size"] = size
        if palette:
            if palette not in _palettes():
                raise BadUsage(_not_offered(say, palette, _palettes()))
            changes["look.palette"] = palette
        if not changes:
            raise BadUsage(say("web.cards.no-look"))
        read_game_file(opened.path).edited(changes).write(opened.path)
        return RedirectResponse(f"/p/{opened.id}/cards", 303)

    @router.post("/art")
    def take_picture(
        project: str,
        picture: Annotated[UploadFile, File()],
        target: Annotated[str, Form(max_length=120)],
        author: Credit = "",
        licence: Credit = "",
        changes: Credit = "",
    ) -> Response:
        opened = bench.project(project)
        game = opened.read().project.require_sound()
        art.take_in(
            opened.path, target, game.targets, picture.file.read(), (author, licence, changes)
        )
        return RedirectResponse(f"/p/{opened.id}/cards#art", 303)

    @router.get("/art/{name}")
    def show_picture(project: str, name: str) -> Response:
        """Give a picture of ``art/``, as one of a project's own, under the policy of out/."""
        for one in bench.project(project).read().folder.art:
            if one.file.name == name and one.file.is_file():
                kind = {".jpg": "image/jpeg"}.get(one.file.suffix.lower())
                kind = kind or SHOWN_KINDS[one.file.suffix.lower()]
                return sandboxed(FileResponse(one.file, media_type=kind))
        raise HTTPException(404)

    return router


def _not_offered(say: Any, value: str, accepted: tuple[str, ...]) -> str:
    return str(say("web.cards.not-offered", value=repr(value), accepted=", ".join(accepted)))


def _palettes() -> tuple[str, ...]:
    """Give the palettes that may stand in game.toml: one ink is asked for when printing."""
    return tuple(name for name in PALETTES if name != "grey")


def _job(bench: Bench, project: str, number: int) -> Job:
    job = bench.storage.job(number)
    if job is None or job.kind != PRINT or job.project != bench.project(project).id:
        raise HTTPException(404)
    return job


def _page(bench: Bench, request: Request, reading: Reading, only: str) -> Response:
    say = bench.view.say
    jobs = (job for job in bench.storage.jobs(reading.id) if job.kind == PRINT)
    job = next(jobs, None)
    faults = reading.project.faults
    sound = not has_errors(faults)
    printed = found.printed_of(reading.path)
    values: dict[str, Any] = {
        "refused": (),
        "notes": (),
        "pictures": [],
        "groups": [],
        "changed": None,
        "only": "",
        "look": None,
        "art": [],
        "targets": [],
    }
    if sound:
        game = reading.project.game
        pictures = printed.pictures(game)
        groups = found.groups_of(pictures)
        only = only if only in groups else ""
        width, height = game.look.trim
        names = {tier.id: tier.name for tier in game.anatomy.map.tiers}
        values |= {
            "refused": found.refused_now(reading),
            "notes": found.deck_now(reading).notes,
            "pictures": [
                {"file": one.file, "text": told(bench, game, one.card), "is_old": one.is_old}
                for one in pictures
                if not only or one.group == only
            ],
            "groups": [(group, _group_name(say, group, names)) for group in groups],
            "changed": found.changed_cards(reading, printed),
            "only": only,
            "look": game.look,
            "size_px": (round(width * found.PX_PER_MM), round(height * found.PX_PER_MM)),
            "art": reading.folder.art,
            "targets": [game.anatomy.target(name) for name in game.targets],
        }
    return bench.page(
        request,
        "cards/page.html",
        title=say("web.page.cards"),
        page="cards",
        reading=reading,
        errors=[fault for fault in faults if fault.level == "error"],
        warnings=[fault for fault in faults if fault.level == "warning"],
        sound=sound,
        job=job,
        printed=printed,
        choices=CHOICES,
        papers=PAPERS,
        sizes=dict(NAMED_SIZES),
        palettes=_palettes(),
        languages=[(code, _language(say, code)) for code in languages_of(reading.folder)],
        most_decks=MOST_DECKS,
        **values,
    )


def _group_name(say: Any, group: str, tiers: dict[str, str]) -> str:
    kind, _, name = group.partition(":")
    if kind == "tier":
        return tiers[name]
    return str(say(f"web.cards.group-{name or kind}"))


def _language(say: Any, code: str) -> str:
    key = f"web.cards.language-{code}"
    return str(say(key)) if words.has(key) else code


def state(reading: Reading) -> State:
    """Tell what the page's leaf shows."""
    if has_errors(reading.map_faults):
        return "attention"
    printed = found.printed_of(reading.path)
    if not printed.version:
        return "unmade"
    if has_errors(reading.project.faults):
        return "attention"
    is_fresh = printed.version == reading.project.game.version
    return "order" if is_fresh and not printed.manifest.get("refused") else "attention"


PAGE = Page("cards", 6, routes, state, works)
