"""game.toml as its author wrote it, edited key by key: comments, order and spacing stay.

Comes in: the text of the file, and new values by dotted key. Goes out: the text in which
nothing else has changed, which is proved by reading both before it is given.
"""

from __future__ import annotations

import copy
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.container import Container
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Array, SingleKey, Table

from nervure import words
from nervure.errors import BadUsage, Fault, FaultyProject, Place
from nervure.project._settings import GAME_FILE, parse_toml
from nervure.project._text import Encoding, read_text
from nervure.project.writing import write_bytes_safely

BONUS = "bonus"
LONG_LIST = 6  # a new list with more names stands on several lines


@dataclass(frozen=True, slots=True)
class GameFile:
    """The text of a game.toml; line ends are as in the file.

    ``data`` is what it says, as plain data; ``encoding`` how it is written.
    """

    text: str
    data: Mapping[str, Any]
    encoding: Encoding = "utf-8"

    @property
    def bytes(self) -> bytes:
        """The file's bytes; letters that Windows-1252 lacks make it UTF-8."""
        try:
            return self.text.encode(self.encoding)
        except UnicodeEncodeError:
            return self.text.encode("utf-8")

    @property
    def digest(self) -> str:
        """SHA-256 of the bytes, in hexadecimal digits."""
        return hashlib.sha256(self.bytes).hexdigest()

    def value(self, key: str) -> Any:
        """Give what stands at a dotted key (``rules.hand``, ``bonus.ID``); None: nothing."""
        return _value(self.data, key)

    def edited(self, changes: Mapping[str, Any]) -> GameFile:
        """Give the file with other values at some keys.

        Parameters
        ----------
        changes
            ``TABLE.KEY`` or ``bonus.ID`` (a whole bonus) -> plain data; None takes it out.

        Raises
        ------
        BadUsage
            The file is written in a way in which this cannot be done without touching
            something else.
        """
        try:
            wanted = _with(self.data, changes)
            document = tomlkit.parse(self.text)
            for key, value in changes.items():
                _put(document, key, value)
            text = tomlkit.dumps(document)
            if "\r\n" in self.text:
                text = text.replace("\r\n", "\n").replace("\n", "\r\n")
            found: list[Fault] = []
            data = parse_toml(text, Place(GAME_FILE), found)
        except (TOMLKitError, ValueError, TypeError, LookupError, AttributeError) as problem:
            raise BadUsage(words.say("game-file.not-editable")) from problem
        if found or data != wanted:
            raise BadUsage(words.say("game-file.not-editable"))
        return GameFile(text, wanted, self.encoding)

    def write(self, folder: Path) -> None:
        """Put it into a project folder; the old one stays as game.toml.bak.

        Raises
        ------
        FaultyProject
            The file could not be written; what was there is unchanged.
        """
        write_bytes_safely(Path(folder) / GAME_FILE, self.bytes)


def read_game_file(folder: Path) -> GameFile:
    """Give the game.toml of a project folder.

    Raises
    ------
    FaultyProject
        There is none, or it cannot be understood. Carries the faults.
    """
    folder, place = Path(folder), Place(GAME_FILE)
    faults: list[Fault] = []
    text = read_text(folder / GAME_FILE, place, folder, faults)
    data = None if text is None else parse_toml(text.text, place, faults)
    if text is None or data is None:
        raise FaultyProject(faults)
    return GameFile(text.text, data, text.encoding)


def _value(data: Mapping[str, Any], key: str) -> Any:
    table, _, name = key.partition(".")
    held = data.get(table)
    if table == BONUS:
        return next((one for one in _bonuses(held) if one.get("id") == name), None)
    return held.get(name) if isinstance(held, Mapping) else None


def _bonuses(held: object) -> list[dict[str, Any]]:
    return [one for one in held if isinstance(one, dict)] if isinstance(held, list) else []


def _with(data: Mapping[str, Any], changes: Mapping[str, Any]) -> dict[str, Any]:
    """Give the data with the changes laid upon it."""
    wanted = copy.deepcopy(dict(data))
    for key, value in changes.items():
        table, _, name = key.partition(".")
        if table == BONUS:
            held = wanted.setdefault(BONUS, [])
            place = next((i for i, one in enumerate(held) if one.get("id") == name), len(held))
            held[place : place + 1] = [] if value is None else [copy.deepcopy(value)]
            if not held:
                del wanted[BONUS]
        elif value is None:
            wanted.get(table, {}).pop(name, None)
        else:
            wanted.setdefault(table, {})[name] = copy.deepcopy(value)
    return wanted


