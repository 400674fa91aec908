"""The page of the rules: sentences with choices in them, what they do, and saving them."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, Form, Query, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response

from nervure.errors import BadUsage, FaultyProject, has_errors
from nervure.project import GameFile, read_game_file, write_bytes_safely
from nervure.project.start import game_file, title_of
from nervure.web.bench import Bench, Page, State
from nervure.web.pages.rules import deck
from nervure.web.pages.rules.effects import Teller
from nervure.web.pages.rules.fields import Texts, one
from nervure.web.pages.rules.form import DEFAULTS, changes_of, from_text, lay
from nervure.web.pages.rules.saving import LastSaves, new_errors
from nervure.web.pages.rules.sheet import as_written
from nervure.web.pages.rules.showing import (
    bonus_why,
    brief_of,
    changed_rows,
    derived_of,
    edit_of,
    fields_of,
    is_begun,
    page_values,
    sheet_of,
)
from nervure.web.pages.rules.trial import GAME, Scales
from nervure.web.shelf import OpenProject, Reading

MOST_FIELDS = 4_000
LONG = 60.0  # seconds that a save waits for its proof
TOLD = ("saved", "saved-merged", "saved-already", "nothing", "undone", "undo-gone", "undo-none",
        "begun", "draft-dropped")  # fmt: skip
Told = Annotated[str, Query(max_length=20)]


async def sent_form(request: Request) -> Texts:
    """Give a form as lists of texts; files in it are passed over."""
    sent = await request.form(max_fields=MOST_FIELDS, max_files=1)
    texts: Texts = {}
    for name, value in sent.multi_items():
        if isinstance(value, str):
            texts.setdefault(name[:80], []).append(value)
    return texts


Sent = Annotated[Texts, Depends(sent_form)]


class _Desk:
    """What the routes of this page share: trials, last saves, and how the page is made."""

    def __init__(self, bench: Bench) -> None:
        self.bench, self.scales, self.saves = bench, Scales(), LastSaves()

    def was_of(self, form: Texts) -> dict[str, Any]:
        """Give the tables that a form's page read."""
        if "was" not in form or "digest" not in form:
            raise BadUsage(self.bench.view.say("web.rules.bad-form"))
        try:
            return from_text(form["was"][0])
        except (ValueError, RecursionError) as problem:
            raise BadUsage(self.bench.view.say("web.rules.bad-form")) from problem

    def page(
        self,
        request: Request,
        opened: OpenProject,
        form: Texts | None = None,
        status: int = 200,
        told: str = "",
        met: list[dict[str, str]] | None = None,
    ) -> Response:
        """Make the page: of the file, or of a form that was sent."""
        bench, reading = self.bench, opened.read()
        try:
            file = read_game_file(opened.path)
        except FaultyProject as problem:
            return self._broken(request, reading, problem)
        was = None if form is None else self.was_of(form)
        edit = edit_of(bench, self.scales, reading, file, form, was)
        more = {} if form is None else {"digest": one(form, "digest")}
        return bench.page(
            request,
            "rules/page.html",
            title=bench.view.say("web.page.rules"),
            page="rules",
            reading=reading,
            status=status,
            told=told,
            told_bad=status >= 400,
            met=met or [],
            has_draft=form is None and bench.storage.draft(opened.id, GAME) is not None,
            views=deck.VIEWS,
            can_undo=self.saves.of(opened.id) is not None,
            **page_values(bench, reading, file, edit, **more),
        )

    def _broken(self, request: Request, reading: Reading, problem: FaultyProject) -> Response:
        return self.bench.page(
            request,
            "rules/broken.html",
            title=self.bench.view.say("web.page.rules"),
            page="rules",
            reading=reading,
            faults=problem.faults,
        )

    def save(self, request: Request, opened: OpenProject, form: Texts) -> Response:
        """Write what a form changes, or show why not."""
        say, reading = self.bench.view.say, opened.read()
        file, was = read_game_file(opened.path), self.was_of(form)
        changes = changes_of(form, was, fields_of(reading.folder.map))
        edit = edit_of(self.bench, self.scales, reading, file, form, was)
        if edit.own:
            told = say("web.rules.not-saved")
            return self.page(request, opened, form, 422, told)
        if not changes:
            return _back(opened, "nothing")
        laid = lay(file, changes, was)
        if laid.met:
            met = [
                {"key": one.key} | {
                    name: as_written(value) or say("web.rules.nothing-there")
                    for name, value in (
                        ("was", one.was), ("mine", one.mine), ("theirs", one.theirs)
                    )
                }
                for one in laid.met
            ]  # fmt: skip
            return self.page(request, opened, form, 409, say("web.rules.two-hands"), met)
        if laid.file.text == file.text:
            return _back(opened, "saved-already")
        if not self._is_sound(reading, laid.file):
            return self.page(request, opened, form, 422, say("web.rules.not-saved"))
        try:
            laid.file.write(opened.path)
        except FaultyProject as problem:
            self.bench.storage.keep_draft(opened.id, GAME, {"form": form})
            told = say("web.rules.held", reason=str(problem))
            return self.page(request, opened, form, 423, told)
        self.saves.note(opened.id, opened.path, GAME, file.bytes)
        self.bench.storage.drop_draft(opened.id, GAME)
        return _back(opened, "saved" if one(form, "digest") == file.digest else "saved-merged")

    def _is_sound(self, reading: Reading, file: GameFile) -> bool:
        before = self.scales.weigh(reading.folder, {}, LONG)
        after = self.scales.weigh(reading.folder, {GAME: file.bytes}, LONG)
        if before is None or after is None:
            raise BadUsage(self.bench.view.say("web.rules.working"))
        return not new_errors(before.faults, after.faults)

    def weigh(self, opened: OpenProject, form: Texts) -> dict[str, Any]:
        """Give what an edited form does, for the script."""
        bench, reading = self.bench, opened.read()
        file = read_game_file(opened.path)
        edited = deck.edited_deck(opened, (form.get("deck") or [""])[0])
        edit = edit_of(bench, self.scales, reading, file, form, self.was_of(form), edited)
        sheet = sheet_of(bench, reading, edit)
        is_beside = edit.after is not edit.before
        effects = None
        if edit.before is not None and edit.after is not None:
            teller = Teller(bench.view)
            effects = teller.effects(edit.after, edit.before if is_beside else None)
        html = bench.view.fill("rules/_effects.html", effects=effects, is_beside=is_beside)
        return {
            "working": effects is None,
            "html": html,
            "why": {key: " ".join(said) for key, said in edit.why.items()},
            "bonusWhy": {str(n): " ".join(said) for n, said in bonus_why(edit).items()},
            "derived": {str(n): said for n, said in derived_of(edit).items()},
            "notes": {key: sheet.note(key) for key in edit.changes if key[:6] != "bonus."},
            "bonusChanged": {str(n): True for n in changed_rows(edit)},
            "brief": brief_of(bench, edit, effects),
            "changes": len(edit.changes),
            "beside": {view: deck.beside(bench, view, edit.after) for view in deck.VIEWS},
        }

    def begin(self, opened: OpenProject) -> Response:
        """Write the usual rules into game.toml; a folder without one gets one."""
        if not (opened.path / GAME).exists():
            write_bytes_safely(opened.path / GAME, game_file(title_of(opened.path), {}))
        reading = opened.read()
        if is_begun(reading):
            return _back(opened, "saved-already")
        file = read_game_file(opened.path)
        usual = {f"rules.{name}": value for name, value in DEFAULTS["rules"].items()}
        file.edited({**usual, "points.method": "difficulty"}).write(opened.path)
        self.saves.note(opened.id, opened.path, GAME, file.bytes)
        return _back(opened, "begun")


