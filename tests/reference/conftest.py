"""Published anatomy beside the bundled maps: loaders for the tables of tests/reference/data.

For every map NAME there may be
- NAME-readings.csv: name, nerve, roots, main_roots, source, authority, how_obtained
- NAME-nerve-values.csv: nerve, roots, source, authority, how_obtained
- NAME-lesion-patterns.csv: pattern, site, weak, spared, sensory, reflex, source, authority,
  how_obtained (what was published), cut, affected_too, spared_too (how this test reads it:
  sites or named lesions of the map, ids for what the sensory and reflex columns say)
- NAME-names.csv: name, ids (a published name, the ids of the map that it stands for)

Lines that begin with # say where a table comes from. ``authority`` joins the hyphenated
sources of one family, so that one author never counts as several. ``how_obtained`` is
"looked up" or "from memory".
"""

import csv
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

from nervure.anatomy import Anatomy, build, localize
from nervure.project import read_bundled_map

DATA = Path(__file__).parent / "data"
FIBRE = re.compile(r"\(?\b([A-Z]\d+)\b\)?")


@dataclass(frozen=True)
class PublishedReading:
    """What one source says of one target; None where it does not say."""

    target: str
    name: str
    nerve: str
    fibres: frozenset[str] | None
    main_fibres: frozenset[str] | None
    source: str
    authority: str
    looked_up: bool


@dataclass(frozen=True)
class PublishedValue:
    """Root value of one nerve; a root in brackets may be there or not: two allowed sets."""

    structure: str
    nerve: str
    allowed: tuple[frozenset[str], ...]
    source: str
    authority: str
    looked_up: bool


@dataclass(frozen=True)
class PublishedPattern:
    """What a lesion makes weak and what it spares, as ids of the map."""

    pattern: str
    site: str
    cut: tuple[str, ...]
    affected: tuple[str, ...]
    spared: tuple[str, ...]
    source: str


def fibres_in(text: str) -> frozenset[str]:
    return frozenset(name.lower() for name in FIBRE.findall(text))


class Reference:
    """The published tables of one map, and the map itself."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.ids = {row["name"]: tuple(row["ids"].split()) for row in self.rows("names")}

    def rows(self, table: str) -> list[dict[str, str]]:
        text = (DATA / f"{self.name}-{table}.csv").read_text("utf-8")
        lines = [line for line in text.splitlines() if line and not line.startswith("#")]
        return list(csv.DictReader(lines))

    def ids_of(self, names: str) -> Iterator[str]:
        """Ids of names separated by semicolons; a name that is not mapped is a KeyError."""
        for name in filter(None, (part.strip() for part in names.split(";"))):
            yield from self.ids[name]

    def readings(self) -> list[PublishedReading]:
        return [
            PublishedReading(
                target,
                row["name"],
                row["nerve"],
                fibres_in(row["roots"]) or None,
                fibres_in(row["main_roots"]) or None,
                row["source"],
                row["authority"],
                row["how_obtained"] == "looked up",
            )
            for row in self.rows("readings")
            for target in self.ids_of(row["name"])
        ]

    def nerve_values(self) -> list[PublishedValue]:
        values = []
        for row in self.rows("nerve-values"):
            sure = fibres_in(re.sub(r"\([^)]*\)", "", row["roots"]))
            allowed = tuple(dict.fromkeys((sure, fibres_in(row["roots"]))))
            values += [
                PublishedValue(
                    structure,
                    row["nerve"],
                    allowed,
                    row["source"],
                    row["authority"],
                    row["how_obtained"] == "looked up",
                )
                for structure in self.ids_of(row["nerve"])
            ]
        return values

    def patterns(self) -> list[PublishedPattern]:
        return [
            PublishedPattern(
                row["pattern"],
                row["site"],
                tuple(row["cut"].split()),
                (*self.ids_of(row["weak"]), *row["affected_too"].split()),
                (*self.ids_of(row["spared"]), *row["spared_too"].split()),
                row["source"],
            )
            for row in self.rows("lesion-patterns")
        ]

    @property
    def anatomy(self) -> Anatomy:
        return anatomy_of(self.name)


@cache
def anatomy_of(name: str, variants: tuple[str, ...] = ()) -> Anatomy:
    return build(read_bundled_map(name), variants)


@cache
def reference_of(name: str) -> Reference:
    return Reference(name)


@pytest.fixture(scope="session")
def anatomy_with() -> Callable[..., Anatomy]:
    """Anatomy of a bundled map with the variants named after it."""
    return lambda name, *variants: anatomy_of(name, variants)


@pytest.fixture(scope="session")
def ranks() -> Callable[[Anatomy, Iterable[str], Iterable[str]], list[tuple[str, ...]]]:
    """Groups of sites that explain findings, most probable first, each as its names."""
    return lambda anatomy, affected, spared: [
        group.sites for group in localize(anatomy, tuple(affected), tuple(spared)).groups
    ]


@pytest.fixture(scope="session")
def leg() -> Reference:
    return reference_of("leg")


@pytest.fixture(scope="session")
def arm() -> Reference:
    return reference_of("arm")
