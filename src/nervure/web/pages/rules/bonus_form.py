"""Bonuses as rows of form fields: what a full strand earns, composed of operations.

A bonus stands in the fields ``bonus.N.KEY``; ``bonus.N.was`` holds the id under which the
file has it, blank for a new one. Its operations stand in ``bonus.N.does.M`` with ``.amount``
and ``.kind``. What an operation may be is known to `nervure.game.bonuses` alone.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from nervure.game.bonuses import EFFECTS, Bonus
from nervure.web.pages.rules.fields import Form, one

MOST_BONUSES = 60
MOST_EFFECTS = 8
MOST_SAYS = 2_000
BONUS_KEYS = ("id", "when", "does", "says")
_ROW = re.compile(r"bonus\.([0-9]{1,3})\.id")


@dataclass(frozen=True, slots=True)
class Step:
    """One operation in its fields; ``shape`` as in `EFFECTS`: "", "N" or "N KIND"."""

    name: str
    amount: str = ""
    kind: str = ""
    shape: str = ""

    @property
    def text(self) -> str:
        """The operation as game.toml holds it."""
        parts = {"": [], "N": [self.amount], "N KIND": [self.amount, self.kind]}[self.shape]
        return " ".join(part.strip() for part in (self.name, *parts) if part.strip())


@dataclass(frozen=True, slots=True)
class BonusRow:
    """One bonus in its fields."""

    number: int
    was: str
    id: str
    when: str
    steps: tuple[Step, ...]
    says: str
    is_gone: bool = False

    @property
    def does(self) -> list[str]:
        """The operations that are named, as game.toml holds them."""
        return [step.text for step in self.steps if step.name]

    @property
    def is_blank(self) -> bool:
        """Tell whether nothing stands in the row of a new bonus."""
        return not (self.was or self.id or self.says or self.does)


def shape_of(when: str, name: str) -> str:
    """Give what follows an operation's name: for this kind of bonus, else for any."""
    for effects in (EFFECTS.get(when, {}), *EFFECTS.values()):  # type: ignore[call-overload]
        if name in effects:
            return str(effects[name][0])
    return ""


def step_of(when: str, text: str) -> Step:
    """Take an operation apart; one that cannot be stays whole in its name."""
    parts = text.split()
    shape = shape_of(when, parts[0]) if parts else ""
    if parts and len(parts) == 1 + len(shape.split()):
        amount, kind = (*parts[1:], "", "")[:2]
        return Step(parts[0], amount, kind, shape)
    return Step(text)


def rows_of(held: object) -> list[BonusRow]:
    """Give the rows of the bonuses of a file; those without an id of their own are left out."""
    rows: list[BonusRow] = []
    for table in _own(held):
        known = {**Bonus().model_dump(mode="json"), "does": [], **table}
        does = known["does"] if isinstance(known["does"], list) else [known["does"]]
        when = str(known["when"])
        steps = tuple(step_of(when, str(text)) for text in does)
        rows.append(BonusRow(len(rows), table["id"], table["id"], when, steps, str(known["says"])))
    return rows


def left_out(held: object) -> int:
    """Count the bonuses that no row shows: without an id, or with one that stands twice."""
    return (len(held) if isinstance(held, list) else 0) - len(_own(held))


def _own(held: object) -> list[dict[str, Any]]:
    tables = [one for one in held if isinstance(one, dict)] if isinstance(held, list) else []
    ids = [table.get("id") for table in tables]
    return [
        table
        for table in tables
        if isinstance(table.get("id"), str) and ids.count(table["id"]) == 1
    ]


def read_rows(form: Form) -> list[BonusRow]:
    """Give the rows that a form holds, in their order."""
    numbers = sorted(int(found[1]) for name in form if (found := _ROW.fullmatch(name)))
    return [_read_row(form, number) for number in numbers[:MOST_BONUSES]]


def _read_row(form: Form, number: int) -> BonusRow:
    home = f"bonus.{number}"
    when = one(form, f"{home}.when")
    steps = []
    for place in range(MOST_EFFECTS):
        name = one(form, f"{home}.does.{place}").strip()
        amount, kind = (one(form, f"{home}.does.{place}.{part}") for part in ("amount", "kind"))
        steps.append(Step(name, amount, kind, shape_of(when, name)))
    says = str((form.get(f"{home}.says") or [""])[0])[:MOST_SAYS]
    return BonusRow(
        number,
        one(form, f"{home}.was"),
        one(form, f"{home}.id").strip(),
        when,
        tuple(steps),
        says.replace("\r\n", "\n"),
        one(form, f"{home}.gone") == "yes",
    )


def bonus_changes(rows: Sequence[BonusRow], was: object) -> dict[str, Any]:
    """Give what the rows change: ``bonus.ID`` (the id in the file) -> the bonus, None: gone."""
    before = {row.was: row for row in rows_of(was)}
    tables: Mapping[str, dict[str, Any]] = {table["id"]: table for table in _own(was)}
    found: dict[str, Any] = {}
    for row in rows:
        if row.is_gone or row.is_blank:
            if row.was in before:
                found[f"bonus.{row.was}"] = None
            continue
        now = {"id": row.id, "when": row.when, "does": row.does, "says": row.says}
        if row.was not in before:
            # A new one without an id yet, or with one that is taken, is told as a fault.
            key = row.id if row.id and row.id not in before else f"#{row.number}"
            found[f"bonus.{key}"] = {k: v for k, v in now.items() if k != "says" or v}
            continue
        old = before[row.was]
        shown = {"id": old.id, "when": old.when, "does": old.does, "says": old.says}
        changed = {key: now[key] for key in BONUS_KEYS if now[key] != shown[key]}
        if changed:
            found[f"bonus.{row.was}"] = {**tables[row.was], **changed}
    return found


def texts_of(rows: Sequence[BonusRow]) -> dict[str, list[str]]:
    """Give rows as a form holds them."""
    found: dict[str, list[str]] = {}
    for row in rows:
        home = f"bonus.{row.number}"
        found |= {
            f"{home}.was": [row.was],
            f"{home}.id": [row.id],
            f"{home}.when": [row.when],
            f"{home}.says": [row.says],
        }
        for place, step in enumerate(row.steps):
            found[f"{home}.does.{place}"] = [step.name]
            found[f"{home}.does.{place}.amount"] = [step.amount]
            found[f"{home}.does.{place}.kind"] = [step.kind]
    return found


__all__ = [
    "BonusRow",
    "Step",
    "bonus_changes",
    "left_out",
    "read_rows",
    "rows_of",
    "shape_of",
    "texts_of",
]
