"""The map of a table, as a picture: the leaf of the page Map without its buttons.

Comes in: the game that a table was laid with, which editing the project does not change.
Goes out: the still leaf, and what of it a pathway lights.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from itertools import pairwise
from threading import RLock
from typing import Any
from xml.etree import ElementTree

from nervure import anatomy as anatomies
from nervure.anatomy import Anatomy, Evidence, Pathway
from nervure.game import Game
from nervure.project.records import Folder
from nervure.web.pages.map.drawing import picture_of

FOR_BUTTONS = ("role", "tabindex", "aria-pressed", "aria-label", "aria-labelledby", "aria-hidden")
LEFT_OUT = ("finding", "loses", "heads")


class TableMap:
    """The map of one game, drawn once."""

    def __init__(self, game: Game) -> None:
        self.game = game
        self.lock = RLock()
        self.worked_out: dict[str, Any] = {}

    @property
    def title(self) -> str:
        """What people call the game."""
        return self.game.title

    @property
    def folder(self) -> Folder:
        """The records it was made of."""
        return self.game.folder

    @property
    def anatomy(self) -> Anatomy:
        """The proved map."""
        return self.game.anatomy

    @cached_property
    def evidence(self) -> Evidence:
        """What sources say beside what the map asserts."""
        return anatomies.evidence(self.anatomy)

    @cached_property
    def leaf(self) -> str:
        """The leaf as a picture: SVG with `data-lane` and `data-id`, nothing to press."""
        picture = picture_of(self)
        root = ElementTree.fromstring(picture.svg)
        for parent in list(root.iter()):
            for part in list(parent):
                classes = part.get("class", "").split()
                if any(name in classes for name in LEFT_OUT):
                    parent.remove(part)
        for part in root.iter():
            for name in FOR_BUTTONS:
                part.attrib.pop(name, None)
        root.set("role", "img")
        root.set("aria-label", self.title)
        root.set("data-lane-gap", f"{picture.lane_gap:g}")
        root.set("data-size", f"{picture.size:g}")
        return ElementTree.tostring(root, "unicode")

    def lit(self, pathways: Iterable[Pathway]) -> dict[str, list[str]]:
        """Give the lanes, structures and targets that pathways light."""
        lanes: dict[str, None] = {}
        parts: dict[str, None] = {}
        for pathway in pathways:
            lanes |= dict.fromkeys(lanes_of(pathway))
            parts |= dict.fromkeys((*pathway.structures, pathway.target))
        return {"lanes": list(lanes), "parts": list(parts)}

    def pathways_through(self, structures: Iterable[str]) -> tuple[Pathway, ...]:
        """Give the pathways, to any target of the map, that hold all of some structures."""
        wanted = set(structures)
        return tuple(
            pathway for pathway in self.anatomy.all_pathways if wanted <= set(pathway.structures)
        )


def lanes_of(pathway: Pathway) -> list[str]:
    """Give the lanes of a pathway under the names that the leaf gives them."""
    stops = (*pathway.structures, pathway.target)
    origin = pathway.origin
    return [f">{origin} {origin}", *(f"{a}>{b} {origin}" for a, b in pairwise(stops))]
