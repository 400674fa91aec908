"""What people write in a column of nerve roots -> segments of the spinal cord, in order."""

from __future__ import annotations

import re
from dataclasses import dataclass

from nervure.project.records import Ids

# Cervical nerves are eight, one more than the vertebrae.
SEGMENTS: Ids = tuple(
    f"{region}{number}"
    for region, count in (("c", 8), ("t", 12), ("l", 5), ("s", 5), ("co", 1))
    for number in range(1, count + 1)
)
_TOKEN = re.compile(
    r"\s*(?:(?P<open>[(\[])|(?P<close>[)\]])|(?P<range>-|–|—|−|\bto\b|\bbis\b)"
    r"|(?P<region>co|th|[ctdls])?\s*\.?\s*(?P<number>\d{1,2})(?!\d)|(?P<between>[,;/+&.]|\band\b))",
    re.IGNORECASE,
)
_REGIONS = {"th": "t", "d": "t"}  # thoracic, also written dorsal


@dataclass(frozen=True, slots=True)
class Roots:
    """Origins named in a cell; the inconstant ones (in brackets) are among them."""

    all: Ids
    inconstant: Ids


def parse_roots(cell: str) -> Roots | None:
    """Give the segments that a cell names, or None if it holds anything else.

    A number without a letter belongs to the letter before it. Brackets mark segments as
    inconstant.

    >>> parse_roots("L2-4")
    Roots(all=('l2', 'l3', 'l4'), inconstant=())
    >>> parse_roots("L2, L3, (L4)")
    Roots(all=('l2', 'l3', 'l4'), inconstant=('l4',))
    >>> parse_roots("see text") is None
    True
    """
    found: dict[str, bool] = {}
    region, last, in_range, depth = "", "", False, 0
    position, cell = 0, cell.strip()
    while position < len(cell):
        token = _TOKEN.match(cell, position)
        if token is None:
            return None
        position = token.end()
        if token["open"] or token["close"]:
            depth = max(0, depth + (1 if token["open"] else -1))
        elif token["range"]:
            if not last:
                return None
            in_range = True
        elif token["number"]:
            region = (token["region"] or region).lower()
            region = _REGIONS.get(region, region)
            segment = f"{region}{int(token['number'])}"
            if segment not in SEGMENTS:
                return None
            between = _between(last, segment) if in_range else ()
            if between is None:
                return None
            for name in between:
                found.setdefault(name, found[last])
            found.setdefault(segment, depth > 0)
            last, in_range = segment, False
    if in_range or not found:
        return None
    order = [name for name in SEGMENTS if name in found]
    return Roots(tuple(order), tuple(name for name in order if found[name]))


def _between(first: str, last: str) -> Ids | None:
    start, end = SEGMENTS.index(first), SEGMENTS.index(last)
    return SEGMENTS[start + 1 : end] if start < end else None
