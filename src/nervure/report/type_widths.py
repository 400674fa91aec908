"""How wide a text is in the faces that pages embed, from their advance widths.

Kerning is left out: it makes the texts of a map narrower by about one part in a hundred,
so that what fits by these widths fits on the page.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources

SANS, SANS_BOLD = "sans-400", "sans-600"
SERIF, SERIF_BOLD, SERIF_ITALIC = "serif-400", "serif-600", "serif-400-italic"
UNKNOWN = 700  # thousandths of the em, for a character that the faces lack: wide


@cache
def _advances(face: str) -> Mapping[str, int]:
    text = (resources.files(__package__) / "assets" / "advances.toml").read_text("utf-8")
    return {
        character: int(width)
        for width, characters in tomllib.loads(text)[face].items()
        for character in characters
    }


def width(text: str, size: float, face: str = SANS) -> float:
    """Give the width of one line, in the unit of ``size``.

    >>> width("nerve", 1000) == sum(width(letter, 1000) for letter in "nerve")
    True
    """
    advances = _advances(face)
    return sum(advances.get(character, UNKNOWN) for character in text) * size / 1000


def lines_within(text: str, most: float, size: float, face: str = SANS) -> tuple[str, ...]:
    """Break a text at word ends into at most two lines of about the same length.

    Kept on one line if it is no wider than ``most``; else the break that makes the longer
    line shortest.
    """
    words = text.split()
    if width(text, size, face) <= most or len(words) < 2:
        return (text,)
    halves = [(" ".join(words[:cut]), " ".join(words[cut:])) for cut in range(1, len(words))]
    return min(halves, key=lambda half: max(width(line, size, face) for line in half))


def shortened(text: str, most: float, size: float, face: str = SANS) -> str:
    """Give the text, or as much of it as fits in ``most`` with an ellipsis."""
    if width(text, size, face) <= most:
        return text
    cut = len(text)
    while cut and width(text[:cut].rstrip() + "…", size, face) > most:
        cut -= 1
    return text[:cut].rstrip() + "…"
