"""What is kept, as records: tables, moves, jobs, edits, and how much of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

JobState = Literal["queued", "running", "stopping", "stopped", "done", "failed"]
OVER: tuple[JobState, ...] = ("stopped", "done", "failed")


@dataclass(frozen=True, slots=True)
class Table:
    """A table of play: its design (as JSON text), seed and settings never change."""

    id: int
    project: str
    design: str
    seed: str
    settings: Mapping[str, Any]
    made: str
    ended: str | None


@dataclass(frozen=True, slots=True)
class Move:
    """One line of a table's log; ``position`` counts from 0 without a gap."""

    position: int
    seat: int
    move: Mapping[str, Any]
    made: str


@dataclass(frozen=True, slots=True)
class Job:
    """One piece of long work.

    ``done`` of ``total`` (0: not known); ``interrupted``: it stopped with the process and
    can go on; ``goes_on``: it has been taken up again; ``message``: why it failed.
    """

    id: int
    project: str
    kind: str
    options: Mapping[str, Any]
    state: JobState
    label: str
    done: int
    total: int
    interrupted: bool
    goes_on: bool
    result: Mapping[str, Any]
    message: str
    made: str
    ended: str | None

    @property
    def is_over(self) -> bool:
        """Whether nothing more happens to it by itself."""
        return self.state in OVER


@dataclass(frozen=True, slots=True)
class Draft:
    """An edit that could not be written to its file, kept until it can."""

    project: str
    file: str
    content: Mapping[str, Any]
    made: str


@dataclass(frozen=True, slots=True)
class Kept:
    """How much is kept of one project."""

    project: str
    tables: int
    moves: int
    jobs: int
    drafts: int
