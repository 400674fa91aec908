"""The tables of a project folder: their columns, and what a cell of each may hold.

This is the one place that names columns; readers, writers, starters and the docs test
all take them from here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from nervure.project.records import (
    HOW_OBTAINED,
    NEEDS,
    SOURCE_KINDS,
    TARGET_KINDS,
    TIER_MARKS,
    Ids,
)

IdKind = Literal["tier", "structure", "target", "source", "variant", "lesion"]
# How a game on paper came to its end; the words of the simulated games.
PLAY_ENDS: Ids = ("own rule", "nobody moves", "targets gone", "unfinished")

CellKind = Literal[
    "id",  # declares an id
    "ref",  # one id that is declared elsewhere
    "refs",  # several, separated by spaces
    "origins",  # structures of the first tier
    "variant",  # ID or -ID
    "sites",  # S, S@n, from>to
    "card",  # a structure, a target, wild:TIER, wild:any, variant
    "text",  # one line
    "prose",  # may hold line breaks
    "whole",
    "wholes",
    "number",
    "percent",  # as written: 11, 5-20, <1
    "date",  # 2026-05-01
    "yes-no",
    "choice",
]


@dataclass(frozen=True, slots=True)
class Column:
    """One column: ``required`` ones must exist, and no cell of theirs may be blank.

    ``low`` and ``high`` bound whole numbers and numbers, both ends included.
    """

    name: str
    kind: CellKind
    required: bool = False
    of: IdKind = "structure"
    choices: Ids = ()
    low: int = 0
    high: int = 99


@dataclass(frozen=True, slots=True)
class TableSpec:
    """One table: which of its columns declares ids of which kind, and when two rows are one.

    ``need``: "rows" must hold rows, "file" should exist, "none" may be missing.
    ``one_row_for``: two rows that agree in these columns are duplicates.
    """

    name: str
    columns: tuple[Column, ...]
    declares: IdKind | None = None
    need: Literal["rows", "file", "none"] = "rows"
    one_row_for: Ids = ()

    @property
    def column_names(self) -> Ids:
        """Names in the order in which the docs list them."""
        return tuple(column.name for column in self.columns)

    @property
    def required_names(self) -> Ids:
        """Names of the columns that must exist."""
        return tuple(column.name for column in self.columns if column.required)

    def column(self, name: str) -> Column:
        """Give a column by its name."""
        return next(column for column in self.columns if column.name == name)


_SOURCES = Column("sources", "refs", of="source")
_NOTE = Column("note", "prose")
_WAY = (
    Column("level", "whole", low=1),
    Column("enters", "whole"),
    Column("via", "refs"),
    Column("fibres", "origins"),
    Column("main_fibres", "origins"),
)

MAP_TABLES: Mapping[str, TableSpec] = {
    spec.name: spec
    for spec in (
        TableSpec(
            "tiers",
            (
                Column("tier", "id", required=True),
                Column("name", "text", required=True),
                Column("plural", "text"),
                Column("mark", "choice", choices=TIER_MARKS),
            ),
            declares="tier",
        ),
        TableSpec(
            "structures",
            (
                Column("structure", "id", required=True),
                Column("tier", "ref", required=True, of="tier"),
                Column("name", "text", required=True),
                Column("short", "text"),
                Column("also", "text"),
                Column("site", "yes-no"),
                _NOTE,
            ),
            declares="structure",
        ),
        TableSpec(
            "links",
            (
                Column("from", "ref", required=True),
                Column("to", "ref", required=True),
                *_WAY,
                Column("variant", "variant"),
                _SOURCES,
            ),
            one_row_for=("from", "to", "level", "via", "variant"),
        ),
        TableSpec(
            "targets",
            (
                Column("target", "id", required=True),
                Column("name", "text", required=True),
                Column("short", "text"),
                Column("kind", "choice", required=True, choices=TARGET_KINDS),
                Column("needs", "choice", choices=NEEDS),
                Column("test", "text"),
                _NOTE,
                _SOURCES,
            ),
            declares="target",
        ),
        TableSpec(
            "supplies",
            (
                Column("target", "ref", required=True, of="target"),
                Column("through", "ref", required=True),
                *(column for column in _WAY if column.name != "enters"),
                Column("share", "number", low=0, high=100),
                Column("variant", "variant"),
                _SOURCES,
            ),
            one_row_for=("target", "through", "level", "via", "variant"),
        ),
        TableSpec(
            "sources",
            (
                Column("source", "id", required=True),
                Column("citation", "prose", required=True),
                Column("kind", "choice", required=True, choices=SOURCE_KINDS),
                Column("how_obtained", "choice", required=True, choices=HOW_OBTAINED),
            ),
            declares="source",
            need="file",
        ),
        TableSpec(
            "readings",
            (
                Column("target", "ref", required=True, of="target"),
                Column("through", "ref"),
                Column("fibres", "origins"),
                Column("main_fibres", "origins"),
                Column("source", "ref", required=True, of="source"),
            ),
            need="none",
            one_row_for=("target", "through", "source"),
        ),
        TableSpec(
            "variants",
            (
                Column("variant", "id", required=True),
                Column("name", "text", required=True),
                Column("seen_in_percent", "percent"),
                _NOTE,
                _SOURCES,
            ),
            declares="variant",
            need="none",
        ),
        TableSpec(
            "lesions",
            (
                Column("lesion", "id", required=True),
                Column("name", "text", required=True),
                Column("sites", "sites", required=True),
                Column("via", "refs"),
                Column("fibres", "origins"),
                _NOTE,
                _SOURCES,
            ),
            declares="lesion",
            need="none",
        ),
    )
}

DECK = TableSpec(
    "deck",
    (
        Column("card", "card", required=True),
        Column("copies", "whole", high=400),
        Column("points", "wholes", high=999),
        Column("bonus", "text"),
    ),
    need="none",
    one_row_for=("card",),
)

PLAYS = TableSpec(
    "plays",
    (
        Column("date", "date", required=True),
        Column("seats", "whole", required=True, low=1, high=6),
        Column("minutes", "number", low=0, high=1440),
        Column("scores", "wholes", low=-999, high=9999),
        Column("winner", "wholes", low=1, high=6),
        Column("ended", "choice", choices=PLAY_ENDS),
    ),
    need="none",
)

CREDITS = TableSpec(
    "credits",
    (
        Column("file", "text", required=True),
        Column("author", "text", required=True),
        Column("licence", "text", required=True),
        Column("changes", "text"),
    ),
    need="none",
    one_row_for=("file",),
)
