"""Starts a project from a bundled map; never writes over anything."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import tomlkit

from nervure import words
from nervure.errors import FaultyProject, Place, error
from nervure.maps import map_folder
from nervure.project._settings import GAME_FILE
from nervure.project.columns import DECK, MAP_TABLES
from nervure.project.read import MAP_FOLDER, WORKBOOK, bundled_words
from nervure.project.records import DEFAULT_WORDS
from nervure.project.tables import Table
from nervure.project.writing import table_bytes, write_bytes_safely


@dataclass(frozen=True, slots=True)
class NewProject:
    """A project just started: its folder, the files written, and the work left to do.

    ``files`` are relative to ``project``, with ``/`` between folders.
    """

    project: Path
    files: tuple[str, ...]
    to_do: tuple[str, ...]


def start_from_map(directory: Path, map_name: str) -> NewProject:
    """Start a project from a bundled map: its tables, a commented game.toml, an empty deck.csv.

    Raises
    ------
    UnknownName
        There is no such map; names those that there are.
    FaultyProject
        One of the files is there already, or cannot be written. Then none is written.
    """
    source = map_folder(map_name)
    files = {
        f"{MAP_FOLDER}/{table}.csv": (source / f"{table}.csv").read_bytes()
        for table in MAP_TABLES
        if (source / f"{table}.csv").is_file()
    }
    directory = Path(directory)
    files = {
        GAME_FILE: game_file(title_of(directory), bundled_words(map_name)),
        "deck.csv": empty_deck(),
        **files,
    }
    to_do = tuple(words.say(f"to-do.{key}") for key in ("title", "deck", "check"))
    return NewProject(directory, write_new_files(directory, files), to_do)


def title_of(directory: Path) -> str:
    """Give a title made of a folder's name.

    >>> title_of(Path("strings-of-the-leg"))
    'Strings of the leg'
    """
    name = " ".join(directory.resolve().name.replace("_", " ").replace("-", " ").split())
    return (name[:1].upper() + name[1:]) or words.say("new.title")


def game_file(title: str, own_words: Mapping[str, str]) -> bytes:
    """Give a game.toml with comments, for a map in the same folder."""
    chosen = "\n".join(
        f"{key} = {tomlkit.item(text).as_string()}"
        for key, text in own_words.items()
        if key in DEFAULT_WORDS
    )
    text = words.say(
        "new.game-file",
        title=tomlkit.item(title).as_string(),
        words="\n[words]\n" + chosen + "\n" if chosen else "",
    )
    return text.encode("utf-8")


def empty_deck() -> bytes:
    """Give a deck.csv that holds its header alone: every card by default."""
    return table_bytes(Table(DECK.column_names, ()))


def write_new_files(directory: Path, files: Mapping[str, bytes]) -> tuple[str, ...]:
    """Write files that must all be new; gives their names.

    Raises
    ------
    FaultyProject
        One is there already, or cannot be written. Then none is left behind.
    """
    directory = Path(directory)
    if directory.is_file():
        raise FaultyProject([error("is-file", Place(directory.name))])
    for name in (*files, MAP_FOLDER, WORKBOOK):
        if (directory / name).exists() or (directory / name).is_symlink():
            raise FaultyProject([error("already-there", Place(name))])
    made: list[Path] = []
    try:
        for folder in _missing_folders(directory, files):
            folder.mkdir()
            made.append(folder)
        for name, data in files.items():
            write_bytes_safely(directory / name, data, keep_backup=False)
            made.append(directory / name)
    except (OSError, FaultyProject) as problem:
        for path in reversed(made):
            path.rmdir() if path.is_dir() else path.unlink()
        if isinstance(problem, FaultyProject):
            raise
        reason = problem.strerror or str(problem)
        fault = error("not-written", Place(directory.name), reason=reason)
        raise FaultyProject([fault]) from problem
    return tuple(files)


def _missing_folders(directory: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Give the folders to be made, the outermost first."""
    wanted = {directory, *((directory / name).parent for name in files)}
    wanted |= {parent for folder in wanted for parent in folder.parents}
    return sorted((folder for folder in wanted if not folder.exists()), key=lambda p: len(p.parts))
