"""``words/LANG.toml``: the names of a map and the sentences of its cards in another language.

A translation changes what people read, never what is true: ids, links and rules stay.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from nervure import words
from nervure.errors import Fault, Place, UnknownName, error, nearest
from nervure.project._cells import Known, what_is_accepted
from nervure.project._extras import entries, folder_within
from nervure.project._settings import parse_toml
from nervure.project._text import read_text
from nervure.project.records import DEFAULT_WORDS, Folder, Structure, Target, Translation

FOLDER = "words"
TABLES = ("title", "tiers", "structures", "targets", "bonuses", "words", "texts")
STRUCTURE_FIELDS = ("name", "short")
TARGET_FIELDS = ("name", "short", "test")
Row = TypeVar("Row", Structure, Target)
_LANGUAGE = re.compile(r"[a-z]{2,3}(-[A-Za-z0-9]{2,8})*")


def languages_of(folder: Folder) -> tuple[str, ...]:
    """Give the languages that a project can be printed in, its own first."""
    return tuple(dict.fromkeys((folder.language, *folder.translations, *words.languages())))


def translated(folder: Folder, language: str) -> Folder:
    """Give a project with its names and sentences in another language.

    What a translation leaves out stays as it is, or is said in English.

    Raises
    ------
    UnknownName
        There are neither texts nor a translation in that language.
    """
    known = languages_of(folder)
    if language not in known:
        raise UnknownName(words.say("kind.language"), language, known)
    if language == folder.language and language not in folder.translations:
        return folder
    found = folder.translations.get(language, Translation(language))
    given = {
        key: words.say(f"map-word.{key}", language)
        for key in DEFAULT_WORDS
        if folder.words[key] == DEFAULT_WORDS[key]
    }
    settings = dict(folder.settings)
    settings["bonus"] = [
        {**bonus, "says": found.bonuses.get(str(bonus.get("id")), bonus.get("says", ""))}
        if isinstance(bonus, dict)
        else bonus
        for bonus in _list(folder.settings.get("bonus"))
    ]
    return replace(
        folder,
        title=found.title or folder.title,
        language=language,
        map=replace(
            folder.map,
            tiers=tuple(
                replace(tier, name=found.tiers.get(tier.id, tier.name))
                for tier in folder.map.tiers
            ),
            structures=tuple(_renamed(row, found.structures) for row in folder.map.structures),
            targets=tuple(_renamed(row, found.targets) for row in folder.map.targets),
        ),
        words={**folder.words, **given, **found.words},
        settings=settings,
        sentences=found.texts,
    )


def read_translations(root: Path, known: Known, faults: list[Fault]) -> dict[str, Translation]:
    """Give what ``words/*.toml`` says, by language; {} if there is none."""
    folder = folder_within(root, FOLDER, faults)
    translations = {}
    for path in entries(folder) if folder else []:
        if path.suffix != ".toml":
            continue
        place = Place(f"{FOLDER}/{path.name}")
        if _LANGUAGE.fullmatch(path.stem) is None:
            faults.append(error("no-language", place, value=path.stem))
            continue
        text = read_text(path, place, root, faults)
        data = parse_toml(text.text, place, faults) if text is not None else None
        if data is not None:
            translations[path.stem] = _Reader(path.stem, place, known, faults).read(data)
    return translations


class _Reader:
    """Reads one file; what is wrong in it becomes faults, the rest is kept."""

    def __init__(self, language: str, place: Place, known: Known, faults: list[Fault]) -> None:
        self.language, self.place, self.known, self.faults = language, place, known, faults

    def read(self, data: Mapping[str, Any]) -> Translation:
        for key in data:
            if key not in TABLES:
                place = self.place.at(key)
                closest = nearest(key.lower(), list(TABLES), most=1)[0]
                self.faults.append(error("unknown-key", place, value=key, nearest=closest))
        title = data.get("title", "")
        if not isinstance(title, str):
            title = self.unfit("title", title, "text")
        return Translation(
            self.language,
            title.strip(),
            tiers=self.texts(data, "tiers", list(self.known.of("tier"))),
            structures=self.records(data, "structures", "structure", STRUCTURE_FIELDS),
            targets=self.records(data, "targets", "target", TARGET_FIELDS),
            bonuses=self.texts(data, "bonuses", None),
            words=self.texts(data, "words", list(DEFAULT_WORDS)),
            texts=self.sentences(data),
        )

    def table(self, data: Mapping[str, Any], name: str) -> Mapping[str, Any]:
        value = data.get(name, {})
        if isinstance(value, dict):
            return value
        self.unfit(name, value, "table")
        return {}

    def unfit(self, key: str, value: object, kind: str) -> str:
        place, shown = self.place.at(key), str(value).replace("\n", " ")[:40]
        accepts = words.say(f"accepts.{kind}", key=key)
        self.faults.append(error("key-kind", place, value=shown, accepted=accepts))
        return ""

    def texts(self, data: Mapping[str, Any], name: str, known: list[str] | None) -> dict[str, str]:
        kept = {}
        for id, text in self.table(data, name).items():
            key = f"{name}.{id}"
            if known is not None and not self.is_known(key, id, known):
                continue
            if isinstance(text, str) and text.strip():
                kept[id] = text.strip()
            else:
                self.unfit(key, text, "text")
        return kept

    def is_known(self, key: str, id: str, known: list[str]) -> bool:
        if id in known:
            return True
        accepts = what_is_accepted(id, known)
        self.faults.append(error("unknown-word", self.place.at(key), value=id, accepted=accepts))
        return False

    def records(
        self, data: Mapping[str, Any], name: str, kind: Any, fields: tuple[str, ...]
    ) -> dict[str, Mapping[str, str]]:
        kept: dict[str, Mapping[str, str]] = {}
        for id, value in self.table(data, name).items():
            if kind not in self.known.unsure and not self.is_known(
                f"{name}.{id}", id, list(self.known.of(kind))
            ):
                continue
            given = value if isinstance(value, dict) else {"name": value}
            fit = {}
            for column, text in given.items():
                key = f"{name}.{id}.{column}" if isinstance(value, dict) else f"{name}.{id}"
                if not self.is_known(key, column, list(fields)):
                    continue
                if isinstance(text, str) and text.strip():
                    fit[column] = text.strip()
                else:
                    self.unfit(key, text, "text")
            kept[id] = fit
        return kept

    def sentences(self, data: Mapping[str, Any]) -> dict[str, str]:
        """Give the texts whose key exists and whose values are those of the English text."""
        kept, english = {}, words.texts()
        for key, text in self.texts(data, "texts", None).items():
            if not self.is_known(f"texts.{key}", key, list(english)):
                continue
            wanted, asked = words.fields_of(english[key]) or frozenset(), words.fields_of(text)
            if asked is None or not asked <= wanted:
                names = ", ".join(f"{{{name}}}" for name in sorted(wanted)) or words.say(
                    "accepts.none"
                )
                place = self.place.at(f"texts.{key}")
                self.faults.append(error("bad-values", place, value=text[:60], accepted=names))
            else:
                kept[key] = text
        return kept


def _renamed(row: Row, names: Mapping[str, Mapping[str, str]]) -> Row:
    given: Mapping[str, Any] = names.get(row.id, {})
    return replace(row, **given)


def _list(value: object) -> list[Any]:
    return list(value) if isinstance(value, (list, tuple)) else []
