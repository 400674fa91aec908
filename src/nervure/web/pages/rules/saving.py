"""Saving game.toml, two hands on it, and the undo of the last save.

What may be written is decided here: a file that no other hand has changed in the same keys,
and no error that was not there before. Everything else is told, and nothing is written.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from threading import RLock

from nervure.errors import Fault
from nervure.project import write_bytes_safely


@dataclass(frozen=True, slots=True)
class Save:
    """One save: the file's name, its bytes before, and the digest that it had afterwards."""

    file: str
    before: bytes
    after: str


class LastSaves:
    """The last save of each project that is open, for as long as the workbench runs."""

    def __init__(self) -> None:
        self._saves: dict[str, Save] = {}
        self._lock = RLock()

    def note(self, project: str, folder: Path, file: str, before: bytes) -> None:
        """Remember a save that has just been made."""
        with self._lock:
            self._saves[project] = Save(file, before, digest_of(folder / file))

    def of(self, project: str) -> Save | None:
        """Give the last save of a project."""
        return self._saves.get(project)

    def undo(self, project: str, folder: Path) -> str:
        """Put the file back as it was before the last save; gives a key of the words.

        ``undone``; ``undo-none``: there is no save; ``undo-gone``: another hand has changed
        the file since, and nothing was written.

        Raises
        ------
        FaultyProject
            The file could not be written.
        """
        with self._lock:
            save = self._saves.get(project)
            if save is None:
                return "undo-none"
            if digest_of(folder / save.file) != save.after:
                return "undo-gone"
            write_bytes_safely(folder / save.file, save.before)
            del self._saves[project]
            return "undone"


def digest_of(file: Path) -> str:
    """Give the SHA-256 of a file, blank if there is none."""
    try:
        return hashlib.sha256(file.read_bytes()).hexdigest()
    except OSError:
        return ""


def new_errors(before: Iterable[Fault], after: Iterable[Fault]) -> list[Fault]:
    """Give the error faults that were not there before; a faulty game may be mended in steps."""
    known = [_about(fault) for fault in before if fault.level == "error"]
    found = []
    for fault in after:
        if fault.level == "error":
            if _about(fault) in known:
                known.remove(_about(fault))
            else:
                found.append(fault)
    return found


def _about(fault: Fault) -> tuple[str, str, str, str]:
    return fault.code, fault.place.file, fault.place.column or "", fault.value or ""


__all__ = ["LastSaves", "Save", "digest_of", "new_errors"]
