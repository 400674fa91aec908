"""The projects that are open, each read again as soon as a file of it changes."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from functools import cached_property
from pathlib import Path
from threading import RLock
from typing import Any

from nervure import anatomy as anatomies
from nervure import api, words
from nervure.errors import Fault, UnknownName, sort_faults
from nervure.project import Folder

SKIPPED = ("out", "__pycache__")
FILES_LOOKED_AT = 5000


class Reading:
    """A project as its files stand at one moment; everything is worked out once, on asking."""

    def __init__(self, id: str, path: Path, variants: tuple[str, ...] | None = None) -> None:
        self.id, self.path, self.variants_asked = id, path, variants
        self.project = api.open(path, variants)
        self.lock = RLock()
        self.worked_out: dict[str, Any] = {}

    @cached_property
    def folder(self) -> Folder:
        """The records of the folder."""
        return self.project.folder

    @property
    def title(self) -> str:
        """What people call it."""
        return self.folder.title

    @cached_property
    def anatomy(self) -> anatomies.Anatomy:
        """The map as far as it can be proved, also where it has faults."""
        return anatomies.build(self.folder.map, self.project.variants)

    @cached_property
    def map_faults(self) -> tuple[Fault, ...]:
        """Faults of the map's tables and of what they say."""
        own = [fault for fault in self.folder.faults if fault.place.file.startswith("map")]
        return sort_faults([*own, *anatomies.map_faults(self.folder.map, self.project.variants)])

    @cached_property
    def evidence(self) -> anatomies.Evidence:
        """What sources say beside what the map asserts."""
        return anatomies.evidence(self.anatomy)


class OpenProject:
    """A folder on the shelf."""

    def __init__(self, id: str, path: Path) -> None:
        self.id, self.path = id, path
        self._lock = RLock()
        self._seen: tuple[object, ...] = ()
        self._readings: dict[tuple[str, ...] | None, Reading] = {}

    def read(self, variants: Iterable[str] | None = None) -> Reading:
        """Give the project as it stands now, with the project's own or other variants.

        Raises
        ------
        FaultyProject
            Nothing in the folder can be read.
        UnknownName
            There is no such variant.
        """
        wanted = None if variants is None else tuple(variants)
        with self._lock:
            seen = tuple(_marks(self.path))
            if seen != self._seen:
                self._readings, self._seen = {}, seen
            if wanted not in self._readings:
                if len(self._readings) > 8:
                    self._readings.clear()
                reading = Reading(self.id, self.path, wanted)
                reading.project.variants  # noqa: B018  refuses unknown ones now
                self._readings[wanted] = reading
            return self._readings[wanted]


def _marks(folder: Path) -> Iterator[tuple[str, int, int]]:
    """Give name, time and size of every file that can change what is read."""
    count = 0
    waiting = [folder]
    while waiting:
        try:
            entries = sorted(waiting.pop().iterdir())
        except OSError:
            continue
        for entry in entries:
            if entry.name.startswith(".") or entry.name in SKIPPED:
                continue
            if entry.is_dir() and not entry.is_symlink():
                waiting.append(entry)
                continue
            try:
                found = entry.stat()
            except OSError:
                continue
            count += 1
            if count > FILES_LOOKED_AT:
                return
            yield str(entry), found.st_mtime_ns, found.st_size


class Shelf:
    """The open projects by id; an id is made of the folder's name."""

    def __init__(self, paths: Iterable[Path] = ()) -> None:
        self._open: dict[str, OpenProject] = {}
        for path in paths:
            self.put(path)

    def put(self, path: Path) -> OpenProject:
        """Open a folder; one that is open already is given again."""
        path = Path(path).resolve()
        for project in self._open.values():
            if project.path == path:
                return project
        base = slug(path.name) or "project"
        id, count = base, 1
        while id in self._open:
            count += 1
            id = f"{base}-{count}"
        self._open[id] = OpenProject(id, path)
        return self._open[id]

    def get(self, id: str) -> OpenProject:
        """Give an open project.

        Raises
        ------
        UnknownName
            None is open under this id.
        """
        if id not in self._open:
            raise UnknownName(words.say("web.kind-project"), id, tuple(self._open))
        return self._open[id]

    def __iter__(self) -> Iterator[OpenProject]:
        return iter(tuple(self._open.values()))

    def __len__(self) -> int:
        return len(self._open)


def slug(name: str) -> str:
    """Make of a name what may stand in an address and name a folder.

    >>> slug("Die Beinnerven, 2. Fassung"), slug("../..")
    ('die-beinnerven-2-fassung', '')
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:60].strip("-")
