"""The page's form as a whole: what the file shows, what a form changes, two hands on one key.

Comes in: game.toml as read, and a form as sent. Goes out: changes by key, or the keys on
which two hands meet. Nothing is read or written here.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from nervure.game.bonuses import Bonuses
from nervure.game.rules import Points, Rules
from nervure.project import GameFile
from nervure.web.pages.rules.bonus_form import bonus_changes, read_rows, rows_of, texts_of
from nervure.web.pages.rules.fields import CannotShow, Field, Form, Texts

TABLES = ("rules", "points", "bonuses", "bonus")
DEFAULTS: Mapping[str, Mapping[str, Any]] = {
    "rules": Rules().model_dump(mode="json"),
    "points": Points().model_dump(mode="json"),
    "bonuses": Bonuses().model_dump(mode="json"),
}


@dataclass(frozen=True, slots=True)
class Met:
    """A key that both hands changed: as it was read, as it is wanted, as it stands."""

    key: str
    was: Any
    mine: Any
    theirs: Any


@dataclass(frozen=True, slots=True)
class Laid:
    """The file with the changes laid upon it; ``met``: where that cannot be done."""

    file: GameFile
    met: tuple[Met, ...]


def as_read(data: Mapping[str, Any]) -> dict[str, Any]:
    """Give the tables that the page edits, as plain data that a form can carry."""
    tables = {name: data[name] for name in TABLES if name in data}
    return dict(json.loads(json.dumps(tables, default=str)))


def as_text(data: Mapping[str, Any]) -> str:
    """Give the tables as the text of a hidden field."""
    return json.dumps(as_read(data), sort_keys=True, ensure_ascii=False)


def from_text(text: str) -> dict[str, Any]:
    """Give the tables back from the hidden field; ValueError if it is something else."""
    found = json.loads(text) if text else {}
    if not isinstance(found, dict):
        raise ValueError(text[:40])
    for name, held in found.items():
        if not isinstance(held, list if name == "bonus" else dict):
            found = {**found, name: [] if name == "bonus" else {}}
    return found


def default_of(key: str) -> Any:
    """Give the value that holds where the file says nothing."""
    table, _, name = key.partition(".")
    return DEFAULTS[table][name]


def held_in(tables: Mapping[str, Any], key: str) -> Any:
    """Give what the tables hold at a key; None: nothing."""
    table, _, name = key.partition(".")
    held = tables.get(table)
    if table == "bonus":
        rows = held if isinstance(held, list) else []
        return next((row for row in rows if isinstance(row, dict) and row.get("id") == name), None)
    return held.get(name) if isinstance(held, Mapping) else None


def shown_form(tables: Mapping[str, Any], fields: Iterable[Field]) -> tuple[Texts, frozenset[str]]:
    """Give the form that shows what a file holds, and the keys that have no place in it.

    Those show their default instead; they are changed only if the form says so.
    """
    texts: Texts = {}
    odd = set()
    for field in fields:
        held = held_in(tables, field.key)
        try:
            texts |= field.shown(default_of(field.key) if held is None else held)
        except CannotShow:
            odd.add(field.key)
            texts |= field.shown(default_of(field.key))
    return {**texts, **texts_of(rows_of(tables.get("bonus")))}, frozenset(odd)


def changes_of(form: Form, tables: Mapping[str, Any], fields: Sequence[Field]) -> dict[str, Any]:
    """Give what a form changes of the tables as they were read: key -> value, None: taken out."""
    before, odd = shown_form(tables, fields)
    mended = set(form.get("mend", ()))
    found: dict[str, Any] = {}
    for field in fields:
        now = field.read(form)
        if now != field.read(before) or (field.key in odd and field.key in mended):
            found[field.key] = field.value(now, held_in(tables, field.key))
    return found | bonus_changes(read_rows(form), tables.get("bonus"))


def lay(file: GameFile, changes: Mapping[str, Any], was: Mapping[str, Any]) -> Laid:
    """Lay changes upon a file that may have changed since it was read.

    Parameters
    ----------
    file
        As it stands now.
    changes
        By key, as `changes_of` gives them.
    was
        The tables as they were read.

    Returns
    -------
    The file with the changes, or where both hands changed the same key; then it is as it was.
    """
    tables = as_read(file.data)
    met, wanted = [], {}
    for key, value in changes.items():
        theirs, before = held_in(tables, key), held_in(was, key)
        if theirs == value:
            continue
        if theirs != before:
            met.append(Met(key, before, value, theirs))
        wanted[key] = value
    if met:
        return Laid(file, tuple(met))
    return Laid(file.edited(wanted) if wanted else file, ())
