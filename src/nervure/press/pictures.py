"""An author's picture, made ready for a card: checked, and wrapped so that it travels as text.

PNG and JPEG are wrapped in an SVG as they are; an SVG is passed on only if everything that it
shows is inside it.
"""

from __future__ import annotations

import base64
import re
import struct
from pathlib import Path

from nervure.press.safe_svg import what_bites

MOST_MEGABYTES = 12
_LINK = re.compile(r"""(?:href|src)\s*=\s*["']\s*([^"'\s]*)|url\(\s*["']?([^"')\s]*)|@import""")
_OUTSIDE = re.compile(r"<!ENTITY|<!DOCTYPE[^>]*\[|<script|<foreignObject", re.IGNORECASE)


class BadPictureError(Exception):
    """A picture that is not printed: ``code`` names the reason, ``details`` fill its sentence."""

    def __init__(self, code: str, **details: object) -> None:
        self.code = code
        self.details = details
        super().__init__(code)


def picture_as_svg(path: Path) -> str:
    """Give a picture as the text of an SVG that needs nothing outside itself.

    Raises
    ------
    BadPictureError
        Neither SVG, PNG nor JPEG; larger than `MOST_MEGABYTES`; or pointing outside.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise BadPictureError("picture-kind", file=path.name) from error
    if len(data) > MOST_MEGABYTES * 1_000_000:
        raise BadPictureError("picture-large", file=path.name, most=MOST_MEGABYTES)
    if data.startswith(b"\x89PNG\r\n\x1a\n") and len(data) > 33:
        width, height = struct.unpack_from(">II", data, 16)
        return _wrapped(data, "png", width, height)
    if data.startswith(b"\xff\xd8"):
        return _wrapped(data, "jpeg", *_jpeg_size(data, path.name))
    return _own_svg(data, path.name)


def _wrapped(data: bytes, kind: str, width: int, height: int) -> str:
    inside = base64.b64encode(data).decode("ascii")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}"><image width="{width}" height="{height}" '
        f'href="data:image/{kind};base64,{inside}"/></svg>'
    )


def _jpeg_size(data: bytes, name: str) -> tuple[int, int]:
    """Read width and height from the frame header (ITU-T T.81, B.2.2)."""
    at = 2
    while at + 9 < len(data):
        if data[at] != 0xFF:
            break
        marker = data[at + 1]
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            height, width = struct.unpack_from(">HH", data, at + 5)
            return width, height
        (length,) = struct.unpack_from(">H", data, at + 2)
        at += 2 + length
    raise BadPictureError("picture-kind", file=name)


def _own_svg(data: bytes, name: str) -> str:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadPictureError("picture-kind", file=name) from error
    if "<svg" not in text:
        raise BadPictureError("picture-kind", file=name)
    if match := _OUTSIDE.search(text):
        raise BadPictureError("picture-outside", file=name, link=match.group(0))
    for match in _LINK.finditer(text):
        link = match.group(1) or match.group(2) or match.group(0)
        if not link.startswith(("#", "data:image/")):
            raise BadPictureError("picture-outside", file=name, link=link)
    if bite := what_bites(text):
        raise BadPictureError("picture-outside", file=name, link=bite)
    return text
