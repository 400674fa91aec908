"""Faults of the input, and the tree of errors.

    NervureError                    everything that Nervure raises on purpose
    ├── FaultyProject(ValueError)   a folder, or one file of it, holds error faults
    ├── BadUsage(ValueError)        a call or a command cannot be understood
    │   └── UnknownName(LookupError)    no such target, site, style, variant ...
    └── NotPlayedYet(NotImplementedError)   a rule that the engine does not play

A *fault* is data: it is collected, sorted and shown together with the others.
An error is raised only at the edge. Sentences are made here, in one place, from
``words/en/``; the fields are set where the fault is found.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from nervure import words

Level = Literal["error", "warning"]


@dataclass(frozen=True, slots=True)
class Place:
    """Where a value stands: file relative to the project folder, row as a spreadsheet counts.

    ``row`` is None for a whole file or for a key of a TOML file; ``column`` is the
    column's name, or the dotted key (``rules.hand``) in a TOML file; ``sheet`` is the
    sheet of a workbook.
    """

    file: str
    row: int | None = None
    column: str | None = None
    sheet: str | None = None

    def at(self, column: str | None) -> Place:
        """Give the same row's place in another column."""
        return Place(self.file, self.row, column, self.sheet)

    def in_row(self, row: int | None) -> Place:
        """Give the place of a row of the same table."""
        return Place(self.file, row, self.column, self.sheet)

    def __str__(self) -> str:
        parts = [self.file]
        if self.sheet is not None:
            parts.append(words.say("place.sheet", sheet=self.sheet))
        if self.row is not None:
            parts.append(words.say("place.row", row=self.row))
        if self.column is not None:
            kind = "place.key" if self.file.endswith(".toml") else "place.column"
            parts.append(words.say(kind, column=self.column))
        return ", ".join(parts)


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in the input, with its place and what would be accepted."""

    level: Level
    code: str
    place: Place
    message: str
    value: str | None = None

    @property
    def sort_key(self) -> tuple[str, str, int, str, str]:
        """Order by file (and sheet), then row, then column."""
        place = self.place
        return (place.file, place.sheet or "", place.row or 0, place.column or "", self.code)

    def to_dict(self) -> dict[str, Any]:
        """Give the fault as plain data, as ``--json`` shows it."""
        return {
            "level": self.level,
            "code": self.code,
            "file": self.place.file,
            "row": self.place.row,
            "column": self.place.column,
            "message": self.message,
        }


def error(code: str, place: Place, *, value: str | None = None, **details: object) -> Fault:
    """Make an error fault; its sentence is ``fault.CODE`` of the words, filled with details."""
    return _fault("error", code, place, value, details)


def warning(code: str, place: Place, *, value: str | None = None, **details: object) -> Fault:
    """Make a warning fault; as `error`, but it never stops a command."""
    return _fault("warning", code, place, value, details)


def _fault(
    level: Level, code: str, place: Place, value: str | None, details: dict[str, object]
) -> Fault:
    sentence = words.say(f"fault.{code}", value=value, **details)
    return Fault(level, code, place, f"{place}: {sentence}", value)


def sort_faults(faults: Iterable[Fault]) -> tuple[Fault, ...]:
    """Sort faults by file and row, each once."""
    return tuple(sorted(dict.fromkeys(faults), key=lambda fault: fault.sort_key))


def has_errors(faults: Iterable[Fault]) -> bool:
    """Tell whether any of the faults is an error."""
    return any(fault.level == "error" for fault in faults)


def nearest(value: str, known: Iterable[str], most: int = 3) -> list[str]:
    """Give the known names that look most like a value, best first; at least one if any exist.

    >>> nearest("hnad", ["hand", "display", "end"])
    ['hand']
    """
    choices = list(known)
    close = difflib.get_close_matches(value, choices, n=most, cutoff=0.6)
    return close or difflib.get_close_matches(value, choices, n=1, cutoff=0.0)


def accepted(value: str, known: Sequence[str], width: int = 80) -> str:
    """Say what would be accepted: all of it if it fits in a line, else the nearest names."""
    listing = " ".join(known)
    if len(listing) <= width:
        return words.say("accepted.all", names=listing)
    return words.say("accepted.nearest", names=", ".join(nearest(value, known)))


class NervureError(Exception):
    """Base of everything that Nervure raises on purpose."""


class FaultyProject(NervureError, ValueError):
    """A project cannot be used because of error faults; carries all of them."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = sort_faults(faults)
        super().__init__("\n".join(fault.message for fault in self.faults))


class BadUsage(NervureError, ValueError):
    """A call or command that cannot be understood; the message says what would be accepted."""


class UnknownName(BadUsage, LookupError):
    """A name that does not exist; carries the value and the known names."""

    def __init__(self, kind: str, value: str, known: Sequence[str]) -> None:
        self.kind, self.value, self.known = kind, value, tuple(known)
        super().__init__(
            words.say("error.unknown-name", kind=kind, value=value)
            + " "
            + accepted(value, self.known)
        )


class NotPlayedYet(NervureError, NotImplementedError):
    """A rule that the engine does not play; the message names the key and what it does play."""
