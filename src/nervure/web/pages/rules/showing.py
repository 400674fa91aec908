"""What the page of the rules shows: the sentences filled, faults beside them, what they do."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from nervure.errors import Fault
from nervure.game import Game, bonus_sentence
from nervure.game.bonuses import EFFECTS
from nervure.game.rules import ENDS_WITH_NUMBER, TARGET_TIE_BREAK, TIE_BREAKS
from nervure.project import GameFile, Map
from nervure.project.records import TARGET_KINDS
from nervure.web.bench import Bench
from nervure.web.pages.rules.bonus_form import (
    MOST_EFFECTS,
    BonusRow,
    Step,
    left_out,
    read_rows,
)
from nervure.web.pages.rules.effects import Effects, Teller, figure, strands_of
from nervure.web.pages.rules.fields import DRAWS, END_KINDS, Field, Form, fields_for
from nervure.web.pages.rules.form import (
    TABLES,
    as_read,
    as_text,
    changes_of,
    held_in,
    shown_form,
)
from nervure.web.pages.rules.sheet import Sheet, as_written, why_by_key
from nervure.web.pages.rules.trial import GAME, Scales, Trial
from nervure.web.shelf import Reading

PATIENCE = 1.0  # seconds that a page waits for figures


@dataclass(frozen=True)
class Edit:
    """A form beside the file: what it changes, and the games before and after.

    ``before``, ``after``: None while they are being worked out. ``own``: sentences about the
    form itself, by key. ``file``: the file with the changes, None where they cannot be laid.
    """

    fields: list[Field]
    form: Form
    was: Mapping[str, Any]
    changes: Mapping[str, Any]
    file: GameFile | None
    before: Trial | None
    after: Trial | None
    own: Mapping[str, list[str]]

    @property
    def why(self) -> dict[str, list[str]]:
        """Sentences by key: of the edited game, and of the form itself."""
        found = why_by_key(self.after.faults) if self.after else {}
        return {**found, **{key: [*found.get(key, []), *said] for key, said in self.own.items()}}


def fields_of(map_: Map) -> list[Field]:
    """Give the fields for a map."""
    return fields_for(
        [tier.id for tier in map_.tiers],
        [target.id for target in map_.targets],
        kinds_of(map_),
    )


def kinds_of(map_: Map) -> list[str]:
    """Give the kinds of target that a map has, in the order of the kinds."""
    present = {target.kind for target in map_.targets}
    return [kind for kind in TARGET_KINDS if kind in present]


def edit_of(
    bench: Bench,
    scales: Scales,
    reading: Reading,
    file: GameFile,
    form: Form | None,
    was: Mapping[str, Any] | None = None,
    deck: bytes | None = None,
) -> Edit:
    """Give a form beside the file; no form: what the file says.

    ``was``: the tables as the form's page read them. ``deck``: an edited deck.csv.
    """
    tables = as_read(file.data) if was is None else was
    fields = fields_of(reading.folder.map)
    shown = shown_form(tables, fields)[0] if form is None else form
    changes = {} if form is None else changes_of(form, tables, fields)
    own = {} if form is None else _own_faults(bench, form)
    laid = file.edited({key: value for key, value in changes.items() if _can_stand(key)})
    before = scales.weigh(reading.folder, {}, PATIENCE)
    edited = {GAME: laid.bytes} if changes else {}
    if deck is not None:
        edited["deck.csv"] = deck
    after = scales.weigh(reading.folder, edited, PATIENCE) if edited else before
    return Edit(fields, shown, tables, changes, laid, before, after, own)


def _can_stand(key: str) -> bool:
    """Tell whether a change can be laid upon the file: a bonus without an id cannot."""
    return not key.startswith("bonus.#")


def _own_faults(bench: Bench, form: Form) -> dict[str, list[str]]:
    """Say what only the form knows: no tier ticked, a bonus without an id of its own."""
    say = bench.view.say
    found: dict[str, list[str]] = {}
    if not form.get("tiers") and "rules.tiers" not in form.get("mend", ()):
        found["rules.tiers"] = [say("web.rules.no-tier")]
    ids: list[str] = []
    for row in read_rows(form):
        if row.is_gone or row.is_blank:
            continue
        if not row.id:
            found[f"bonus.{row.number}"] = [say("web.rules.bonus-no-id")]
        elif row.id in ids:
            found[f"bonus.{row.number}"] = [say("web.rules.bonus-same-id", id=row.id)]
        ids.append(row.id)
    return found


def bonus_why(edit: Edit) -> dict[int, list[str]]:
    """Give the sentences about each bonus, by the number of its row in the form."""
    held = (edit.file.data if edit.file else {}).get("bonus", [])
    ids = [one.get("id", "") if isinstance(one, dict) else "" for one in held]
    numbers = {row.id: row.number for row in read_rows(edit.form) if not row.is_gone}
    found: dict[int, list[str]] = {}
    for key, said in edit.why.items():
        parts = key.split(".")
        if parts[0] != "bonus" or len(parts) < 2 or not parts[1].isdigit():
            continue
        if key in edit.own:
            found.setdefault(int(parts[1]), []).extend(said)
        elif 0 < int(parts[1]) <= len(ids) and ids[int(parts[1]) - 1] in numbers:
            found.setdefault(numbers[ids[int(parts[1]) - 1]], []).extend(said)
    return found


def changed_rows(edit: Edit) -> list[int]:
    """Give the numbers of the rows of bonuses that the form changes."""
    return [
        row.number
        for row in read_rows(edit.form)
        if f"bonus.{row.was or row.id or f'#{row.number}'}" in edit.changes
    ]


def derived_of(edit: Edit) -> dict[int, str]:
    """Give the sentence derived from each bonus's operations, by the number of its row."""
    game = edit.after.game if edit.after else None
    if game is None:
        return {}
    known = {bonus.id: bonus for bonus in game.bonuses}
    return {
        row.number: bonus_sentence(game, known[row.id].model_copy(update={"says": ""}))
        for row in read_rows(edit.form)
        if row.id in known
    }


