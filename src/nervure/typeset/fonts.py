"""The vendored faces, and which characters each of them can show.

Source Sans 3 and Source Serif 4, static TrueType files under the SIL Open Font License 1.1
(texts beside them in ``fonts/``), unmodified. No other font is ever loaded.
"""

from __future__ import annotations

import struct
from functools import cache
from pathlib import Path
from typing import Literal

Face = Literal["sans", "sans-semibold", "serif", "serif-semibold"]

FOLDER = Path(__file__).parent / "fonts"
FILES: dict[Face, str] = {
    "sans": "SourceSans3_400Regular.ttf",
    "sans-semibold": "SourceSans3_600SemiBold.ttf",
    "serif": "SourceSerif4_400Regular.ttf",
    "serif-semibold": "SourceSerif4_600SemiBold.ttf",
}
FAMILIES: dict[Face, str] = {
    "sans": "Source Sans 3",
    "sans-semibold": "Source Sans 3",
    "serif": "Source Serif 4",
    "serif-semibold": "Source Serif 4",
}
WEIGHTS: dict[Face, int] = {
    "sans": 400,
    "sans-semibold": 600,
    "serif": 400,
    "serif-semibold": 600,
}
_BREAKS = frozenset("\n\r\t ")


@cache
def coverage(face: Face) -> frozenset[int]:
    """Give the code points that a face has a glyph for, read from its ``cmap`` table.

    References
    ----------
    OpenType specification 1.9, cmap table, subtable formats 4 and 12.
    """
    data = (FOLDER / FILES[face]).read_bytes()
    start = _table_offset(data, b"cmap")
    (count,) = struct.unpack_from(">H", data, start + 2)
    covered: set[int] = set()
    for number in range(count):
        platform, _, offset = struct.unpack_from(">HHI", data, start + 4 + 8 * number)
        if platform in (0, 3):
            covered |= _subtable(data, start + offset)
    return frozenset(covered)


def _table_offset(data: bytes, tag: bytes) -> int:
    (count,) = struct.unpack_from(">H", data, 4)
    for number in range(count):
        name, _, offset, _ = struct.unpack_from(">4sIII", data, 12 + 16 * number)
        if name == tag:
            return int(offset)
    raise AssertionError(f"font without table {tag!r}")


def _subtable(data: bytes, at: int) -> set[int]:
    (form,) = struct.unpack_from(">H", data, at)
    if form == 12:
        (groups,) = struct.unpack_from(">I", data, at + 12)
        ranges = (struct.unpack_from(">III", data, at + 16 + 12 * n) for n in range(groups))
        return {code for first, last, _ in ranges for code in range(first, last + 1)}
    if form != 4:
        return set()
    (doubled,) = struct.unpack_from(">H", data, at + 6)
    segments = doubled // 2
    ends = struct.unpack_from(f">{segments}H", data, at + 14)
    starts = struct.unpack_from(f">{segments}H", data, at + 16 + doubled)
    deltas = struct.unpack_from(f">{segments}H", data, at + 16 + 2 * doubled)
    offsets_at = at + 16 + 3 * doubled
    offsets = struct.unpack_from(f">{segments}H", data, offsets_at)
    covered = set()
    for n in range(segments):
        for code in range(starts[n], ends[n] + 1):
            if offsets[n]:
                glyph_at = offsets_at + 2 * n + offsets[n] + 2 * (code - starts[n])
                (glyph,) = struct.unpack_from(">H", data, glyph_at)
            else:
                glyph = (code + deltas[n]) & 0xFFFF
            if glyph:
                covered.add(code)
    return covered - {0xFFFF}


def missing_characters(text: str, face: Face) -> str:
    """Give the characters of a text that a face cannot show, each once, in order.

    >>> missing_characters("Wurzel → Ast", "sans")
    ''
    """
    known = coverage(face)
    missing = (sign for sign in text if ord(sign) not in known and sign not in _BREAKS)
    return "".join(dict.fromkeys(missing))
