"""The typed, frozen records of a project folder, each with the place that it was read from.

Ids are kept as text; that they exist and fit is proved by `nervure.project.read_folder`
(references, duplicates) and `nervure.anatomy.map_faults` (what the graph decides).
Blank cells are None where blank differs from empty, else empty tuples or strings.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from nervure.errors import Fault, Place

TargetKind = Literal["muscle", "skin", "reflex", "organ", "potential", "autonomic"]
Needs = Literal["sum", "every", "any"]
Ids = tuple[str, ...]

TARGET_KINDS: tuple[TargetKind, ...] = (
    "muscle",
    "skin",
    "reflex",
    "organ",
    "potential",
    "autonomic",
)
NEEDS: tuple[Needs, ...] = ("sum", "every", "any")
TIER_MARKS: Ids = ("root", "trunk", "division", "cord", "nerve", "branch")
SOURCE_KINDS: Ids = ("textbook", "paper", "guideline", "encyclopaedia", "own")
HOW_OBTAINED: Ids = ("looked up", "from memory", "own observation")


@dataclass(frozen=True, slots=True)
class Tier:
    """An ordered class of structures; the first one holds the origins."""

    id: str
    name: str
    plural: str
    mark: str
    place: Place


@dataclass(frozen=True, slots=True)
class Structure:
    """A named part on one tier. ``site``: may it be offered as the place of a lesion."""

    id: str
    tier: str
    name: str
    short: str
    also: str
    site: bool
    note: str
    place: Place


@dataclass(frozen=True, slots=True)
class Link:
    """Direct continuity from one structure to a more distal one, with its fibres.

    ``fibres`` None: all that reach ``start``. ``level`` None: the link leaves the distal
    end of ``start``. ``enters``: levels of ``end`` that lie proximal of the junction.
    ``variant``: "" always, "ID" only in that variant, "-ID" absent in it.
    """

    start: str
    end: str
    level: int | None
    enters: int
    via: Ids
    fibres: Ids | None
    main_fibres: Ids
    variant: str
    sources: Ids
    place: Place


@dataclass(frozen=True, slots=True)
class Target:
    """An end organ: muscle, skin point, reflex, organ, sensory potential, autonomic sign."""

    id: str
    name: str
    short: str
    kind: TargetKind
    needs: Needs
    test: str
    note: str
    sources: Ids
    place: Place


@dataclass(frozen=True, slots=True)
class Supply:
    """A target gets these fibres through this structure, leaving it at this level.

    ``share``: percent of the target that the row stands for, None where rows do not differ.
    The other fields as in `Link`.
    """

    target: str
    through: str
    level: int | None
    via: Ids
    fibres: Ids | None
    main_fibres: Ids
    share: float | None
    variant: str
    sources: Ids
    place: Place


@dataclass(frozen=True, slots=True)
class Source:
    """Where facts come from, and how they were obtained."""

    id: str
    citation: str
    kind: str
    how_obtained: str
    place: Place


@dataclass(frozen=True, slots=True)
class Reading:
    """What one source says of one target's supply; blanks are what it does not state."""

    target: str
    through: str
    fibres: Ids | None
    main_fibres: Ids | None
    source: str
    place: Place


@dataclass(frozen=True, slots=True)
class Variant:
    """A way of being built that some people have; ``seen_in_percent`` as written (``11``)."""

    id: str
    name: str
    seen_in_percent: str
    note: str
    sources: Ids
    place: Place


@dataclass(frozen=True, slots=True)
class Lesion:
    """A named lesion: its sites as written (``S``, ``S@n``, ``from>to``), and its limits."""

    id: str
    name: str
    sites: Ids
    via: Ids
    fibres: Ids | None
    note: str
    sources: Ids
    place: Place


@dataclass(frozen=True, slots=True)
class Map:
    """All the content of one subject, in file order."""

    name: str
    tiers: tuple[Tier, ...]
    structures: tuple[Structure, ...]
    links: tuple[Link, ...]
    targets: tuple[Target, ...]
    supplies: tuple[Supply, ...]
    sources: tuple[Source, ...] = ()
    readings: tuple[Reading, ...] = ()
    variants: tuple[Variant, ...] = ()
    lesions: tuple[Lesion, ...] = ()


@dataclass(frozen=True, slots=True)
class DeckRow:
    """One line of ``deck.csv``: what differs from the default. None: not stated."""

    card: str
    copies: int | None
    points: tuple[int, ...] | None
    bonus: str
    place: Place


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture of ``art/`` with its credit (None: no row in ``art/credits.csv``)."""

    card: str
    file: Path
    author: str | None
    licence: str | None
    changes: str | None


@dataclass(frozen=True, slots=True)
class PaperPlay:
    """One game played on paper: a row of ``plays.csv``."""

    date: str
    seats: int
    minutes: float | None
    scores: tuple[int, ...]
    winner: str
    ended: str
    place: Place


@dataclass(frozen=True, slots=True)
class Translation:
    """What ``words/LANG.toml`` says in another language; what it leaves out stays as it is.

    ``tiers``, ``bonuses``: id -> text. ``structures``, ``targets``: id -> what is replaced of
    the record's ``name``, ``short`` (and ``test``). ``words``: what the map's people say.
    ``texts``: sentences that Nervure prints, by dotted key.
    """

    language: str
    title: str = ""
    tiers: Mapping[str, str] = field(default_factory=dict)
    structures: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    targets: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    bonuses: Mapping[str, str] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    texts: Mapping[str, str] = field(default_factory=dict)


# What a map's people say; game.toml [words] replaces single ones.
DEFAULT_WORDS: Mapping[str, str] = {
    "fibre": "fibre",
    "fibres": "fibres",
    "origin": "origin",
    "cut": "cut",
    "affected": "affected",
    "spared": "spared",
}


@dataclass(frozen=True, slots=True)
class Folder:
    """A project folder as read: records, raw settings, and every fault found on the way.

    ``settings`` is game.toml as plain data (``title``, ``map``, ``words`` and ``language``
    already read into their own fields as well). ``map_origin``: "folder", "workbook" or
    "bundled". ``texts``: the author's ``text/*.md`` by file stem. ``translations``: by
    language; ``sentences``: those of the language in force, by dotted key.
    """

    path: Path
    title: str
    language: str
    map: Map
    map_origin: str
    variants: Ids
    words: Mapping[str, str]
    settings: Mapping[str, Any]
    deck: tuple[DeckRow, ...] = ()
    art: tuple[Picture, ...] = ()
    texts: Mapping[str, str] = field(default_factory=dict)
    plays: tuple[PaperPlay, ...] = ()
    translations: Mapping[str, Translation] = field(default_factory=dict)
    sentences: Mapping[str, str] = field(default_factory=dict)
    faults: tuple[Fault, ...] = ()
