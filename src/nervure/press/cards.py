"""What is on every card of a deck, before anything is drawn.

Plain frozen records: `nervure.press.gather` makes them from a game, `nervure.press.setting`
decides sizes and rows, the templates draw. A card that the deck holds three times is one
record with ``copies`` 3.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from nervure import words
from nervure.typeset.palette import HERBARIUM, Palette

Point = tuple[float, float]
TargetShows = Literal["nothing", "origins", "way", "pathways"]


@dataclass(frozen=True, slots=True)
class Entry:
    """One connection in an edge list: ``group`` is its tier or kind of target."""

    id: str
    group: str
    mark: str
    short: str


@dataclass(frozen=True, slots=True)
class BonusText:
    """A bonus as printed: ``when`` is its label, ``says`` the sentence."""

    when: str
    says: str


@dataclass(frozen=True, slots=True)
class PartCard:
    """A card of a structure.

    ``reached`` and ``main``: origins that reach it, and those that are main for a target
    beyond it. ``near``: numbers of the veins of the map drawing that its fibres run through.
    """

    id: str
    name: str
    short: str
    tier: str
    copies: int
    proximal: tuple[Entry, ...] = ()
    distal: tuple[Entry, ...] = ()
    reached: tuple[str, ...] = ()
    main: tuple[str, ...] = ()
    near: tuple[int, ...] = ()
    bonus: BonusText | None = None


@dataclass(frozen=True, slots=True)
class TargetCard:
    """A card of a target.

    ``points``: from ``first_rung`` cards up. ``reached`` and ``main``: origins that supply it.
    ``way``: last structures of its pathways. ``lit``: numbers of the veins that its pathways
    use; ``ends``: the structures that the pathways leave.
    """

    id: str
    name: str
    short: str
    kind: str
    examined: str
    copies: int
    points: tuple[int, ...]
    first_rung: int
    reached: tuple[str, ...] = ()
    main: tuple[str, ...] = ()
    way: tuple[Entry, ...] = ()
    lit: tuple[int, ...] = ()
    ends: tuple[str, ...] = ()
    bonus: BonusText | None = None
    picture: Path | None = None


@dataclass(frozen=True, slots=True)
class WildCard:
    """A part card that stands for any structure of its tiers."""

    id: str
    tiers: tuple[str, ...]
    copies: int


@dataclass(frozen=True, slots=True)
class VariantCard:
    """The card that excuses one junction of a strand."""

    id: str
    copies: int


Card = PartCard | TargetCard | WildCard | VariantCard


@dataclass(frozen=True, slots=True)
class DeckTier:
    """A tier of the deck: its name as printed, and which of the six marks it carries."""

    id: str
    name: str
    mark: str


@dataclass(frozen=True, slots=True)
class DrawnNode:
    """A structure in the map drawing, in unit coordinates."""

    id: str
    tier: str
    place: Point


@dataclass(frozen=True, slots=True)
class DrawnVein:
    """A link in the map drawing; ``fibres``: how many it carries."""

    start: str
    end: str
    fibres: int
    points: tuple[Point, ...]
    within_tier: bool = False


@dataclass(frozen=True, slots=True)
class MapDrawing:
    """The small drawing of the map: x 0 proximal to 1 distal, y 0 top to 1 bottom."""

    nodes: tuple[DrawnNode, ...]
    veins: tuple[DrawnVein, ...]


@dataclass(frozen=True, slots=True)
class Credit:
    """Where a picture of the deck comes from."""

    card: str
    file: str
    author: str
    licence: str
    changes: str


@dataclass(frozen=True, slots=True)
class Deck:
    """All cards of a game with what they share.

    ``origins``: id -> short form, in order. ``words``: what the map's people say (fibre,
    fibres, origin, cut ...). ``sentences``: those of a translation, by dotted key. Lengths
    in mm.
    """

    title: str
    version: str
    language: str
    tiers: tuple[DeckTier, ...]
    origins: Mapping[str, str]
    cards: tuple[Card, ...]
    drawing: MapDrawing
    targets_show: TargetShows = "origins"
    width: float = 63.0
    height: float = 88.0
    bleed: float = 3.0
    safe: float = 4.0
    corner: float = 3.0
    palette: Palette = HERBARIUM
    words: Mapping[str, str] = field(default_factory=dict)
    sources: tuple[str, ...] = ()
    credits: tuple[Credit, ...] = ()
    sentences: Mapping[str, str] = field(default_factory=dict)

    def say(self, key: str, **values: object) -> str:
        """Give a text in the deck's language: the author's translation, else Nervure's."""
        own = self.sentences.get(key)
        return words.say(key, self.language, **values) if own is None else own.format(**values)

    def tier(self, name: str) -> DeckTier:
        """Give a tier of the deck by its id."""
        return next(tier for tier in self.tiers if tier.id == name)
