"""The tier marks and kind marks as symbols of a page, from the drawing that cards use too."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache
from importlib import resources

from nervure.project.records import TIER_MARKS, Map, Tier

_SYMBOL = re.compile(r'<symbol id="([a-z-]+)"[^>]*>.*?</symbol>', re.DOTALL)


@cache
def _drawn() -> dict[str, str]:
    text = (resources.files("nervure.typeset") / "marks.svg").read_text("utf-8")
    return {found.group(1): found.group(0) for found in _SYMBOL.finditer(text)}


def mark_of_tier(tier: Tier, map_: Map) -> str:
    """Give the mark of a tier: as written, else by its name, else by its place."""
    if tier.mark in TIER_MARKS:
        return tier.mark
    if tier.id in TIER_MARKS:
        return tier.id
    place = [row.id for row in map_.tiers].index(tier.id)
    return TIER_MARKS[min(place, len(TIER_MARKS) - 1)]


def symbols(marks: Iterable[str]) -> str:
    """Give hidden SVG that defines marks as ``#mark-NAME``.

    Parameters
    ----------
    marks
        Tier marks (``root`` … ``branch``) and kinds (``muscle``, ``skin``, ``reflex``, ``organ``).
    """
    drawn = _drawn()
    found = []
    for mark in dict.fromkeys(marks):
        name = f"tier-{mark}" if f"tier-{mark}" in drawn else f"target-{mark}"
        found.append(drawn[name].replace(f'id="{name}"', f'id="mark-{mark}"', 1))
    return (
        '<svg width="0" height="0" class="hidden" aria-hidden="true"><defs>'
        + "".join(found)
        + "</defs></svg>"
    )
