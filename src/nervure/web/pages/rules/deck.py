"""The deck as two tables: part cards with their copies, targets with points beside difficulty.

Both are views of deck.csv. It lists what differs from the usual; a view has a line for every
card, and those that the file does not name show what holds for them. Lines are changed by
the merge of the map's tables, and proved by the code that reads every project.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from fastapi import APIRouter, HTTPException
from fastapi.responses import JSONResponse, Response
from pydantic import ValidationError

from nervure import words
from nervure.errors import BadUsage, Fault, FaultyProject
from nervure.game import Game, TargetCheck
from nervure.game.deck import DECK_FILE, VARIANT, WILD_ANY
from nervure.project import Table, read_table, write_table
from nervure.project.columns import DECK
from nervure.project.writing import table_bytes
from nervure.web.bench import Bench
from nervure.web.pages.map.edits import Change, Conflict, Merged, merge
from nervure.web.pages.map.tables import ChangesForm
from nervure.web.pages.rules.effects import Teller
from nervure.web.pages.rules.saving import LastSaves, digest_of, new_errors
from nervure.web.pages.rules.trial import Scales, Trial
from nervure.web.shelf import OpenProject

if TYPE_CHECKING:
    from nervure.project import Folder

View = Literal["parts", "targets"]
VIEWS: tuple[View, ...] = ("parts", "targets")
FAULTS_SHOWN = 200
PATIENCE = 60.0  # seconds that a proof may take


def routes(bench: Bench, scales: Scales, saves: LastSaves) -> APIRouter:
    """Make the routes, below ``/p/PROJECT/rules/tables``."""
    router = APIRouter()

    @router.get("/{view}")
    def table(project: str, view: str) -> dict[str, Any]:
        return _given(bench, scales, bench.project(project), _view(view))

    @router.post("/{view}/prove")
    def prove(project: str, view: str, form: ChangesForm) -> Response:
        opened, _ = bench.project(project), _view(view)
        merged = _merged(opened.path, form)
        if not isinstance(merged, Merged):
            return JSONResponse(_met(merged), 409)
        folder = opened.read().folder
        trial = scales.weigh(folder, {DECK_FILE: table_bytes(merged.table)}, PATIENCE)
        if trial is None:
            raise BadUsage(bench.view.say("web.rules.working"))
        faults = _shown_faults(trial, merged.table, folder)
        return JSONResponse({"faults": faults[:FAULTS_SHOWN]})

    @router.post("/{view}/save")
    def save(project: str, view: str, form: ChangesForm) -> Response:
        return _save(bench, scales, saves, bench.project(project), _view(view), form)

    @router.post("/{view}/drop-draft")
    def drop(project: str, view: str) -> dict[str, Any]:
        bench.storage.drop_draft(bench.project(project).id, _draft_name(_view(view)))
        return {}

    return router


def edited_deck(project: OpenProject, text: str) -> bytes | None:
    """Give deck.csv with the changes that the page holds, as JSON; None: nothing is changed.

    Raises
    ------
    BadUsage
        The text is not what the page sends, or another hand changed the same lines.
    """
    if not text:
        return None
    try:
        form = ChangesForm(**json.loads(text))
    except (ValueError, TypeError, ValidationError, RecursionError) as problem:
        raise BadUsage(words.say("web.rules.bad-form")) from problem
    if not form.changes:
        return None
    merged = _merged(project.path, form)
    return table_bytes(merged.table) if isinstance(merged, Merged) else None


def _view(name: str) -> View:
    if name not in VIEWS:
        raise HTTPException(404)
    return "parts" if name == "parts" else "targets"


def _draft_name(view: View) -> str:
    return f"{DECK_FILE}, {view}"


def _read(folder: Path) -> Table:
    """Give deck.csv; one that is not there is empty under its known header."""
    file = folder / DECK_FILE
    return read_table(file) if file.exists() else Table(DECK.column_names, ())


def _merged(folder: Path, form: ChangesForm) -> Merged | tuple[Conflict, ...]:
    for change in form.changes:
        for cell in change.now:
            if not _can_be_written(cell):
                raise BadUsage(words.say("web.rules.bad-form"))
    table = _read(folder)
    key = [table.header.index("card")] if "card" in table.header else []
    return merge(table, [_as_change(one) for one in form.as_changes()], key)


def _as_change(change: Change) -> Change:
    """Give a change whose cells hold no line of their own: a card's line is one line."""
    return Change(
        change.kind, change.row, change.was, tuple(" ".join(cell.split()) for cell in change.now)
    )


