"""The page boxes of a print file, written exactly.

Typst writes MediaBox and TrimBox when a page has a bleed; the bleed there is that of the
print shop and the slug with the crop marks together. This pass adds BleedBox and rounds
all three; it leaves content, tags and metadata as they are.

References
----------
ISO 32000-1, 14.11.2: MediaBox contains BleedBox contains TrimBox; a box is its corners.
"""

from __future__ import annotations

import io
from dataclasses import dataclass

from pypdf import PdfWriter
from pypdf.generic import ArrayObject, FloatObject, NameObject

POINTS_PER_MM = 72 / 25.4


@dataclass(frozen=True, slots=True)
class Boxes:
    """Sizes of a page in mm: the trimmed card, the bleed around it, the slug around that."""

    width: float
    height: float
    bleed: float
    slug: float

    @property
    def media_size(self) -> tuple[float, float]:
        """Width and height of the whole page, mm."""
        around = 2 * (self.bleed + self.slug)
        return self.width + around, self.height + around

    def corners(self, inset: float) -> tuple[float, float, float, float]:
        """Give a box that lies ``inset`` mm inside the page, as corners in mm."""
        width, height = self.media_size
        return inset, inset, width - inset, height - inset


def with_boxes(pdf: bytes, boxes: Boxes) -> bytes:
    """Give the same PDF with exact MediaBox, CropBox, BleedBox and TrimBox on every page."""
    writer = PdfWriter(clone_from=io.BytesIO(pdf))
    writer.pdf_header = pdf[:8].decode("ascii")  # pypdf would declare version 1.3
    media = _box(boxes.corners(0))
    for page in writer.pages:
        page[NameObject("/MediaBox")] = media
        page[NameObject("/CropBox")] = media
        page[NameObject("/BleedBox")] = _box(boxes.corners(boxes.slug))
        page[NameObject("/TrimBox")] = _box(boxes.corners(boxes.slug + boxes.bleed))
    written = io.BytesIO()
    writer.write(written)
    return written.getvalue()


def _box(corners: tuple[float, float, float, float]) -> ArrayObject:
    return ArrayObject(FloatObject(round(value * POINTS_PER_MM, 4)) for value in corners)
