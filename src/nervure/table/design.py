"""The design of a table: its own copy of a project's files, so that later edits change nothing.

A design is JSON text: the files of the folder that decide the game, word for word, with the
bundled map (where the project names one) put in as files of its own. The same text gives the
same game, whatever becomes of the project or of the map that Nervure brings along.
"""

from __future__ import annotations

import base64
import hashlib
import json
import tempfile
from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path, PurePosixPath

import tomlkit

from nervure import words
from nervure.errors import BadUsage, FaultyProject, has_errors
from nervure.game import Game, Tables, compile_game, read_game
from nervure.maps import map_folder
from nervure.project import read_folder, read_game_file

FORMAT = 1
GAME_FILE, MAP_FOLDER, WORKBOOK = "game.toml", "map", "map.xlsx"
FILES = (GAME_FILE, "deck.csv", f"{MAP_FOLDER}/*.csv", WORKBOOK, "words/*.toml")
GAMES_KEPT = 8


def copy_design(folder: Path, variants: Iterable[str] | None = None) -> str:
    """Give the design of a project folder as it is now.

    ``variants``: those of the map to take in; None: those that game.toml names.

    Raises
    ------
    FaultyProject
        The game has error faults.
    """
    folder = Path(folder)
    game = read_game(read_folder(folder), variants)
    if has_errors(game.faults):
        raise FaultyProject(fault for fault in game.faults if fault.level == "error")
    held = {
        str(PurePosixPath(path.relative_to(folder))): path.read_bytes()
        for pattern in FILES
        for path in sorted(folder.glob(pattern))
    }
    text = read_game_file(folder).text
    if game.folder.map_origin == "bundled":
        text = _with_own_map(text, game.folder.words)
        for path in sorted(map_folder(game.folder.map.name).glob("*.csv")):
            held[f"{MAP_FOLDER}/{path.name}"] = path.read_bytes()
    held[GAME_FILE] = text.encode("utf-8")
    files, packed = {}, {}
    for name, content in held.items():
        try:
            files[name] = content.decode("utf-8")
        except UnicodeDecodeError:  # a workbook, or a table of an older spreadsheet
            packed[name] = base64.b64encode(content).decode("ascii")
    design = {
        "format": FORMAT,
        "variants": list(game.anatomy.variants),
        "files": files,
        "packed": packed,
    }
    text = json.dumps(design, sort_keys=True, ensure_ascii=False)
    assert game_of(text).version == game.version, "the copy is the same design"
    return text


def _with_own_map(text: str, spoken: Mapping[str, str]) -> str:
    """Give game.toml for a folder that holds the map itself, and says the map's words."""
    document = tomlkit.parse(text)
    del document["map"]["name"]
    said = document.setdefault("words", tomlkit.table())
    for key, word in spoken.items():
        said.setdefault(key, word)
    return tomlkit.dumps(document)


def design_digest(design: str) -> str:
    """Give the SHA-256 of a design's text as hexadecimal digits."""
    return hashlib.sha256(design.encode("utf-8")).hexdigest()


@lru_cache(maxsize=GAMES_KEPT)
def game_of(design: str) -> Game:
    """Give the game of a design.

    Raises
    ------
    BadUsage
        The text is no design, or of another format.
    """
    try:
        data = json.loads(design)
        if data["format"] != FORMAT:
            raise ValueError(data["format"])
        held = {name: text.encode("utf-8") for name, text in data["files"].items()}
        held |= {name: base64.b64decode(text) for name, text in data["packed"].items()}
        variants = tuple(data["variants"])
    except (ValueError, KeyError, TypeError, AttributeError) as problem:
        raise BadUsage(words.say("table.design-unreadable", format=FORMAT)) from problem
    with tempfile.TemporaryDirectory(prefix="nervure-table-") as name:
        home = Path(name)
        for file, content in held.items():
            path = (home / file).resolve()
            if not path.is_relative_to(home.resolve()):
                raise BadUsage(words.say("table.design-unreadable", format=FORMAT))
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        return read_game(read_folder(home), variants)


@lru_cache(maxsize=GAMES_KEPT)
def tables_of(design: str, seats: int) -> Tables:
    """Give the engine's tables of a design at a number of seats.

    Raises
    ------
    FaultyProject, NotPlayedYet, BadUsage
        As `nervure.game.compile_game`, and the number of seats is not the game's.
    """
    game = game_of(design)
    if seats not in game.rules.table_sizes:
        sizes = game.rules.table_sizes
        raise BadUsage(words.say("table.seats", seats=seats, low=sizes[0], high=sizes[-1]))
    return compile_game(game, seats)