def _can_be_written(text: str) -> bool:
    return not any("\ud800" <= letter <= "\udfff" or letter == "\0" for letter in text)


def _met(conflicts: tuple[Conflict, ...]) -> dict[str, Any]:
    return {"conflicts": [asdict(conflict) for conflict in conflicts]}


def _cards_of(view: View, game: Game | None, folder: Folder) -> list[str]:
    """Give the cards that a view has a line for, in the order of the deck."""
    if game is None:
        return []
    if view == "targets":
        rules = game.rules.targets
        return [row.id for row in folder.map.targets if row.id in rules or row.kind in rules]
    return [*game.structures, *(f"wild:{tier}" for tier in game.tiers), WILD_ANY, VARIANT]


def _given(bench: Bench, scales: Scales, project: OpenProject, view: View) -> dict[str, Any]:
    """Give a view as the register takes it: lines in the order of the deck."""
    digest = digest_of(project.path / DECK_FILE)
    table = _read(project.path)
    folder = project.read().folder
    trial = scales.weigh(folder, {}, PATIENCE)
    game = trial.game if trial else None
    targets = {row.id for row in folder.map.targets}
    card_at = table.header.index("card") if "card" in table.header else 0
    held: dict[str, list[tuple[int, tuple[str, ...]]]] = {}
    for number, row in enumerate(table.rows, start=2):
        card = row[card_at].strip() if len(row) > card_at else ""
        if any(cell.strip() for cell in row) and (card in targets) == (view == "targets"):
            held.setdefault(card, []).append((number, row))
    order = _cards_of(view, game, folder)
    lines: list[dict[str, Any]] = []
    # Lines that no card of the deck answers to come first: they have no effect, or a fault.
    for card in [*(card for card in held if card not in order), *order]:
        for number, row in held.get(card, []):
            lines.append({"row": number, "cells": list(row), "card": card})
        if card not in held:
            blank = [card if place == card_at else "" for place in range(len(table.header))]
            lines.append({"row": None, "cells": blank, "card": card})
    draft = bench.storage.draft(project.id, _draft_name(view))
    last = len(table.rows)
    faults = _shown_faults(trial, table, folder) if trial else []
    return {
        "name": view,
        "file": bench.view.say(f"web.rules.deck.{view}"),
        "digest": digest,
        "columns": list(table.header),
        "required": list(DECK.required_names),
        "rows": [line["cells"] for line in lines],
        "lines": lines,
        "last": {"row": last + 1, "was": list(table.rows[-1]) if last else []},
        "beside": beside(bench, view, trial),
        "how": bench.view.say(
            f"web.rules.deck.how-{view}", cards=game.odds_cards if game else "–"
        ),
        "heads": [bench.view.say(f"web.rules.deck.{name}") for name in _heads(view)],
        "faults": faults,
        "disputed": {},
        "sources": {},
        "draft": dict(draft.content) if draft else None,
        "draftMade": draft.made if draft else "",
    }


def _heads(view: View) -> tuple[str, ...]:
    return ("tier",) if view == "parts" else ("kind", "by-difficulty", "chance")


def beside(bench: Bench, view: View, trial: Trial | None) -> dict[str, Any]:
    """Give what stands beside each card: its name, what holds where cells are blank, figures."""
    game = trial.game if trial else None
    if trial is None or game is None:
        return {}
    if view == "targets":
        return _beside_targets(bench, game, trial)
    tiers = {row.id: row.name for row in game.anatomy.map.tiers}
    say, found = bench.view.say, {}
    for name in game.structures:
        row = game.anatomy.structure(name)
        copies = str(game.copies.get(name, 0))
        found[name] = _line(row.name, [tiers[row.tier]], copies, "", _bonus(game, name))
    for tier in game.tiers:
        card = f"wild:{tier}"
        named = say("web.rules.deck.wild", tier=tiers[tier])
        found[card] = _line(named, [tiers[tier]], str(game.copies.get(card, 0)), "", "")
    for card in (WILD_ANY, VARIANT):
        named = say(f"web.rules.deck.{card.replace(':', '-')}")
        found[card] = _line(named, ["–"], str(game.copies.get(card, 0)), "", "")
    return found