def _put(document: tomlkit.TOMLDocument, key: str, value: Any) -> None:
    table, _, name = key.partition(".")
    if table == BONUS:
        _put_bonus(document, name, value)
        return
    if table not in document:
        if value is None:
            return
        document[table] = tomlkit.table()
    home: Any = document[table]
    old = home.get(name)
    if value is None:
        if name in home:
            del home[name]
    elif isinstance(old, Array) and _is_names(value) and _is_names(old.unwrap()):
        _change_names(old, value)
    elif isinstance(old, Table) and isinstance(value, Mapping):
        for entry in [entry for entry in old if entry not in value]:
            del old[entry]
        for entry, item in value.items():
            old[entry] = item
    elif old is not None and not isinstance(old, Table):
        home[name] = _item(value)
    else:
        if old is not None:
            del home[name]
        _add(home, name, _item(value))


def _item(value: Any) -> Any:
    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        table.update(value)
        return table
    item = tomlkit.item(value)
    if isinstance(item, Array) and len(value) > LONG_LIST:
        item.multiline(True)
    return item


def _is_names(value: object) -> bool:
    return isinstance(value, list) and all(isinstance(one, str) for one in value)


def _change_names(array: Array, wanted: list[str]) -> None:
    """Take names out of a list and add others behind, so that its layout and notes stay."""
    kept = [name for name in array.unwrap() if name in wanted]
    if wanted[: len(kept)] != kept or len(set(kept)) < len(kept):
        # The order is another one: the list is written anew.
        array.clear()
        array.extend(wanted)
        return
    for name in [name for name in array.unwrap() if name not in wanted]:
        _keep_note(array, name)
        array.remove(name)
    for name in wanted[len(kept) :]:
        array.append(name)


def _keep_note(array: Array, name: str) -> None:
    """Leave a note that stands behind several names with the one before.

    A note behind a name that has the line for itself is about that name, and goes with it.
    tomlkit has no public call for this; the proof in `edited` guards it.
    """
    groups = [group for group in array._value if group.value is not None]
    place = next(i for i, group in enumerate(groups) if str(group.value) == name)
    group = groups[place]
    is_first = place == 0 or "\n" in (group.indent.as_string() if group.indent else "")
    if group.comment is not None and not is_first and groups[place - 1].comment is None:
        groups[place - 1].comment = group.comment


def _add(home: Any, name: str, item: Any) -> None:
    """Put a new key behind the last one, before notes that belong to what follows."""
    container = home.value if isinstance(home, Table) else None
    keys = [
        key
        for key, held in (container.body if isinstance(container, Container) else ())
        if key is not None and not isinstance(held, (Table, AoT))
    ]
    if isinstance(container, Container) and keys and not keys[-1].is_dotted():
        # No public call of tomlkit puts a key at a place; the proof in `edited` guards this.
        container._insert_after(keys[-1], SingleKey(name), item)
    else:
        home[name] = item


def _put_bonus(document: tomlkit.TOMLDocument, id: str, value: Any) -> None:
    held: Any = document.get(BONUS)
    if held is None:
        if value is not None:
            document[BONUS] = tomlkit.aot()
            document[BONUS].append(_bonus_table(value))
        return
    place = next((i for i, one in enumerate(held) if one.get("id") == id), None)
    if value is None:
        if place is not None:
            del held[place]
        if len(held) == 0:
            del document[BONUS]
    elif place is None:
        held.append(_bonus_table(value) if isinstance(held, AoT) else _item(value))
    else:
        for key in [key for key in held[place] if key not in value]:
            del held[place][key]
        for key, item in value.items():
            if key not in held[place]:
                _add(held[place], key, tomlkit.item(item))
            elif held[place][key] != item:
                held[place][key] = tomlkit.item(item)


def _bonus_table(value: Mapping[str, Any]) -> Table:
    table = tomlkit.table()
    for key, item in value.items():
        table[key] = item
    return table
