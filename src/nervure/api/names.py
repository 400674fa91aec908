"""Names of targets and sites as people say them."""

from __future__ import annotations

from nervure import words
from nervure.project import Map


def target_names(map_: Map) -> dict[str, str]:
    """Give the name of every target by id."""
    return {row.id: row.name for row in map_.targets}


def site_name(map_: Map, site: str) -> str:
    """Give the name of a site that is written ``S``, ``S@n``, ``from>to``, or of a lesion."""
    names = {row.id: row.name for row in map_.structures}
    names |= {row.id: row.name for row in map_.lesions}
    if site in names:
        return names[site]
    if ">" in site:
        start, end = site.split(">")
        return words.say("cli.site-link", start=names[start], end=names[end])
    structure, _, level = site.partition("@")
    return words.say("cli.site-level", name=names[structure], level=level)