def _beside_targets(bench: Bench, game: Game, trial: Trial) -> dict[str, Any]:
    teller, found = Teller(bench.view), {}
    shortest = max(1, game.rules.claim_minimum)
    for row in game.anatomy.map.targets:
        check = trial.check.targets.get(row.id) if trial.check else None
        kind = bench.view.say(f"game.kinds.{row.kind}")
        copies = str(game.target_copies.get(row.id, 0))
        points = " ".join(map(str, game.points_of.get(row.id, ())))
        figures = _figures(teller, check, shortest)
        found[row.id] = _line(row.name, [kind, *figures], copies, points, _bonus(game, row.id))
    return found


def _figures(teller: Teller, check: TargetCheck | None, shortest: int) -> list[str]:
    """Give points by difficulty, and the chance of each strand length."""
    if check is None:
        return ["–", "–"]
    chances = [
        f"{shortest + step}: {teller.chance(check.odds.at(shortest + step, check.odds_cards))}"
        for step in range(len(check.points))
        if isfinite(check.odds.difficulty(shortest + step, check.odds_cards))
    ]
    return [" ".join(map(str, check.fair)), ", ".join(chances) or "–"]


def _line(name: str, cells: list[str], copies: str, points: str, bonus: str) -> dict[str, Any]:
    return {
        "name": name,
        "cells": cells,
        "blanks": {"copies": copies, "points": points, "bonus": bonus},
    }


def _bonus(game: Game, card: str) -> str:
    return game.bonus_of.get(card, "")


def _shown_faults(trial: Trial, table: Table, folder: Folder) -> list[dict[str, Any]]:
    """Give the error faults of a game, those of deck.csv by the view that shows their line."""
    targets = {row.id for row in folder.map.targets}
    card_at = table.header.index("card") if "card" in table.header else 0
    found = []
    for fault in trial.faults:
        if fault.level == "error":
            found.append({**fault.to_dict(), "table": _table_of(fault, table, card_at, targets)})
    return found


def _table_of(fault: Fault, table: Table, card_at: int, targets: set[str]) -> str:
    if fault.place.file != DECK_FILE:
        return "elsewhere"
    place = (fault.place.row or 0) - 2
    row = table.rows[place] if 0 <= place < len(table.rows) else ()
    card = row[card_at].strip() if len(row) > card_at else ""
    return "targets" if card in targets else "parts"


def _save(
    bench: Bench,
    scales: Scales,
    saves: LastSaves,
    project: OpenProject,
    view: View,
    form: ChangesForm,
) -> Response:
    file, say = project.path / DECK_FILE, bench.view.say
    if not form.changes:
        raise BadUsage(say("web.rules.nothing"))
    is_unchanged = digest_of(file) == form.digest
    merged = _merged(project.path, form)
    if not isinstance(merged, Merged):
        told = say("web.map.two-hands", file=DECK_FILE)
        return JSONResponse({**_met(merged), "told": told}, 409)
    folder = project.read().folder
    before = scales.weigh(folder, {}, PATIENCE)
    after = scales.weigh(folder, {DECK_FILE: table_bytes(merged.table)}, PATIENCE)
    if before is None or after is None:
        raise BadUsage(say("web.rules.working"))
    if new_errors(before.faults, after.faults):
        faults = _shown_faults(after, merged.table, folder)
        return JSONResponse({"faults": faults[:FAULTS_SHOWN]}, 422)
    old = file.read_bytes() if file.exists() else b""
    try:
        write_table(file, merged.table)
    except FaultyProject as problem:
        bench.storage.keep_draft(project.id, _draft_name(view), form.model_dump())
        told = say("web.map.held", reason=str(problem))
        return JSONResponse({"told": told, "kept": True}, 423)
    saves.note(project.id, project.path, DECK_FILE, old)
    bench.storage.drop_draft(project.id, _draft_name(view))
    key = "saved" if is_unchanged else "saved-merged"
    told = say(f"web.map.{key}", file=DECK_FILE, backup=f"{DECK_FILE}.bak")
    return JSONResponse({"told": told, **_given(bench, scales, project, view)})
