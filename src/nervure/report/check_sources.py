"""Sources side by side: for each disputed target what the map asserts and what each one says."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from nervure.anatomy import Anatomy
from nervure.anatomy.evidence import Evidence
from nervure.project.records import Ids, Reading, Source

Mark = Literal["main", "reaches", "absent"]
Relation = Literal["exactly", "fibres-same", "more", "less", "else", "main-only", "unstated"]


@dataclass(frozen=True, slots=True)
class Book:
    """What several sources say alike: fibres as marks, and how it differs from the map."""

    sources: tuple[Source, ...]
    through: str
    marks: tuple[tuple[str, Mark], ...]
    relation: Relation
    more: tuple[str, ...]
    less: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Assertion:
    """What the map asserts, by structure, with the rows of supplies.csv."""

    through: str
    marks: tuple[tuple[str, Mark], ...]
    rows: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Drawer:
    """One disputed target.

    ``named``: disputed fibre, whether the map asserts it, sources that name it, that state any.
    """

    target: str
    name: str
    named: tuple[tuple[str, bool, int, int], ...]
    is_contradicted: bool
    books: tuple[Book, ...]
    asserted: tuple[Assertion, ...]


def drawers_of(anatomy: Anatomy, evidence: Evidence) -> list[Drawer]:
    """Give a drawer for each disputed target, those that most sources contradict first."""
    contradicted = {row.target for row in evidence.supplies if row.is_contradicted}
    readings: dict[str, list[Reading]] = {}
    for reading in anatomy.map.readings:
        readings.setdefault(reading.target, []).append(reading)
    drawers = [
        _drawer(anatomy, evidence, target, readings.get(target, []), target in contradicted)
        for target in evidence.disputes
    ]
    return sorted(drawers, key=lambda drawer: not drawer.is_contradicted)


def _drawer(
    anatomy: Anatomy, evidence: Evidence, target: str, readings: list[Reading], contradicted: bool
) -> Drawer:
    asserted = _asserted(anatomy, target)
    everything = {fibre for fibres, _ in asserted.values() for fibre in fibres}
    said = {fibre for reading in readings for fibre in reading.fibres or ()}
    columns = _columns(anatomy, everything | said)
    alike: dict[tuple[str, Ids | None, Ids | None], list[str]] = {}
    for reading in readings:
        key = (reading.through, reading.fibres, reading.main_fibres)
        alike.setdefault(key, []).append(reading.source)
    source = {row.id: row for row in anatomy.map.sources}
    books = [
        _book(anatomy, key, [source[name] for name in names if name in source], asserted, columns)
        for key, names in alike.items()
    ]
    books.sort(key=lambda book: (book.relation in ("unstated", "main-only"), -len(book.sources)))
    rows: dict[str, list[int]] = {}
    for row in anatomy.supplies:
        if row.target == target:
            rows.setdefault(row.through, []).append(row.place.row or 0)
    return Drawer(
        target,
        anatomy.target(target).name,
        tuple(
            (
                _short(anatomy, dispute.origin),
                dispute.is_asserted,
                len(dispute.named_by),
                len(dispute.named_by) + len(dispute.left_out_by),
            )
            for dispute in evidence.disputes[target]
        ),
        contradicted,
        tuple(books),
        tuple(
            Assertion(
                _structure_name(anatomy, through),
                _marks(anatomy, columns, fibres, main),
                tuple(rows.get(through, ())),
            )
            for through, (fibres, main) in asserted.items()
        ),
    )


def _asserted(anatomy: Anatomy, target: str) -> dict[str, tuple[set[str], set[str]]]:
    found: dict[str, tuple[set[str], set[str]]] = {}
    for row in anatomy.supplies:
        if row.target == target:
            fibres, main = found.setdefault(row.through, (set(), set()))
            fibres |= anatomy.supplied(row)
            main |= set(row.main_fibres) & anatomy.supplied(row)
    return found


def _columns(anatomy: Anatomy, named: set[str]) -> Ids:
    """Give the origins to show: from the first named one to the last, and one on each side."""
    places = [place for place, origin in enumerate(anatomy.origins) if origin in named]
    if not places:
        return anatomy.origins
    return anatomy.origins[max(0, places[0] - 1) : places[-1] + 2]


def _book(
    anatomy: Anatomy,
    key: tuple[str, Ids | None, Ids | None],
    sources: list[Source],
    asserted: dict[str, tuple[set[str], set[str]]],
    columns: Ids,
) -> Book:
    through, stated, stated_main = key
    if through in asserted:
        fibres, main = asserted[through]
    else:
        fibres = {fibre for some, _ in asserted.values() for fibre in some}
        main = {fibre for _, some in asserted.values() for fibre in some}
    said = set(stated or ())
    more, less = said - fibres, fibres - said
    relation: Relation
    if stated is None:
        relation, more, less = "main-only" if stated_main else "unstated", set(), set()
    elif more or less:
        relation = "else" if more and less else "more" if more else "less"
    elif stated_main is not None and set(stated_main) != main:
        relation = "fibres-same"
    else:
        relation = "exactly"
    return Book(
        tuple(sources),
        _structure_name(anatomy, through),
        _marks(anatomy, columns, said, set(stated_main or ())),
        relation,
        _shorts(anatomy, more),
        _shorts(anatomy, less),
    )


def _marks(
    anatomy: Anatomy, columns: Ids, fibres: set[str], main: set[str]
) -> tuple[tuple[str, Mark], ...]:
    def mark(origin: str) -> Mark:
        return "main" if origin in main else "reaches" if origin in fibres else "absent"

    return tuple((_short(anatomy, origin), mark(origin)) for origin in columns)


def _shorts(anatomy: Anatomy, fibres: Iterable[str]) -> tuple[str, ...]:
    wanted = set(fibres)
    return tuple(_short(anatomy, origin) for origin in anatomy.origins if origin in wanted)


def _short(anatomy: Anatomy, origin: str) -> str:
    row = anatomy.structure(origin)
    return row.short or row.name


def _structure_name(anatomy: Anatomy, structure: str) -> str:
    """Give a structure's name; "" if a reading names none or one that the map lacks."""
    known = {row.id: row.name for row in anatomy.map.structures}
    return known.get(structure, "")
