"""The door of game.toml: tables come in, frozen models and faults go out.

Comes in: one table of game.toml as plain data. Goes out: the model, in which a key that does
not fit has its default, and one fault for each such key. Nothing is raised for input. Not
checked here: whether ids exist (`nervure.game.deck`, `nervure.game.reading`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from nervure import words
from nervure.errors import Fault, Place, error, nearest

GAME_FILE = "game.toml"


class Settings(BaseModel):
    """A frozen table of game.toml: exact types, no unknown keys."""

    model_config = ConfigDict(
        frozen=True, strict=True, extra="forbid", arbitrary_types_allowed=True
    )


Model = TypeVar("Model", bound=Settings)


def key_place(key: str) -> Place:
    """Give the place of a dotted key of game.toml."""
    return Place(GAME_FILE, None, key)


def shown(value: object) -> str:
    """Show a value of game.toml as its author would write it.

    >>> shown((True, "true", 3))
    '[true, "true", 3]'
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {shown(item)}" for key, item in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(shown(item) for item in value) + "]"
    return str(value)


def plain(value: Any) -> Any:
    """Give plain data with tuples for lists, as the frozen models hold them."""
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return tuple(plain(item) for item in value)
    return value


def bad_setting(key: str, value: object, accepts: str | None = None) -> Fault:
    """Make the fault of a value that does not fit; ``accepts`` is a key of the words."""
    return error(
        "bad-setting",
        key_place(key),
        value=shown(value),
        accepts=words.say(accepts or f"game.accepts.{key}"),
    )


def unknown_key(key: str, known: Iterable[str]) -> Fault:
    """Make the fault of a key that does not exist, with the nearest known one."""
    close = nearest(key, list(known), most=1)
    return error("unknown-key", key_place(key), value=key, nearest=close[0] if close else "")


def unknown_name(key: str, value: str, kind: str, known: Iterable[str]) -> Fault:
    """Make the fault of an id that does not exist, with the nearest known ones."""
    close = ", ".join(nearest(value, list(known)))
    return error(
        "unknown-name-in-game",
        key_place(key),
        value=value,
        kind=words.say(f"game.kind.{kind}"),
        nearest=close,
    )


def through_door(
    model: type[Model], table: object, prefix: str, accepts: str | None = None
) -> tuple[Model, list[Fault]]:
    """Validate one table.

    Parameters
    ----------
    model
        What the table should become; every field has a default.
    table
        Plain data as read.
    prefix
        The table's key, for places: ``rules``.
    accepts
        Key of the words under which the accepted values of each field stand, if other
        than ``game.accepts.PREFIX``.

    Returns
    -------
    The model and the faults. A key that does not fit has its default.
    """
    home = accepts or f"game.accepts.{prefix}"
    if not isinstance(table, Mapping):
        return model(), [bad_setting(prefix, table, "game.accepts.table")]
    raw = plain(table)
    faults = []
    for key in [key for key in raw if key not in model.model_fields]:
        known = [f"{prefix}.{name}" for name in model.model_fields]
        faults.append(unknown_key(f"{prefix}.{key}", known))
        del raw[key]
    try:
        return model(**raw), faults
    except ValidationError as problem:
        for key in dict.fromkeys(str(found["loc"][0]) for found in problem.errors()):
            faults.append(bad_setting(f"{prefix}.{key}", raw.pop(key), f"{home}.{key}"))
    return model(**raw), faults
