"""Does a text fit its box, and at which size: asked of the typesetter before anything is set.

Typesetting itself never warns of overflow. Here every block is measured from ascender to
descender, and every word by itself; a block goes down its steps of size and is refused,
with the reason, when the last one does not fit either.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any, Literal

from nervure.typeset.fonts import FAMILIES, WEIGHTS, Face, missing_characters
from nervure.typeset.typesetter import Typesetter

WhyNot = Literal["word", "height", "glyph"]


@dataclass(frozen=True, slots=True)
class Block:
    """A text with the box that it must fit; sizes in pt, lengths in mm.

    ``leading``: em added between lines (ascender to descender counted as the line itself,
    so usually negative). ``lead``: a small-caps label before the text, ``lead_size`` its size.
    ``tracking``: em between letters; ``small_caps``: set the text in small capitals.
    """

    text: str
    face: Face
    sizes: tuple[float, ...]
    width: float
    height: float
    leading: float = 0.0
    balanced: bool = False
    lead: str = ""
    lead_size: float = 7.0
    tracking: float = 0.0
    small_caps: bool = False

    def to_data(self) -> dict[str, Any]:
        """Give the block as plain data for the templates."""
        data = asdict(self)
        face: Face = data.pop("face")
        # Only spaces break a line here; a no-break space keeps its words together.
        words = [word for word in self.text.split(" ") if word]
        return data | {"family": FAMILIES[face], "weight": WEIGHTS[face], "words": words}


@dataclass(frozen=True, slots=True)
class Fit:
    """How a block is set: size in pt, width and height of its text in mm.

    ``size`` None: it does not fit; ``reason`` then says whether a single word is too wide
    ("word"), the lines are too many ("height"), or the face lacks a glyph ("glyph", with
    the characters in ``missing``).
    """

    size: float | None
    width: float
    height: float
    reason: WhyNot | None = None
    missing: str = ""


_typesetter: Typesetter | None = None
_known: dict[Block, Fit] = {}


def fit(blocks: Iterable[Block]) -> list[Fit]:
    """Measure blocks, each different one once, and answer in the order asked."""
    asked = list(blocks)
    new = [block for block in dict.fromkeys(asked) if block not in _known]
    for block in list(new):
        missing = missing_characters(block.text, block.face)
        missing += missing_characters(block.lead, "sans-semibold")
        if missing:
            _known[block] = Fit(None, block.width, 0.0, "glyph", missing)
            new.remove(block)
    if new:
        answers = _measurer().values({"blocks": [block.to_data() for block in new]}, "fits")
        _known.update((block, Fit(**answer)) for block, answer in zip(new, answers, strict=True))
    return [_known[block] for block in asked]


def _measurer() -> Typesetter:
    global _typesetter
    if _typesetter is None:
        _typesetter = Typesetter("typeset/fit.typ")
    return _typesetter
