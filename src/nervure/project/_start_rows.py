"""The table that every teacher has -> muscles, each with its nerves and roots."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from nervure import words
from nervure.errors import Fault, FaultyProject, Place, error
from nervure.project._cells import one_line, to_id
from nervure.project._roots import Roots, parse_roots
from nervure.project._rows import clean
from nervure.project._text import decode, read_bytes
from nervure.project._workbook import parse_workbook
from nervure.project.records import Ids
from nervure.project.tables import Table, parse_table

# How people head the three columns, as `to_id` writes it.
SPELLINGS: Mapping[str, Ids] = {
    "muscle": tuple(
        "muscle muscles muscle-name name-of-muscle target targets musculus muskel muskeln "
        "musculo musculos muscolo muscoli spier spieren organ organs".split()
    ),
    "nerve": tuple(
        "nerve nerves nerve-supply innervation supply supplied-by peripheral-nerve motor-nerve "
        "nerve-name nervus nerv nerven nervio nervios nerf nerfs nervo nervi zenuw through "
        "innervating-nerve artery".split()
    ),
    "roots": tuple(
        "roots root nerve-root nerve-roots spinal-root spinal-roots root-value root-values "
        "segment segments spinal-segment spinal-segments segmental-innervation level levels "
        "spinal-level spinal-levels spinal-nerve spinal-nerves myotome myotomes "
        "wurzel wurzeln segmente raiz raices racine racines radice radici origins".split()
    ),
}
_BRACKETS = re.compile(r"\([^()]*\)|\[[^][]*\]")
_BETWEEN_NERVES = re.compile(r"\s*(?:[;,/+&\n]|\band\b|\bund\b|\bet\b|\by\b)\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Muscle:
    """One row of the teacher's table."""

    row: int
    id: str
    name: str
    nerves: Ids  # as written
    roots: Roots | None
    said: str


def read_muscles(path: Path, to_do: list[str]) -> list[Muscle]:
    """Give the muscles of a table; what could not be taken over is added to ``to_do``.

    Raises
    ------
    FaultyProject
        The table cannot be read, lacks a column or holds no muscle.
    """
    faults: list[Fault] = []
    table = _read(path, faults)
    if table is None:
        raise FaultyProject(faults)
    heads = [to_id(clean(cell)) for cell in table.header]
    at: dict[str, int] = {}
    for role, spellings in SPELLINGS.items():
        found = [name for name in spellings if name in heads]  # the commonest first
        if found:
            at[role] = heads.index(found[0])
        else:
            names = ", ".join(name.replace("-", " ") for name in spellings[:8])
            place = Place(path.name, 1)
            faults.append(error("start-column", place, value=role, accepted=names))
    if len(at) < len(SPELLINGS):
        raise FaultyProject(faults)
    for index, cell in enumerate(table.header):
        if index not in at.values() and clean(cell):
            to_do.append(words.say("to-do.column", name=one_line(cell)))
    muscles = []
    in_segments = any(
        parse_roots(clean(row[at["roots"]])) for row in table.rows if len(row) > at["roots"]
    )
    for number, cells in enumerate(table.rows, start=2):
        row = {role: clean(cells[i]) if i < len(cells) else "" for role, i in at.items()}
        if any(clean(cell) for cell in cells):
            muscles += _muscle(number, row, in_segments, to_do)
    if not muscles:
        raise FaultyProject([error("start-empty", Place(path.name))])
    return muscles


def _read(path: Path, faults: list[Fault]) -> Table | None:
    place = Place(path.name)
    if not path.exists():
        faults.append(error("start-missing", place))
        return None
    data = read_bytes(path, place, path.resolve().parent, faults)
    if data is None:
        return None
    if path.suffix.lower() in (".xlsx", ".xls") or data.startswith(b"PK\x03\x04"):
        sheets = parse_workbook(data, place, faults, fill_merged=True) or {}
        return next(iter(sheets.values()), None)
    text = decode(data, place, faults)
    spellings = [name for role in SPELLINGS.values() for name in role]
    return None if text is None else parse_table(text, place, spellings, faults)


def _muscle(
    number: int, row: Mapping[str, str], in_segments: bool, to_do: list[str]
) -> list[Muscle]:
    name = one_line(row["muscle"])
    if not to_id(name):
        to_do.append(words.say("to-do.no-muscle", row=number))
        return []
    bare = _BRACKETS.sub(" ", row["nerve"])
    nerves = tuple(one_line(part) for part in _BETWEEN_NERVES.split(bare) if to_id(part))
    if not nerves:
        to_do.append(words.say("to-do.no-nerve", row=number, target=name))
    roots = None
    if not row["roots"]:
        to_do.append(words.say("to-do.no-roots", row=number, target=name))
    else:
        roots = parse_roots(row["roots"]) if in_segments else _named_roots(row["roots"])
        if roots is None:
            shown = one_line(row["roots"])
            to_do.append(words.say("to-do.roots", row=number, target=name, value=shown))
    said = words.say(
        "new.note", nerve=one_line(row["nerve"]) or "?", roots=one_line(row["roots"]) or "?"
    )
    if roots and roots.inconstant:
        origins = " ".join(roots.inconstant)
        said += " " + words.say("new.note-inconstant", origins=origins)
        to_do.append(words.say("to-do.inconstant", target=name, origins=origins))
    return [Muscle(number, to_id(name), name, nerves, roots, said)]


def _named_roots(cell: str) -> Roots | None:
    """Give origins that are no spinal segments: names, separated as nerves are."""
    inconstant = {to_id(part.strip("()[]")) for part in _BRACKETS.findall(cell)}
    names = [to_id(part) for part in _BETWEEN_NERVES.split(cell)]
    found = tuple(dict.fromkeys(name for name in names if name))
    return Roots(found, tuple(name for name in found if name in inconstant)) if found else None
