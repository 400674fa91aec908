"""``[tune]``: what the search for a better version may change, and within which values."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from nervure.errors import Fault
from nervure.game._door import bad_setting, plain, through_door, unknown_key
from nervure.game.rules import Points, Rules

MOST_COPIES = 400
MOST_POINTS = 999


@dataclass(frozen=True, slots=True)
class Tunable:
    """One thing that may be changed.

    ``area``: "rules", "points" or "deck"; ``name``: the key, the card, or ``tier:ID``;
    ``field``: "copies" or "points" of a card, else "". ``values``: all values to choose from,
    as game.toml or deck.csv holds them (a range is written out).
    """

    key: str
    area: str
    name: str
    field: str
    values: tuple[Any, ...]


def read_tune(
    table: object, cards: Collection[str], tiers: Collection[str]
) -> tuple[tuple[Tunable, ...], list[Fault]]:
    """Read the table; an entry with a fault is left out.

    ``cards``: every card that deck.csv may name; ``tiers``: the deck's tiers.
    """
    if not isinstance(table, Mapping):
        return (), [bad_setting("tune", table, "game.accepts.table")]
    known = [f"rules.{name}" for name in Rules.model_fields]
    known += [f"points.{name}" for name in Points.model_fields]
    known += [f"deck.{card}.{field}" for card in cards for field in ("copies", "points")]
    known += [f"deck.tier:{tier}.copies" for tier in tiers]
    found, faults = [], []
    for key, raw in _flat(plain(table), "").items():
        place = f"tune.{key}"
        if key not in known:
            faults.append(unknown_key(place, [f"tune.{name}" for name in known]))
            continue
        area, _, rest = key.partition(".")
        name, _, field = rest.rpartition(".") if area == "deck" else (rest, "", "")
        values = _values(raw)
        if values is None or not all(_fits(area, name, field, value) for value in values):
            faults.append(bad_setting(place, raw, "game.accepts.tune"))
            continue
        found.append(Tunable(key, area, name, field, values))
    return tuple(found), faults


def _flat(table: Mapping[str, Any], prefix: str) -> dict[str, Any]:
    """Join nested tables to dotted keys, so that ``rules.hand`` needs no quotation marks."""
    found: dict[str, Any] = {}
    for key, value in table.items():
        if isinstance(value, dict) and set(value) != {"choices"}:
            found |= _flat(value, f"{prefix}{key}.")
        else:
            found[f"{prefix}{key}"] = value
    return found


def _values(raw: Any) -> tuple[Any, ...] | None:
    if isinstance(raw, dict):
        choices = raw.get("choices")
        return choices if isinstance(choices, tuple) and choices else None
    if not isinstance(raw, tuple) or len(raw) != 2 or not all(_is_whole(end) for end in raw):
        return None
    low, high = raw
    return tuple(range(low, high + 1)) if low <= high <= low + MOST_POINTS else None


def _is_whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _fits(area: str, name: str, field: str, value: Any) -> bool:
    if area == "rules":
        return not through_door(Rules, {name: value}, "rules")[1]
    if area == "points":
        return not through_door(Points, {name: value}, "points")[1]
    if field == "copies":
        return _is_whole(value) and 0 <= value <= MOST_COPIES
    if isinstance(value, str):
        value = tuple(int(part) if part.isdecimal() else None for part in value.split())
    return (
        isinstance(value, tuple)
        and bool(value)
        and all(_is_whole(part) and 0 <= part <= MOST_POINTS for part in value)
    )
