"""``[[objectives]]``: what learners should be able to do, tied to targets and structures."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated

from pydantic import Field

from nervure.errors import Fault, error
from nervure.game._door import Settings, key_place, through_door, unknown_name


class Objective(Settings):
    """One objective: an id, its text, and what it is about."""

    id: Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")] = "objective"
    text: str = ""
    targets: tuple[str, ...] = ()
    structures: tuple[str, ...] = ()


def read_objectives(
    tables: object, targets: Iterable[str], structures: Iterable[str]
) -> tuple[tuple[Objective, ...], list[Fault]]:
    """Read the list of ``[[objectives]]`` tables; one with a fault is left out.

    ``targets`` and ``structures`` are the ids of the map.
    """
    if not isinstance(tables, (list, tuple)):
        _, faults = through_door(Objective, tables, "objectives")
        return (), faults
    known = {"target": tuple(targets), "structure": tuple(structures)}
    kept: dict[str, Objective] = {}
    faults = []
    for number, table in enumerate(tables, start=1):
        prefix = f"objectives.{number}"
        objective, found = through_door(Objective, table, prefix, "game.accepts.objectives")
        named = [
            ("target", "targets", objective.targets),
            ("structure", "structures", objective.structures),
        ]
        for kind, field, ids in named:
            found += [
                unknown_name(f"{prefix}.{field}", name, kind, known[kind])
                for name in ids
                if name not in known[kind]
            ]
        if not found and not (objective.targets or objective.structures):
            found.append(error("objective-about-nothing", key_place(prefix), value=objective.id))
        if not found and (objective.id in kept or "id" not in table):
            found.append(error("double-id", key_place(f"{prefix}.id"), value=objective.id))
        faults += found
        if not found:
            kept[objective.id] = objective
    return tuple(kept.values()), faults
