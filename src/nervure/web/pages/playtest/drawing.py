"""The claims over the map without a style attribute, which the content policy would refuse.

Widths of lanes and the size of names stand in style attributes of the leaf of ``out/``;
here they become attributes of the drawing itself, and the rules of the sheet that would
override them are left behind with their classes.
"""

from __future__ import annotations

import re
from xml.etree import ElementTree

LANE = re.compile(r"--lane:([\d.]+)px")
THICK = re.compile(r"--thick:([\d.]+)")
SIZE = re.compile(r"--size:([\d.]+)px")
OF_LANES = re.compile(r"[pq]\d+|f|v\d|main")
OF_LINKS = re.compile(r"[pq]\d+|pick|t")
SHARE_OF_LANE = 0.67
ElementTree.register_namespace("", "http://www.w3.org/2000/svg")


def without_style(svg: str) -> str:
    """Give a leaf whose widths and sizes are attributes of the drawing.

    Targets are no links here: they would lead to nothing that the table does not say.
    """
    root = ElementTree.fromstring(svg)
    gap = _figure(LANE, root.attrib.pop("style", ""), 3.3)
    root.set("class", "leaf claims-leaf")
    for part in root.iter():
        style = part.attrib.pop("style", "")
        kinds = part.get("class", "").split()
        if "f" in kinds:
            part.set("class", " ".join(["lane", *_kept(kinds, OF_LANES)]))
            part.set("stroke-width", f"{gap * SHARE_OF_LANE * _figure(THICK, style, 1.0):.2f}")
        elif kinds:
            part.set("class", " ".join(_kept(kinds, OF_LINKS)))
        if SIZE.search(style):
            part.set("font-size", f"{_figure(SIZE, style, 15):g}")
        if part.tag.rpartition("}")[2] == "a":
            part.tag = "g"
            part.attrib.pop("href", None)
            part.attrib.pop("tabindex", None)
    return ElementTree.tostring(root, "unicode")


def _kept(kinds: list[str], left: re.Pattern[str]) -> list[str]:
    return [kind for kind in kinds if not left.fullmatch(kind)]


def _figure(pattern: re.Pattern[str], style: str, otherwise: float) -> float:
    found = pattern.search(style)
    return float(found.group(1)) if found else otherwise
