"""The sentences that people read, by language: ``words/LANG/AREA.toml``.

Each file holds tables of texts; a text is addressed by its dotted key and filled with
named values: ``say("fault.unknown-id", value="l9", ...)``. A text that another language
lacks is taken from English.
"""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from string import Formatter

FALLBACK = "en"


@cache
def texts(language: str = FALLBACK) -> dict[str, str]:
    """Give all texts of a language by dotted key, completed from English."""
    found = {} if language == FALLBACK else dict(texts(FALLBACK))
    folder = resources.files(__name__) / language
    if folder.is_dir():
        for file in sorted(folder.iterdir(), key=lambda entry: entry.name):
            if file.name.endswith(".toml"):
                _flatten(tomllib.loads(file.read_text("utf-8")), "", found)
    return found


@cache
def languages() -> tuple[str, ...]:
    """Give the languages that texts stand in, English first."""
    folders = [entry.name for entry in resources.files(__name__).iterdir() if entry.is_dir()]
    own = [name for name in sorted(folders) if name.isalpha() and name != FALLBACK]
    return (FALLBACK, *own)


def fields_of(text: str) -> frozenset[str] | None:
    """Give the names of the values that a text asks for, None if it cannot be filled safely.

    >>> sorted(fields_of("{copy} of {copies}")), fields_of("{copy.real}"), fields_of("{")
    (['copies', 'copy'], None, None)
    """
    names = set()
    try:
        for _, name, spec, conversion in Formatter().parse(text):
            if name is None:
                continue
            if not name.isidentifier() or spec or conversion:
                return None
            names.add(name)
    except ValueError:
        return None
    return frozenset(names)


def _flatten(table: dict[str, object], prefix: str, into: dict[str, str]) -> None:
    for key, value in table.items():
        if isinstance(value, dict):
            _flatten(value, f"{prefix}{key}.", into)
        else:
            into[f"{prefix}{key}"] = str(value)


def say(key: str, language: str = FALLBACK, /, **values: object) -> str:
    """Give the text of a key, filled with values.

    Raises
    ------
    KeyError
        No such text, or the text asks for a value that was not given: a mistake in
        the program, never of the user.

    Examples
    --------
    >>> say("place.row", row=14)
    'row 14'
    """
    return texts(language)[key].format(**values)


def has(key: str, language: str = FALLBACK, /) -> bool:
    """Tell whether a language (or English) has a text for a key."""
    return key in texts(language)