def printed_of(bench: Bench, game: Game | None) -> dict[str, str]:
    """Say on which cards each bonus is printed."""
    if game is None:
        return {}
    cards: dict[str, list[str]] = {bonus.id: [] for bonus in game.bonuses}
    for card, id in game.bonus_of.items():
        named = game.anatomy.target(card) if card in game.targets else None
        cards.setdefault(id, []).append(named.name if named else game.anatomy.structure(card).name)
    say = bench.view.say
    return {
        id: say("web.rules.bonus.printed", cards=", ".join(names))
        if names
        else say("web.rules.bonus.printed-none")
        for id, names in cards.items()
    }


def is_begun(reading: Reading) -> bool:
    """Tell whether anything of a game is written: a table of game.toml, or a row of the deck."""
    settings = reading.folder.settings
    return bool(reading.folder.deck) or any(settings.get(name) for name in TABLES)


def sheet_of(bench: Bench, reading: Reading, edit: Edit) -> Sheet:
    """Give what the sentences are written with."""
    return Sheet(
        bench.view,
        reading.folder.map,
        reading.folder.words,
        edit.form,
        edit.changes,
        {key: held_in(edit.was, key) for key in edit.changes},
        shown_form(edit.was, edit.fields)[1],
        _why_of(edit),
    )


def page_values(
    bench: Bench, reading: Reading, file: GameFile, edit: Edit, **more: Any
) -> dict[str, Any]:
    """Give everything that the template shows."""
    map_, form = reading.folder.map, edit.form
    sheet = sheet_of(bench, reading, edit)
    odd = sheet.odd
    teller = Teller(bench.view)
    is_beside = edit.after is not edit.before
    effects = None
    if edit.after is not None and edit.before is not None:
        effects = teller.effects(edit.after, edit.before if is_beside else None)
    rows = read_rows(form)
    shown_rows = [*rows, *([] if any(not row.was for row in rows) else [_blank(rows)])]
    targets = [target.id for target in map_.targets]
    known = {"tiers": [tier.id for tier in map_.tiers], "draws": list(DRAWS)}
    known["targets"] = [*TARGET_KINDS, *targets]
    faults = edit.before.faults if edit.before else ()
    ties = [text for text in sheet.texts("tie_breaks") if text]
    return {
        "sheet": sheet,
        "map": map_,
        "changes": edit.changes,
        "digest": more.pop("digest", file.digest),
        "was": as_text(edit.was),
        "odd_values": {key: as_written(held_in(edit.was, key)) for key in odd},
        "strange": {
            name: [text for text in sheet.texts(name) if text not in ids]
            for name, ids in known.items()
        },
        "kinds": kinds_of(map_),
        "all_kinds": TARGET_KINDS,
        "single_count": sum(text in targets for text in sheet.texts("targets")),
        "draws": DRAWS,
        "end_kinds": END_KINDS,
        "counted_ends": ENDS_WITH_NUMBER,
        "ties": [*ties, ""],
        "tie_kinds": TIE_BREAKS,
        "tie_targets": {f"{TARGET_TIE_BREAK}{row.id}": row.name for row in map_.targets},
        "printable": ["target", *known["tiers"]],
        "bonus_rows": shown_rows,
        "bonus_left_out": left_out(edit.was.get("bonus")),
        "bonus_why": bonus_why(edit),
        "derived": derived_of(edit),
        "printed": printed_of(bench, edit.before.game if edit.before else None),
        "whens": tuple(EFFECTS),
        "effect_names": _Names(),
        "effect_shapes": json.dumps(EFFECTS),
        "effect_words": json.dumps(
            {
                name: bench.view.say(f"web.rules.bonus.o.does.{name}")
                for effects in EFFECTS.values()
                for name in effects
            }
        ),
        "most_effects": MOST_EFFECTS,
        "blank_step": Step(""),
        "effects": effects,
        "is_beside": is_beside,
        "brief": brief_of(bench, edit, effects),
        "faults": [(fault, _anchor(fault)) for fault in _errors_first(faults)],
        "standing": standing_of(bench, reading, edit.before),
        "is_begun": is_begun(reading),
        **more,
    }


