"""Cards in small, as a template shows them: mark, tier, name, stem, what the card prints.

Comes in: the game of a table. Goes out: one record for every part card and target card. A
face tells what is printed on the card and nothing of where it lies.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

from markupsafe import Markup

from nervure import words
from nervure.game import Game
from nervure.game.deck import VARIANT, WILD_ANY
from nervure.report.marks import mark_of_tier

_DRAWN = re.compile(r'<(symbol|pattern) id="[a-z-]+"[^>]*>.*?</\1>', re.DOTALL)
_TITLE = re.compile(r"<title>.*?</title>")


@dataclass(frozen=True, slots=True)
class PartFace:
    """A part card. ``fill``: its pattern's mark, "" for none; ``place``: its tier's, from 0."""

    kind: str
    name: str
    short: str
    tier: str
    symbol: str
    fill: str
    place: int
    proximal: tuple[str, ...] = ()
    distal: tuple[str, ...] = ()
    fibres: tuple[str, ...] = ()
    says: str = ""


@dataclass(frozen=True, slots=True)
class TargetFace:
    """A target card. ``rungs``: cards, points, whether more cards earn the same."""

    id: str
    name: str
    kind: str
    symbol: str
    test: str
    rungs: tuple[tuple[int, int, bool], ...]
    fibres: tuple[str, ...]


@cache
def marksheet() -> Markup:
    """Give every mark and pattern of the cards as hidden SVG, under the names of marks.svg."""
    text = (resources.files("nervure.typeset") / "marks.svg").read_text("utf-8")
    drawn = "".join(_TITLE.sub("", found.group(0)) for found in _DRAWN.finditer(text))
    return Markup(
        f'<svg width="0" height="0" class="hidden marksheet" aria-hidden="true"><defs>{drawn}'
        "</defs></svg>"
    )


class Faces:
    """The faces of one game."""

    def __init__(self, game: Game) -> None:
        self._game, map_ = game, game.folder.map
        self._language = game.folder.language
        self.tiers = {row.id: row for row in map_.tiers}
        self._marks = {row.id: mark_of_tier(row, map_) for row in map_.tiers}
        self._structures = {row.id: row for row in map_.structures}
        self._parts: dict[str, PartFace] = {}
        self._targets: dict[str, TargetFace] = {}

    def say(self, key: str, **values: object) -> str:
        """Give a text in the game's language."""
        return words.say(key, self._language, **values)

    def part(self, kind: str) -> PartFace:
        """Give the face of a hand kind or placed kind."""
        if kind not in self._parts:
            self._parts[kind] = self._made(kind)
        return self._parts[kind]

    def _made(self, kind: str) -> PartFace:
        if kind == VARIANT:
            name, short = self.say("press.variant-name"), self.say("press.variant-short")
            word, says = self.say("press.variant-class"), self.say("press.variant-says")
            return PartFace(kind, name, short, word, "card-variant", "", -1, says=says)
        if kind.startswith("wild:"):
            return self._wild(kind)
        row, prints = self._structures[kind], self._game.prints
        place = self._game.tiers.index(row.tier)
        beside = [self._structures[name] for name in prints.part_lists(kind)]
        tier_of = {name.id: self._game.tiers.index(name.tier) for name in beside}
        fibres = () if self._game.rules.parts_show == "nothing" else prints.origins_of_part[kind]
        targets = tuple(self._target_name(name) for name in prints.part_lists_targets(kind))
        return PartFace(
            kind,
            row.name,
            row.short or row.name,
            self.tiers[row.tier].name,
            f"tier-{self._marks[row.tier]}",
            self._marks[row.tier],
            place,
            tuple(one.name for one in beside if tier_of[one.id] < place),
            (*(one.name for one in beside if tier_of[one.id] > place), *targets),
            tuple(self.short(name) for name in fibres),
        )

    def _wild(self, kind: str) -> PartFace:
        tier = kind.partition("@")[2] or ("" if kind == WILD_ANY else kind.removeprefix("wild:"))
        short, word = self.say("press.wild-short"), self.say("press.wild-class")
        if not tier:
            name, says = self.say("press.wild-any-name"), self.say("press.wild-any-says")
            return PartFace(kind, name, short, word, "card-wild", "", -1, says=says)
        named = self.tiers[tier].name.lower()
        name, says = (
            self.say("press.wild-name", tier=named),
            self.say("press.wild-says", tier=named),
        )
        place = self._game.tiers.index(tier)
        return PartFace(kind, name, short, word, "card-wild", self._marks[tier], place, says=says)

    def short(self, structure: str) -> str:
        """Give the short form of a structure's name."""
        row = self._structures[structure]
        return row.short or row.name

    def _target_name(self, target: str) -> str:
        return self._game.anatomy.target(target).name

    def target(self, target: str) -> TargetFace:
        """Give the face of a target card."""
        if target not in self._targets:
            row, rules = self._game.anatomy.target(target), self._game.rules
            points = self._game.points_of[target]
            least = max(1, rules.claim_minimum)
            rungs = tuple(
                (least + rung, worth, rung == len(points) - 1) for rung, worth in enumerate(points)
            )
            self._targets[target] = TargetFace(
                target,
                row.name,
                self.say(f"press.kind.{row.kind}"),
                f"target-{row.kind}",
                row.test,
                rungs,
                tuple(self.short(name) for name in self._game.prints.target_marks(target) or ()),
            )
        return self._targets[target]

    @property
    def names(self) -> Mapping[str, str]:
        """Names of structures and targets by id."""
        found = {row.id: row.name for row in self._game.folder.map.structures}
        return found | {row.id: row.name for row in self._game.folder.map.targets}
