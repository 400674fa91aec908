"""Whether an SVG of another hand can bite: runs something, or asks for something outside itself.

Looked at is what a browser would do that opens the picture by itself, the worst case: on
pages of Nervure it stands only in an ``img`` under a policy that forbids both. Reference:
SVG 2, chapters 2 (processing modes), 15 (interactivity), 16 (linking).
"""

from __future__ import annotations

import re
from xml.etree import ElementTree

_BEFORE = re.compile(r"<!DOCTYPE|<!ENTITY|<\?xml-stylesheet", re.IGNORECASE)
_ELEMENTS = frozenset(
    "script foreignobject iframe object embed audio video canvas handler listener "
    "set animate discard metadata-link link base meta form".split()
)
_DATA = re.compile(r"data:image/(?:png|jpeg|gif|webp)[;,]", re.IGNORECASE)
_URL = re.compile(r"url\((?!\s*['\"]?\s*#)", re.IGNORECASE)
_STYLE = re.compile(
    r"@import|expression\(|javascript:|\\|image\(|image-set\(|src\(", re.IGNORECASE
)


def what_bites(text: str) -> str | None:
    """Give the first thing in an SVG that runs or points outside; None: it holds everything.

    What is no well-formed XML bites too: a reader more lenient than this one may see in it
    what this one does not.
    """
    if found := _BEFORE.search(text):
        return found.group(0)
    try:
        root = ElementTree.fromstring(text)
    except (ElementTree.ParseError, ValueError, RecursionError) as problem:
        return str(problem)[:80]
    if _local(root.tag) != "svg":
        return f"<{_local(root.tag)}>"
    for part in root.iter():
        name = _local(part.tag)
        if name in _ELEMENTS:
            return f"<{name}>"
        if name == "style" and (bite := _in_style("".join(part.itertext()))):
            return bite
        for key, value in part.attrib.items():
            if bite := _in_attribute(_local(key), value):
                return bite
    return None


def _local(name: object) -> str:
    return str(name).rpartition("}")[2].lower()


def _in_attribute(name: str, value: str) -> str | None:
    if name.startswith("on"):
        return f"{name}="
    if name in ("href", "src", "base", "xml:base"):
        link = value.strip()
        return None if link.startswith("#") or _DATA.match(link) else link[:60] or f"{name}="
    return _in_style(value) if name == "style" or "(" in value else None


def _in_style(text: str) -> str | None:
    if found := _STYLE.search(text) or _URL.search(text):
        return text[found.start() : found.start() + 60]
    return None
