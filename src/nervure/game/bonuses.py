"""``[bonuses]`` and ``[[bonus]]``: what a full strand may earn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field, field_validator

from nervure.errors import Fault, error
from nervure.game._door import Settings, key_place, through_door
from nervure.project.records import TARGET_KINDS

When = Literal["one-time", "lasting", "reply"]

# Effect -> what follows its name: "" nothing, "N" a number, "N KIND" a number and a target kind.
EFFECTS: dict[When, dict[str, tuple[str, ...]]] = {
    "one-time": {
        "draw": ("N",),
        "play": ("N",),
        "exchange-open": ("",),
        "take-any-loose": ("",),
        "move-end": ("",),
        "points": ("N",),
    },
    "lasting": {
        "guard-loose": ("",),
        "hand": ("N",),
        "short-claim": ("N",),
        "points": ("N KIND",),
    },
    "reply": {"cancel-take": ("",)},
}

ASKING = frozenset({"exchange-open", "take-any-loose", "move-end"})
MOST_ASKING_PARTS = 2
"""How many parts of one bonus may ask its player for something."""


@dataclass(frozen=True, slots=True)
class Effect:
    """One thing that a bonus does: ``points 2 muscle`` is Effect("points", 2, "muscle")."""

    name: str
    amount: int = 0
    kind: str = ""


def parse_effect(when: When, text: str) -> Effect:
    """Read one effect of a bonus.

    Raises
    ------
    ValueError
        There is no such effect for this kind of bonus.

    >>> parse_effect("lasting", "points 2 muscle")
    Effect(name='points', amount=2, kind='muscle')
    """
    name, *rest = text.split()
    for shape in EFFECTS[when].get(name, ()):
        number = rest[0] if rest else ""
        numbered = number.isdecimal() and 1 <= int(number) <= 99
        if shape == "" and not rest:
            return Effect(name)
        if shape == "N" and len(rest) == 1 and numbered:
            return Effect(name, int(number))
        if shape == "N KIND" and len(rest) == 2 and numbered and rest[1] in TARGET_KINDS:
            return Effect(name, int(number), rest[1])
    raise ValueError(text)


class Bonuses(Settings):
    """``[bonuses]``: ``printed_on`` is "target" or the id of a tier in the deck."""

    printed_on: str = "target"


class Bonus(Settings):
    """``[[bonus]]``: ``says`` blank means the sentence derived from what it does."""

    id: Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")] = "bonus"
    when: When = "one-time"
    does: Annotated[tuple[str, ...], Field(min_length=1)] = ("draw 1",)
    says: str = ""

    @field_validator("does")
    @classmethod
    def _not_blank(cls, does: tuple[str, ...]) -> tuple[str, ...]:
        if any(not text.strip() for text in does):
            raise ValueError(does)
        return does

    @property
    def effects(self) -> tuple[Effect, ...]:
        """The effects in the order in which they are done."""
        return tuple(parse_effect(self.when, text) for text in self.does)


def effect_forms(when: When) -> str:
    """List what a bonus of one kind may do, as an author writes it."""
    return ", ".join(
        f"{name} {shape}".strip() for name, shapes in EFFECTS[when].items() for shape in shapes
    )


def read_bonuses(tables: object) -> tuple[tuple[Bonus, ...], list[Fault]]:
    """Read the list of ``[[bonus]]`` tables; a bonus with a fault is left out."""
    if not isinstance(tables, (list, tuple)):
        _, faults = through_door(Bonus, tables, "bonus")
        return (), faults
    kept: dict[str, Bonus] = {}
    faults = []
    for number, table in enumerate(tables, start=1):
        prefix = f"bonus.{number}"
        bonus, found = through_door(Bonus, table, prefix, "game.accepts.bonus")
        if isinstance(table, dict) and "id" not in table:
            found.append(error("bonus-without-id", key_place(f"{prefix}.id")))
        if not found:
            found += _bad_effects(bonus, prefix)
        if bonus.id in kept and not found:
            found.append(error("double-id", key_place(f"{prefix}.id"), value=bonus.id))
        faults += found
        if not found:
            kept[bonus.id] = bonus
    return tuple(kept.values()), faults


def _bad_effects(bonus: Bonus, prefix: str) -> list[Fault]:
    faults = []
    for text in bonus.does:
        try:
            parse_effect(bonus.when, text)
        except ValueError:
            faults.append(
                error(
                    "bad-effect",
                    key_place(f"{prefix}.does"),
                    value=text,
                    when=bonus.when,
                    accepts=effect_forms(bonus.when),
                )
            )
    asking = [text for text in bonus.does if text in ASKING]
    if len(asking) > MOST_ASKING_PARTS:
        faults.append(
            error(
                "bonus-asks-too-much",
                key_place(f"{prefix}.does"),
                value=str(len(asking)),
                most=MOST_ASKING_PARTS,
            )
        )
    return faults
