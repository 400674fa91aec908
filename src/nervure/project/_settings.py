"""game.toml -> plain data, and those of its keys that say what the project is.

Keys inside the tables of rules, points, bonuses, goals, look, tune and objectives are
kept as they stand; `nervure.game` judges them.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from nervure import words
from nervure.errors import Fault, Place, error, nearest
from nervure.project._cells import one_line
from nervure.project.records import DEFAULT_WORDS, Ids

GAME_FILE = "game.toml"
# Each top-level key and the kind of value that it takes (words: accepts.KIND).
TOP_KEYS: Mapping[str, str] = {
    "title": "text",
    "map": "table",
    "language": "language",
    "rules": "table",
    "points": "table",
    "bonuses": "table",
    "bonus": "tables",
    "goals": "table",
    "look": "table",
    "tune": "table",
    "objectives": "tables",
    "words": "table",
}
MAP_KEYS: Mapping[str, str] = {"name": "text", "variants": "texts"}
WORD_KEYS: Mapping[str, str] = dict.fromkeys(DEFAULT_WORDS, "text")
_LANGUAGE = re.compile(r"[a-z]{2,3}(-[A-Za-z0-9]{2,8})*")
_AT_LINE = re.compile(r"(?P<reason>.*) \(at line (?P<line>\d+), column \d+\)", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Settings:
    """What game.toml says; defaults where it says nothing or nothing usable."""

    data: Mapping[str, Any] = field(default_factory=dict)
    title: str = ""
    language: str = "en"
    map_name: str = ""
    variants: Ids = ()
    words: Mapping[str, str] = field(default_factory=dict)


def key_place(*keys: str) -> Place:
    """Give the place of a dotted key of game.toml."""
    return Place(GAME_FILE, None, ".".join(keys))


def parse_toml(text: str, place: Place, faults: list[Fault]) -> dict[str, Any] | None:
    """Give the data of a TOML text, or None and a fault that names the line."""
    try:
        return tomllib.loads(text)
    except RecursionError:
        faults.append(error("toml-broken", place, reason=words.say("reason.nested")))
    except ValueError as problem:  # TOMLDecodeError, and numbers of thousands of digits
        match = _AT_LINE.fullmatch(str(problem))
        reason = one_line(match["reason"] if match else str(problem))[:120]
        line = int(match["line"]) if match else text.count("\n") + 1
        faults.append(error("toml-broken", place.in_row(line), reason=reason))
    return None


def read_settings(text: str, faults: list[Fault]) -> Settings | None:
    """Give the settings of the text of game.toml, or None and a fault."""
    data = parse_toml(text, Place(GAME_FILE), faults)
    if data is None:
        return None
    usable = _check_keys(data, TOP_KEYS, (), faults)
    chosen = _check_keys(usable.get("map", {}), MAP_KEYS, ("map",), faults)
    return Settings(
        data=data,
        title=one_line(usable.get("title", "")),
        language=usable.get("language", "en"),
        map_name=chosen.get("name", "").strip(),
        variants=tuple(dict.fromkeys(chosen.get("variants", ()))),
        words=_check_keys(usable.get("words", {}), WORD_KEYS, ("words",), faults),
    )


def _check_keys(
    table: Mapping[str, Any], kinds: Mapping[str, str], prefix: Ids, faults: list[Fault]
) -> dict[str, Any]:
    """Give those keys of a table that are known and hold what they should."""
    usable = {}
    for key, value in table.items():
        place = key_place(*prefix, key)
        if key not in kinds:
            closest = ".".join((*prefix, nearest(key.lower(), list(kinds), most=1)[0]))
            faults.append(error("unknown-key", place, value=key, nearest=closest))
        elif not _fits(value, kinds[key]):
            shown = one_line(str(value))[:40]
            accepts = words.say(f"accepts.{kinds[key]}", key=key)
            faults.append(error("key-kind", place, value=shown, accepted=accepts))
        else:
            usable[key] = value
    return usable


def _fits(value: object, kind: str) -> bool:
    if kind == "text":
        return isinstance(value, str)
    if kind == "language":
        return isinstance(value, str) and _LANGUAGE.fullmatch(value) is not None
    if kind == "table":
        return isinstance(value, dict)
    assert kind in ("texts", "tables")
    each = str if kind == "texts" else dict
    return isinstance(value, list) and all(isinstance(item, each) for item in value)
