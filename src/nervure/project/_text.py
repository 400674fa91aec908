"""Bytes of one file -> text, within the limits; every failure is a fault, never an exception."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from nervure import words
from nervure.errors import Fault, Place, error, warning

MAX_FILE_BYTES = 20_000_000
MAX_CELL_CHARACTERS = 1_000_000

Encoding = Literal["utf-8", "utf-8-sig", "cp1252"]

_UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")
# Two or more bytes that can only be one character of UTF-8.
_UTF8_PAIR = re.compile(rb"[\xc3-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}")
_ACCENTED = re.compile(r"[^\s,;\"]*[^\W\x00-\x7f][^\s,;\"]*")
_BEYOND_ASCII = re.compile(r"[^\s,;\"]*[^\x00-\x7f][^\s,;\"]*")


@dataclass(frozen=True, slots=True)
class Text:
    """A decoded file, without its byte-order mark."""

    text: str
    encoding: Encoding


def in_megabytes(size: int) -> str:
    """Give a size in megabytes, rounded up so that one past the limit shows as such.

    >>> in_megabytes(20_000_001)
    '20.1'
    """
    return f"{-(-size // 100_000) / 10:.1f}"


def read_bytes(path: Path, place: Place, root: Path, faults: list[Fault]) -> bytes | None:
    """Give the bytes of a file that is known to exist, or None and a fault."""
    try:
        if not path.resolve().is_relative_to(root.resolve()):
            faults.append(error("outside-folder", place))
            return None
        if path.is_dir():
            faults.append(error("is-folder", place))
            return None
        size = path.stat().st_size
        if size > MAX_FILE_BYTES:
            faults.append(error("file-too-large", place, value=in_megabytes(size)))
            return None
        if not path.is_file():  # a pipe or a device would never end
            faults.append(error("unreadable", place, reason=words.say("reason.no-file")))
            return None
        return path.read_bytes()
    except (OSError, RuntimeError) as problem:  # RuntimeError: a ring of symbolic links
        reason = getattr(problem, "strerror", None) or str(problem)
        faults.append(error("unreadable", place, reason=reason))
        return None


def decode(data: bytes, place: Place, faults: list[Fault]) -> Text | None:
    """Give the text of UTF-8, else Windows-1252 with a warning; None and a fault if neither."""
    if data.startswith(_UTF16_MARKS):
        faults.append(error("encoding-utf16", place))
        return None
    if b"\x00" in data:
        line = data.count(b"\n", 0, data.index(b"\x00")) + 1
        faults.append(error("nul-byte", place, line=line))
        return None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        return _decode_western(data, problem, place, faults)
    return Text(text, "utf-8-sig" if data.startswith(b"\xef\xbb\xbf") else "utf-8")


def _decode_western(
    data: bytes, problem: UnicodeDecodeError, place: Place, faults: list[Fault]
) -> Text | None:
    line = data.count(b"\n", 0, problem.start) + 1
    if data.startswith(b"\xef\xbb\xbf") or _UTF8_PAIR.search(data):
        faults.append(error("encoding-mixed", place, line=line))
        return None
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        faults.append(error("encoding-broken", place, line=line))
        return None
    word = _ACCENTED.search(text) or _BEYOND_ASCII.search(text)
    quoted = word.group()[:40] if word else ""
    faults.append(warning("encoding-guessed", place, value=quoted))
    return Text(text, "cp1252")


def read_text(path: Path, place: Place, root: Path, faults: list[Fault]) -> Text | None:
    """Give the text of a file that is known to exist, or None and a fault."""
    data = read_bytes(path, place, root, faults)
    return None if data is None else decode(data, place, faults)
