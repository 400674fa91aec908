"""The map drawn as a pressed leaf: one SVG, lit by style sheet alone, with no script.

Every fibre is one line from its origin to its targets. Pointing at a target, or following
its link, lights the fibre-true pathways that supply it; pointing at a structure lights
those that run through it. The rules for that come with the drawing (`Leaf.css`), the colours
from the page. Whoever shows a leaf gives its pathways as text as well.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from html import escape

from nervure import words
from nervure.anatomy import Anatomy
from nervure.anatomy.layout import Layout, Vein, lay_out
from nervure.project.records import DEFAULT_WORDS
from nervure.report.labels import Box, Wanted, place_labels
from nervure.report.leaf_facts import (
    lighting_rules,
    lit_by,
    main_fibres,
    pathway_count,
    variant_lanes,
)
from nervure.report.leaf_margin import Margin
from nervure.report.leaf_shape import LeafShape, path_of
from nervure.report.leaf_sheet import key_of, sheet_of
from nervure.report.marks import mark_of_tier
from nervure.report.svg import element, number, text
from nervure.report.type_widths import (
    SANS,
    SANS_BOLD,
    SERIF_ITALIC,
    lines_within,
    width,
)

LABEL = 13.0
LINE = 14.5
WIDEST_LINE = 96.0
RARE = 0.2  # of a lane's usual thickness; thinner ones are dotted


@dataclass(frozen=True, slots=True)
class Gauge:
    """A figure for each target, a bar at the right: its share of the longest bar, its text."""

    heading: str
    bars: Mapping[str, tuple[float, str]]


@dataclass(frozen=True, slots=True)
class LeafStyle:
    """How a leaf is drawn.

    Attributes
    ----------
    width
        Of the plate, in pixels of its own; the page scales it.
    title
        What the label sheet and a screen reader call it.
    doubted
        Fibres on which sources differ: target, origin.
    map_words
        What the map's people say for fibre and origin.
    language
        Of the labels.
    key
        Stands before every id, so that two leaves can share a page.
    thickness
        Of a lane by start, end, fibre: 1 as usual, up to 0.2 rare and dotted. Missing: 1.
    gauge
        A figure for each target.
    """

    width: float = 980.0
    title: str = ""
    doubted: frozenset[tuple[str, str]] = frozenset()
    map_words: Mapping[str, str] = field(default_factory=lambda: dict(DEFAULT_WORDS))
    language: str = words.FALLBACK
    key: str = "leaf"
    thickness: Mapping[tuple[str, str, str], float] = field(default_factory=dict)
    gauge: Gauge | None = None

    def say(self, key: str, **values: object) -> str:
        """Give a text of the leaf in its language and in the words of the map."""
        return words.say(key, self.language, **{**self.map_words, **values})


@dataclass(frozen=True, slots=True)
class Leaf:
    """A drawn leaf.

    Attributes
    ----------
    svg
        The drawing.
    css
        The rules that light it.
    labels
        Boxes of the structures' labels, by id; none overlaps another.
    targets
        Ids in the order of the margin; the link of the third is ``KEY-t2``.
    unlabelled
        Structures that found no room for a label; theirs shows when they are pointed at.
    width, height
        Of the plate, pixels.
    """

    svg: str
    css: str
    labels: Mapping[str, Box]
    targets: tuple[str, ...]
    unlabelled: tuple[str, ...]
    width: float
    height: float


def draw_leaf(
    anatomy: Anatomy, style: LeafStyle | None = None, layout: Layout | None = None
) -> Leaf:
    """Draw the anatomy as a leaf.

    Parameters
    ----------
    anatomy
        The map with the variants in force; what only a variant brings is dashed.
    style
        Words, doubts, figures.
    layout
        Places of the parts; by default all structures and targets.
    """
    return _Drawing(anatomy, style or LeafStyle(), layout or lay_out(anatomy)).drawn()


class _Drawing:
    """One leaf while it is drawn, group by group from the ground up."""

    def __init__(self, anatomy: Anatomy, style: LeafStyle, layout: Layout) -> None:
        self.anatomy, self.style, self.layout = anatomy, style, layout
        self.short = {row.id: row.short or row.name for row in anatomy.map.structures}
        self.name = {row.id: row.name for row in anatomy.map.structures}
        self.margin = Margin(anatomy, layout, style)
        self.shape = LeafShape(layout, style.width, self.margin.room)
        targets = {name: place for place, name in enumerate(layout.targets)}
        self.numbers = {name: place for place, name in enumerate(layout.nodes)}
        self.lit = lit_by(anatomy, layout, targets, self.numbers)
        self.variants = variant_lanes(anatomy)
        self.percent = {row.id: row.seen_in_percent for row in anatomy.map.variants}
        self.lanes = {
            (vein.start, vein.end, fibre): self.shape.lane(vein, fibre)
            for vein in layout.veins
            for fibre in vein.fibres
        }

    def drawn(self) -> Leaf:
        labels, shown = self._labels()
        style, layout, shape = self.style, self.layout, self.shape
        key, title = style.key, style.title
        head = element(
            "title", escape(self.style.say("leaf.title", title=title)), id=f"{key}-title"
        )
        picture = element(
            "g",
            element("desc", escape(self._described()), id=f"{key}-desc"),
            element("path", class_="blade", d=f"{shape.outline}Z"),
            *self._arcs(),
            *self._veins(),
            element("path", class_="marginline", d=shape.outline),
            *key_of(layout, style, shape),
            *sheet_of(self.anatomy, layout, style, shape),
            *self._structures(labels, shown),
            role="img",
            aria_labelledby=f"{key}-title",
            aria_describedby=f"{key}-desc",
        )
        margin = [*self.margin.heads(shape), *self.margin.rows(shape, self.lit)]
        svg = (
            f'<svg class="leaf" viewBox="0 0 {number(shape.width)} {number(shape.height)}" '
            f'role="group" aria-labelledby="{key}-title" '
            f'style="--lane:{number(shape.lane_gap)}px">{head}{picture}{"".join(margin)}</svg>'
        )
        return Leaf(
            svg,
            lighting_rules(key, len(self.layout.targets), len(self.numbers)),
            {name: box for name, box in labels.items() if name in self.numbers},
            tuple(self.layout.targets),
            tuple(name for name in self.numbers if name not in shown),
            shape.width,
            shape.height,
        )

    def _described(self) -> str:
        return self.style.say(
            "leaf.description",
            structures=len(self.layout.nodes),
            tiers=len(self.layout.columns),
            targets=len(self.layout.targets),
            pathways=pathway_count(self.anatomy),
        )

    # Ground and veins

    def _arcs(self) -> Iterator[str]:
        tiers = {row.id: row for row in self.anatomy.map.tiers}
        for column, (tier, _) in enumerate(self.layout.columns):
            name = tiers[tier].name[:1].lower() + tiers[tier].name[1:]
            if column:
                path, (x, y) = self.shape.arc(column)
                yield element("path", class_="arc", d=path)
            else:
                x = self.shape.at(0, 0.0)[0] - 18
                y = self.shape.middle - self.shape.spread - 34
            wide = width(name, 14, SERIF_ITALIC) + 24
            x = max(x, wide + 1)
            left = x - wide
            mark = f"#mark-{mark_of_tier(tiers[tier], self.anatomy.map)}"
            yield element("use", href=mark, x=left, y=y - 13, width=17, height=17, class_="mark")
            yield text(name, x, y, class_="tiername", text_anchor="end")

    def _veins(self) -> Iterator[str]:
        yield '<g class="sheaths">'
        for vein in self.layout.veins:
            thick = len(vein.fibres) * self.shape.lane_gap + 2.4
            line = path_of(self.shape.middle_line(vein))
            yield element("path", d=line, stroke_width=thick)
        yield '</g><g class="lanes">'
        for node in self.layout.nodes.values():
            if node.column == 0:
                lit = self.lit.get(("", "", node.id), "")
                yield element("path", class_=f"f v0 {lit}", d=self.shape.stalk(node.id))
        for vein in self.layout.veins:
            yield from self._lanes_of(vein)
        yield "</g>"

    def _lanes_of(self, vein: Vein) -> Iterator[str]:
        main = main_fibres(self.anatomy, vein)
        depth = min(5, self.layout.node(vein.start).column + 1)
        for fibre in vein.fibres:
            lane = (vein.start, vein.end, fibre)
            thick = self.style.thickness.get(lane, 1.0)
            kinds = [
                f"f v{depth}",
                self.lit.get(lane, ""),
                "main" if fibre in main else "",
                "variant" if lane in self.variants else "",
                "rare" if thick <= RARE else "",
            ]
            yield element(
                "path",
                class_=" ".join(filter(None, kinds)),
                style=None if thick == 1.0 else f"--thick:{thick:.2f}",
                d=path_of(self.lanes[lane]),
            )

    # Structures and their labels

    def _labels(self) -> tuple[dict[str, Box], dict[str, tuple[str, ...]]]:
        """Place names; where a name finds no room its short form; else none, on demand.

        What a variant brings carries its percentage, placed with the names.
        """
        shape = self.shape
        inner = [node for node in self.layout.nodes.values() if node.column]
        inner.sort(key=lambda node: (node.column, -len(node.fibres)))
        texts = {node.id: lines_within(self.name[node.id], WIDEST_LINE, LABEL) for node in inner}
        taken = list(self._taken())
        points = [
            curve.at(step / 14)
            for curves in self.lanes.values()
            for curve in curves
            for step in range(1, 14)
        ]
        limits = Box(2, 34, shape.width - 4, shape.height - 40)
        wanted = [self._wanted(name, lines) for name, lines in texts.items()]
        placed = place_labels([*wanted, *self._percentages()], limits, taken, points)
        texts |= {name: (self._percentage(name),) for name in placed if name not in texts}
        shown = {name: texts[name] for name in placed}
        left = [self._wanted(name, (self.short[name],)) for name in texts if name not in placed]
        also = place_labels(left, limits, [*taken, *placed.values()], points)
        shown |= {name: (self.short[name],) for name in also}
        for node in self.layout.nodes.values():
            if node.column == 0:
                x, y = shape.at(0, node.y)
                wide = width(self.short[node.id], LABEL, SANS_BOLD) + 4
                placed[node.id] = Box(x - wide / 2, y - LABEL * 0.62, wide, LABEL * 1.2)
                shown[node.id] = (self.short[node.id],)
        return placed | also, shown

    def _wanted(self, name: str, lines: tuple[str, ...]) -> Wanted:
        joint = self.shape.joint(name)
        wide = max(width(line, LABEL, SANS) for line in lines) + 3
        half = joint.lanes * joint.gap / 2 + 3
        return Wanted(name, wide, len(lines) * LINE, joint.x, joint.y, half)

    def _percentages(self) -> Iterator[Wanted]:
        """Give a label for each vein that only a variant brings, at its middle."""
        for vein in self.layout.veins:
            lanes = [(vein.start, vein.end, fibre) for fibre in vein.fibres]
            if all(lane in self.variants for lane in lanes):
                line = self.shape.middle_line(vein)
                x, y = line[len(line) // 2].at(0.5 if len(line) % 2 else 0.0)
                name = f"{vein.start}>{vein.end}"
                wide = width(self._percentage(name), LABEL, SERIF_ITALIC) + 2
                yield Wanted(name, wide, LINE, x, y, len(lanes) * self.shape.lane_gap / 2 + 2)

    def _percentage(self, vein: str) -> str:
        start, end = vein.split(">")
        variant = next(
            found
            for (one, other, _), found in self.variants.items()
            if (one, other) == (start, end)
        )
        percent = self.percent.get(variant, "")
        is_figure = percent[:1].isdigit()
        return self.style.say("leaf.variant-in" if is_figure else "leaf.variant", percent=percent)

    def _taken(self) -> Iterator[Box]:
        """Give what no label may touch: origins, teeth with their names, key and sheet."""
        for node in self.layout.nodes.values():
            if node.column == 0:
                x, y = self.shape.at(0, node.y)
                yield Box(x - 26, y - 10, 52, 20)
        pitch = self.shape.pitch
        for place in range(len(self.layout.targets)):
            x, y = self.shape.tip(place)
            yield Box(x - 6, y - pitch / 2, self.shape.width - x + 6, pitch)
        yield Box(0, 0, 210, 46)
        yield Box(0, self.shape.height - 108, 214, 108)

    def _structures(
        self, labels: Mapping[str, Box], shown: Mapping[str, tuple[str, ...]]
    ) -> Iterator[str]:
        for name, place in self.numbers.items():
            lit = self.lit.get((name, "", ""), "")
            yield element(
                "g",
                *self._structure(name, labels, shown),
                class_=f"s pick {lit}".strip(),
                id=f"{self.style.key}-s{place}",
            )
        for name in shown:
            if name not in self.numbers:
                yield _label(labels[name], shown[name], "name rate")

    def _structure(
        self, name: str, labels: Mapping[str, Box], shown: Mapping[str, tuple[str, ...]]
    ) -> Iterator[str]:
        joint, is_origin = self.shape.joint(name), self.layout.nodes[name].column == 0
        half = joint.lanes * joint.gap / 2 + 2.6
        fibres = " ".join(self.short[fibre] for fibre in self.layout.nodes[name].fibres)
        told = self.style.say("leaf.structure", name=self.name[name], carries=fibres)
        yield element("title", escape(told, quote=False))
        yield element("circle", cx=joint.x, cy=joint.y, r=max(9.0, half), class_="feel")
        if not is_origin:
            (x1, y1), (x2, y2) = joint.lane(-half / joint.gap), joint.lane(half / joint.gap)
            yield element("line", x1=x1, y1=y1, x2=x2, y2=y2, class_="joint")
        if name in shown:
            yield _label(labels[name], shown[name], "name origin" if is_origin else "name")
        else:
            box = Box(joint.x - 70, joint.y - half - LINE - 2, 140, LINE)
            yield element("g", _label(box, (self.name[name],), "name"), class_="ondemand")


def _label(box: Box, lines: tuple[str, ...], kind: str) -> str:
    middle = box.x + box.width / 2
    base = box.y + LABEL * (0.98 if "origin" in kind else 0.86)
    spans = [
        element("tspan", escape(line, quote=False), x=middle, y=base + place * LINE)
        for place, line in enumerate(lines)
    ]
    return element("text", *spans, class_=kind, text_anchor="middle")