class _Names(dict[str, tuple[str, ...]]):
    """Names of the operations that a kind of bonus may have; none for another kind."""

    def __missing__(self, when: str) -> tuple[str, ...]:
        return tuple(EFFECTS.get(when, {}))  # type: ignore[call-overload]


def _blank(rows: Sequence[BonusRow]) -> BonusRow:
    number = max((row.number for row in rows), default=-1) + 1
    return BonusRow(number, "", "", "one-time", (), "")


def _why_of(edit: Edit) -> dict[str, list[str]]:
    return {key: said for key, said in edit.why.items() if not key.startswith("bonus.")}


def _errors_first(faults: Sequence[Fault]) -> list[Fault]:
    return sorted(faults, key=lambda fault: fault.level != "error")


def _anchor(fault: Fault) -> str:
    """Give the id of the sentence that a fault is about, blank if it is about none."""
    key = fault.place.column or ""
    if fault.place.file != GAME or not key:
        return ""
    table, _, name = key.partition(".")
    if table == "rules":
        return f"rule-{name}"
    return {"points": f"rule-points_{name}", "bonuses": "rule-printed_on", "bonus": "bonuses"}.get(
        table, ""
    )


def brief_of(bench: Bench, edit: Edit, effects: Effects | None) -> str:
    """Say in a line how many changes there are and what they do."""
    if not edit.changes:
        return bench.view.say("web.rules.changed-none")
    said = bench.view.amount("web.rules.changed", len(edit.changes))
    if effects is None:
        return f"{said} {bench.view.say('web.rules.working')}"
    return f"{said} {effects.brief}"


def standing_of(bench: Bench, reading: Reading, trial: Trial | None) -> dict[str, Any]:
    """Say what is in order, what wants attention, and the next thing to do."""
    say, amount = bench.view.say, bench.view.amount
    if trial is None:
        return {
            "order": say("web.rules.effects.one-moment"),
            "attention": [],
            "next": say("web.rules.again"),
        }
    errors = [fault for fault in trial.faults if fault.level == "error"]
    warnings = len(trial.faults) - len(errors)
    attention = []
    if errors:
        said = amount("web.rules.errors", len(errors))
        attention.append({"said": said, "at": "faults", "red": True})
    check = trial.check
    untrue = check.untrue_strands.count if check else 0
    stalls = check is not None and any(one.verdict != "certain" for one in check.ending)
    if untrue:
        said = say("web.rules.attention-untrue", count=untrue)
        attention.append({"said": said, "at": "h-effects", "red": False})
    if stalls:
        said = say("web.rules.attention-end")
        attention.append({"said": said, "at": "rule-end", "red": False})
    if warnings:
        said = amount("web.rules.warnings", warnings)
        attention.append({"said": said, "at": "faults", "red": False})
    order = say("web.rules.order-faulty")
    if not is_begun(reading):
        order = say("web.rules.order-none")
    elif check:
        order = say(
            "web.rules.order-game",
            targets=len(check.targets),
            parts=check.part_cards,
            strands=figure(strands_of(check)),
        )
    following = "next-playtest"
    if errors:
        following = "next-mend"
    elif not is_begun(reading):
        following = "next-begin"
    elif untrue:
        following = "next-untrue"
    elif stalls:
        following = "next-end"
    place = str(errors[0].place) if errors else ""
    return {
        "order": order,
        "attention": attention,
        "next": say(f"web.rules.{following}", place=place),
    }
