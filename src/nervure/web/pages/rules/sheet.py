"""What the template reads while it writes the sentences: texts of fields, faults, notes.

One `Sheet` is made for each page that is shown. It holds the form (as the file says, or as
it was sent), what the form changes, and the faults that the edited game would have.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import tomlkit
from markupsafe import Markup, escape

from nervure import words
from nervure.errors import Fault
from nervure.game.rules import TARGET_TIE_BREAK
from nervure.project import Map
from nervure.project.records import TARGET_KINDS
from nervure.web.pages.rules.fields import SIZES, Form
from nervure.web.pages.rules.form import default_of

if TYPE_CHECKING:
    from nervure.web.view import View

MOST_SHOWN = 200  # characters of a value in a note


@dataclass(frozen=True)
class Sheet:
    """The sentences' choices, with all that stands beside them."""

    view: View
    map: Map
    map_words: Mapping[str, str]
    form: Form
    changes: Mapping[str, Any]
    saved: Mapping[str, Any]
    odd: frozenset[str]
    why: Mapping[str, Sequence[str]]

    sizes = tuple(SIZES)

    def tell(self, key: str, /, **values: object) -> Markup:
        """Give a sentence with choices in it: values are escaped unless they are markup."""
        safe = {name: escape(value) for name, value in {**self._own, **values}.items()}
        return Markup(self.view.say(f"web.rules.{key}", **safe))

    def plain(self, key: str, /, **values: object) -> str:
        """Give a text without markup."""
        return self.view.say(f"web.rules.{key}", **{**self._own, **values})

    @property
    def _own(self) -> dict[str, str]:
        origin = self.map_words.get("origin", "")
        return {"origins": f"{origin}s", **self.map_words}

    def text(self, name: str) -> str:
        """Give the text of a field."""
        held = self.form.get(name) or [""]
        return str(held[0])

    def texts(self, name: str) -> list[str]:
        """Give all texts of a name that stands several times."""
        return [str(text) for text in self.form.get(name, ())]

    def has(self, name: str, value: str = "yes") -> bool:
        """Tell whether a box is ticked, or a choice made."""
        return value in self.form.get(name, ())

    def note(self, key: str) -> str:
        """Say what is saved of a key that the form changes; blank if it does not."""
        if key not in self.changes:
            return ""
        return self.plain("note", value=self.said(key, self.saved.get(key)))

    def said(self, key: str, value: Any) -> str:
        """Say a value of a key as its sentence would; None: what holds where nothing stands."""
        held = default_of(key) if value is None else value
        name = key.removeprefix("rules.").replace(".", "_")
        if isinstance(held, dict) and all(str(size).isdecimal() for size in held):
            return "; ".join(
                self.plain("said-by", players=size, value=self._said(name, one))
                for size, one in held.items()
            )
        return self._said(name, held)

    def _said(self, name: str, value: Any) -> str:
        if isinstance(value, bool):
            value = "yes" if value else "no"
        if isinstance(value, list):
            if name in ("players", "points_range"):
                return "–".join(map(str, value))
            listed = [self._one(name, item) for item in value] or [self._none(name)]
            text = ", ".join(listed)
            return text if len(text) <= MOST_SHOWN else text[:MOST_SHOWN] + " …"
        return self._one(name.removeprefix("bonuses_"), value)

    def _none(self, name: str) -> str:
        key = "said-all" if name == "tiers" else "nothing-there"
        return self.plain(key)

    def _one(self, name: str, value: Any) -> str:
        kind, _, amount = str(value).partition(": ")
        group = "times" if name in ("draw_count", "play_count") else name
        if words.has(f"web.rules.o.{group}.{kind}"):
            return f"{amount} {self.plain(f'o.{group}.{kind}')}".strip()
        named = {tier.id: tier.plural for tier in self.map.tiers}
        named |= {target.id: target.name for target in self.map.targets}
        named |= {kind: words.say(f"game.kinds.{kind}") for kind in TARGET_KINDS}
        return named.get(str(value).removeprefix(TARGET_TIE_BREAK), str(value)[:MOST_SHOWN])


def as_written(value: Any) -> str:
    """Show a value as game.toml would hold it, cut where it is long."""
    try:
        text = tomlkit.item(value).as_string() if value is not None else ""
    except (ValueError, TypeError):
        text = str(value)
    text = " ".join(text.split())
    return text if len(text) <= MOST_SHOWN else text[:MOST_SHOWN] + " …"


def why_by_key(faults: Sequence[Fault], file: str = "game.toml") -> dict[str, list[str]]:
    """Give the sentences of faults by the key at which they stand."""
    found: dict[str, list[str]] = {}
    for fault in faults:
        if fault.place.file == file and fault.place.column:
            found.setdefault(fault.place.column, []).append(fault.message)
    return found
