"""An author's picture for a target card: checked, and put into ``art/`` with its credit.

Comes in: bytes and texts from a form. Goes out: ``art/TARGET.ENDING`` and a row of
``art/credits.csv`` (docs/project-folder.md). The name is the target's, the ending what the
bytes are; nothing that was sent becomes part of a path.
"""

from __future__ import annotations

import tempfile
import zlib
from pathlib import Path

from nervure import words
from nervure.errors import BadUsage, UnknownName
from nervure.press.pictures import MOST_MEGABYTES, BadPictureError, picture_as_svg
from nervure.project import Table, read_table, write_bytes_safely, write_table

CREDITS = "credits.csv"
COLUMNS = ("file", "author", "licence", "changes")
ENDINGS = (".svg", ".png", ".jpg")
FORMULA = ("=", "+", "-", "@")
MOST_PIXELS = 40_000_000
PNG, JPEG = b"\x89PNG\r\n\x1a\n", b"\xff\xd8"


def take_in(
    project: Path,
    target: str,
    known: tuple[str, ...],
    data: bytes,
    credit: tuple[str, str, str],
) -> Path:
    """Put a picture with its credit into a project; an earlier one stays as ``.bak``.

    Parameters
    ----------
    target, known
        Whose picture it is, and the targets that there are.
    credit
        Author, licence, changes.

    Raises
    ------
    UnknownName
        No such target.
    BadUsage
        The picture or the credit is not taken; the message says why.
    FaultyProject
        A file could not be written.
    """
    if target not in known:
        raise UnknownName(words.say("web.cards.kind-target"), target[:60], known)
    author, licence, changes = (_plain(text) for text in credit)
    if not author or not licence:
        raise BadUsage(words.say("web.cards.no-credit"))
    ending = ending_of(data)
    folder = project / "art"
    _refuse_links(project, folder, target)
    folder.mkdir(exist_ok=True)
    credits = _credits(folder)
    file = folder / f"{target}{ending}"
    write_bytes_safely(file, data)
    row = {"file": file.name, "author": author, "licence": licence, "changes": changes}
    write_table(folder / CREDITS, _with_row(credits, target, row))
    for other in ENDINGS:
        old = folder / f"{target}{other}"
        if other != ending and old.is_file():
            old.replace(old.with_name(old.name + ".bak"))
    return file


def _plain(text: str) -> str:
    """Give one line of a credit; refuse what a spreadsheet would take for a formula."""
    found = " ".join(text.split())
    if found.startswith(FORMULA) or any(not letter.isprintable() for letter in found):
        raise BadUsage(words.say("web.cards.no-formula", value=repr(found[:40])))
    return found


def _refuse_links(project: Path, folder: Path, target: str) -> None:
    """Refuse to write through a link that leads out of the project."""
    root = project.resolve()
    for path in (folder, folder / CREDITS, *(folder / f"{target}{end}" for end in ENDINGS)):
        if not path.resolve().is_relative_to(root):
            raise BadUsage(words.say("web.cards.outside", file=path.name))


def ending_of(data: bytes) -> str:
    """Check a picture and give the ending of its kind.

    Raises
    ------
    BadUsage
        Neither SVG, PNG nor JPEG, damaged, too large, or an SVG that runs something or
        points outside itself.
    """
    if len(data) > MOST_MEGABYTES * 1_000_000:
        _refuse("picture-large", most=MOST_MEGABYTES)
    ending = ".png" if data.startswith(PNG) else ".jpg" if data.startswith(JPEG) else ".svg"
    if (ending == ".png" and not _is_whole_png(data)) or (
        ending == ".jpg" and b"\xff\xd9" not in data[-4096:]
    ):
        _refuse("picture-kind")
    with tempfile.TemporaryDirectory() as place:
        copy = Path(place) / f"picture{ending}"
        copy.write_bytes(data)
        try:
            picture_as_svg(copy)
        except BadPictureError as problem:
            _refuse(problem.code, **problem.details)
        except (ValueError, IndexError, OverflowError, ArithmeticError):
            _refuse("picture-kind")
        except Exception as problem:  # struct.error: a header that is cut short
            if type(problem).__module__ != "struct":
                raise
            _refuse("picture-kind")
    return ending


def _refuse(code: str, **details: object) -> None:
    given = details | {"file": words.say("web.cards.the-picture")}
    raise BadUsage(words.say(f"press.refused.{code}", **given))


def _is_whole_png(data: bytes) -> bool:
    """Tell whether every chunk is whole (PNG, third edition, 5.3), and the size is bounded."""
    at = len(PNG)
    names: list[bytes] = []
    while at + 12 <= len(data):
        length = int.from_bytes(data[at : at + 4], "big")
        name, end = data[at + 4 : at + 8], at + 8 + length
        if end + 4 > len(data):
            return False
        if zlib.crc32(data[at + 4 : end]) != int.from_bytes(data[end : end + 4], "big"):
            return False
        if not names and (name != b"IHDR" or not _is_bounded(data[at + 8 : end])):
            return False
        names.append(name)
        at = end + 4
        if name == b"IEND":
            return b"IDAT" in names
    return False


def _is_bounded(header: bytes) -> bool:
    if len(header) != 13:
        return False
    width, height = int.from_bytes(header[:4], "big"), int.from_bytes(header[4:8], "big")
    return 0 < width * height <= MOST_PIXELS


def _credits(folder: Path) -> Table:
    if not (folder / CREDITS).is_file():
        return Table(COLUMNS, ())
    return read_table(folder / CREDITS)


def _with_row(table: Table, target: str, row: dict[str, str]) -> Table:
    """Put a row in the place of the target's earlier one, or at the end."""
    header = table.header
    if any(column not in header for column in ("file", "author", "licence")):
        raise BadUsage(words.say("web.cards.no-columns"))
    if row["changes"] and "changes" not in header:
        header = (*header, "changes")
    written = tuple(row.get(column, "") for column in header)
    names = {f"{target}{ending}" for ending in ENDINGS}
    place = header.index("file")
    rows = [old for old in table.rows if place >= len(old) or old[place].strip() not in names]
    first = next(
        (
            n
            for n, old in enumerate(table.rows)
            if place < len(old) and old[place].strip() in names
        ),
        len(rows),
    )
    rows.insert(first, written)
    return Table(header, tuple(rows), table.style)
