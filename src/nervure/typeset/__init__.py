"""Typesetting: vendored fonts, measured text, exact page boxes, and the colours of the look."""

from nervure.typeset.boxes import Boxes, with_boxes
from nervure.typeset.fit import Block, Fit, fit
from nervure.typeset.palette import COLOUR_SAFE, GREY, HERBARIUM, PALETTES, Palette
from nervure.typeset.typesetter import Typesetter, TypesettingError

__all__ = [
    "COLOUR_SAFE",
    "GREY",
    "HERBARIUM",
    "PALETTES",
    "Block",
    "Boxes",
    "Fit",
    "Palette",
    "Typesetter",
    "TypesettingError",
    "fit",
    "with_boxes",
]