def _back(opened: OpenProject, told: str) -> Response:
    return RedirectResponse(f"/p/{opened.id}/rules?told={told}", 303)


def routes(bench: Bench) -> APIRouter:
    """Make the routes."""
    router = APIRouter(prefix="/p/{project}/rules")
    desk, say = _Desk(bench), bench.view.say

    @router.get("")
    def page(request: Request, project: str, told: Told = "") -> Response:
        opened = bench.project(project)
        if not (opened.path / GAME).exists() and (opened.path / "map").is_dir():
            return bench.page(
                request,
                "rules/begin.html",
                title=say("web.page.rules"),
                page="rules",
                folder=opened.path.name,
                action=f"/p/{opened.id}/rules/begin",
            )
        said = ""
        if told in TOLD:
            said = say(f"web.rules.{told}", file=GAME, backup=f"{GAME}.bak")
        return desk.page(request, opened, told=said)

    @router.post("/try")
    def show(request: Request, project: str, form: Sent) -> Response:
        return desk.page(request, bench.project(project), form)

    @router.post("/weigh")
    def weigh(project: str, form: Sent) -> Response:
        return JSONResponse(desk.weigh(bench.project(project), form))

    @router.post("/save")
    def save(request: Request, project: str, form: Sent) -> Response:
        return desk.save(request, bench.project(project), form)

    @router.post("/undo")
    def undo(project: str) -> Response:
        opened = bench.project(project)
        return _back(opened, desk.saves.undo(opened.id, opened.path))

    @router.post("/draft")
    def draft(
        request: Request, project: str, what: Annotated[Literal["take", "drop"], Form()]
    ) -> Response:
        opened = bench.project(project)
        held = bench.storage.draft(opened.id, GAME)
        if what == "drop" or held is None:
            bench.storage.drop_draft(opened.id, GAME)
            return _back(opened, "draft-dropped")
        return desk.page(request, opened, {k: list(v) for k, v in held.content["form"].items()})

    @router.post("/begin")
    def begin(project: str) -> Response:
        return desk.begin(bench.project(project))

    router.include_router(deck.routes(bench, desk.scales, desk.saves), prefix="/tables")
    return router


def state(reading: Reading) -> State:
    """Tell what the page's leaf shows."""
    if has_errors(reading.project.faults):
        return "attention"
    return "order" if is_begun(reading) else "unmade"


PAGE = Page("rules", 2, routes, state)
