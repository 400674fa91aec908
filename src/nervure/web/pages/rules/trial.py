"""What a game would be: the files of a project with some of them edited, read and counted.

Nothing of the project is touched: the files are laid into a folder of their own and read by
the code that reads every project. Trials are kept by the digest of all that goes into them,
and made on two threads, so that a page can go on while a long one is worked out.
"""

from __future__ import annotations

import hashlib
import tempfile
from collections import OrderedDict
from collections.abc import Mapping
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as NotYet
from dataclasses import dataclass, replace
from pathlib import Path
from threading import RLock

from nervure.errors import Fault, FaultyProject, has_errors, sort_faults
from nervure.game import Game, GameCheck, check_game, read_game
from nervure.project import Folder, read_folder

GAME, DECK = "game.toml", "deck.csv"
KEPT = 24  # trials held
WAITING = 4  # trials that may wait for a thread; the oldest one gives way


@dataclass(frozen=True, slots=True)
class Trial:
    """A game as it would be; ``check``: its counts, None while there are error faults."""

    game: Game | None
    check: GameCheck | None
    faults: tuple[Fault, ...]


class Scales:
    """Makes trials, and remembers those it has made."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(2, thread_name_prefix="trial")
        self._kept: OrderedDict[str, Future[Trial]] = OrderedDict()
        self._lock = RLock()

    def weigh(self, folder: Folder, edited: Mapping[str, bytes], patience: float) -> Trial | None:
        """Give the game of a folder with some of its files edited.

        Parameters
        ----------
        folder
            As read; pictures, texts and paper games are taken from it.
        edited
            ``game.toml`` or ``deck.csv`` -> its bytes; empty bytes: no such file.
        patience
            Seconds to wait.

        Returns
        -------
        None if it takes longer; ask again, it is being worked out.
        """
        files = _files_of(folder.path) | dict(edited)
        digest = hashlib.sha256(str(folder.path).encode())
        for name in sorted(files):
            digest.update(f"\0{name}\0{len(files[name])}\0".encode() + files[name])
        future = self._future(digest.hexdigest(), folder, files)
        try:
            return future.result(patience)
        except (NotYet, CancelledError):
            return None

    def _future(self, key: str, folder: Folder, files: Mapping[str, bytes]) -> Future[Trial]:
        with self._lock:
            found = self._kept.get(key)
            if found is None or found.cancelled() or (found.done() and found.exception()):
                waiting = [
                    one for one in self._kept.values() if not one.done() and not one.running()
                ]
                if len(waiting) >= WAITING:
                    waiting[0].cancel()
                found = self._kept[key] = self._pool.submit(trial_of, folder, files)
            self._kept.move_to_end(key)
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
            return found


def trial_of(folder: Folder, files: Mapping[str, bytes]) -> Trial:
    """Read and count the game that these files make."""
    with tempfile.TemporaryDirectory() as place:
        copy = Path(place) / (folder.path.resolve().name or "project")
        for name, data in files.items():
            file = copy / name
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(data)
        try:
            read = read_folder(copy)
        except FaultyProject as problem:
            return Trial(None, None, problem.faults)
    # What was not laid out is as it was read: pictures, texts, games on paper.
    elsewhere = [fault for fault in folder.faults if not _is_laid_out(fault.place.file)]
    own = [fault for fault in read.faults if _is_laid_out(fault.place.file)]
    whole = replace(
        read,
        path=folder.path,
        art=folder.art,
        texts=folder.texts,
        plays=folder.plays,
        faults=sort_faults([*own, *elsewhere]),
    )
    game = read_game(whole)
    check = None if has_errors(game.faults) else check_game(game)
    return Trial(game, check, game.faults)


def _is_laid_out(file: str) -> bool:
    return file in (GAME, DECK) or file.startswith("map")


def _files_of(path: Path) -> dict[str, bytes]:
    """Give those files of a project that decide its game."""
    wanted = [GAME, DECK, "map.xlsx"]
    if (path / "map").is_dir() and not (path / "map").is_symlink():
        wanted += [f"map/{file.name}" for file in (path / "map").glob("*.csv")]
    found = {}
    for name in wanted:
        file = path / name
        if file.is_file() and file.resolve().is_relative_to(path.resolve()):
            found[name] = file.read_bytes()
    return found


__all__ = ["DECK", "GAME", "Scales", "Trial", "trial_of"]
