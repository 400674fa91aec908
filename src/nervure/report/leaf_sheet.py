"""What lies beside the leaf on its plate: the key of veins, the label, the strap."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from nervure.anatomy import Anatomy
from nervure.anatomy.layout import Layout
from nervure.report.leaf_facts import pathway_count
from nervure.report.leaf_shape import LeafShape
from nervure.report.svg import element, number, text
from nervure.report.type_widths import SERIF_BOLD, width

if TYPE_CHECKING:
    from nervure.report.leaf import LeafStyle


def key_of(layout: Layout, style: LeafStyle, shape: LeafShape) -> Iterator[str]:
    """Write the key: veins of one fibre, two, three, and of the most; none if all have one."""
    most = max((len(node.fibres) for node in layout.nodes.values()), default=1)
    if most < 2:
        return
    yield '<g class="key" aria-hidden="true">'
    yield text(style.say("leaf.carried"), 0, 14, class_="note")
    for place, count in enumerate(sorted({1, 2, min(3, most), most})):
        left = place * 46
        for lane in range(count):
            y = 34 + (lane - (count - 1) / 2) * shape.lane_gap
            yield element("line", x1=left, x2=left + 20, y1=y, y2=y, class_="f v2")
        yield text(str(count), left + 25, 38.5, class_="tick")
    yield "</g>"


def sheet_of(
    anatomy: Anatomy, layout: Layout, style: LeafStyle, shape: LeafShape
) -> Iterator[str]:
    """Write the herbarium's label at the foot, and the strap over the stalk."""
    say = style.say
    counts = {"tiers": len(layout.columns), "origins": len(anatomy.origins)}
    rows = {"links": len(anatomy.links), "supplies": len(anatomy.supplies)}
    lines = [
        ("sheet-title", 28.0, style.title),
        ("sheet-note", 48.0, say("leaf.sheet-tiers", **counts)),
        ("tick", 67.0, say("leaf.sheet-rows", **rows)),
        ("tick", 84.0, say("leaf.sheet-pathways", pathways=pathway_count(anatomy))),
    ]
    wide = max(190.0, 30 + width(style.title, 16, SERIF_BOLD))
    yield f'<g class="sheet" transform="translate(0 {number(shape.height - 100)})">'
    yield element("rect", x=0.5, y=0.5, width=wide, height=96, class_="label-sheet")
    yield element("rect", x=4.5, y=4.5, width=wide - 8, height=88, class_="label-inner")
    for kind, y, line in lines:
        yield text(line, wide / 2, y, class_=kind, text_anchor="middle")
    yield "</g>"
    y = shape.middle + 40
    turn = f"rotate(-76 40 {number(y)})"
    yield element("rect", x=10, y=y - 5, width=60, height=10, transform=turn, class_="label-sheet")
