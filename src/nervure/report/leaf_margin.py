"""The targets at the leaf's margin: tooth, name, leader, fibres, perhaps a figure with its bar."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from html import escape
from typing import TYPE_CHECKING

from nervure.anatomy import Anatomy
from nervure.anatomy.layout import Layout
from nervure.report.leaf_shape import STEM, LeafShape
from nervure.report.svg import element, number, text
from nervure.report.type_widths import SANS, SANS_BOLD, SERIF_ITALIC, shortened, width

if TYPE_CHECKING:
    from nervure.report.leaf import LeafStyle

BLADE_LEAST = 320.0  # of a plate's width, for the blade between stem and margin
BLADE_MOST = 2.2  # of half its height, so that a leaf with few targets is still a leaf
LONGEST_NAME = 285.0
BAR = 92.0


@dataclass(frozen=True)
class Margin:
    """The rows of targets of one leaf, and the room that they need."""

    anatomy: Anatomy
    layout: Layout
    style: LeafStyle

    @property
    def size(self) -> float:
        """Size of the names, pixels."""
        return 15.0 if len(self.layout.targets) <= 28 else 14.0

    @cached_property
    def gauge_room(self) -> float:
        """Kept at the right for bars and figures."""
        return BAR + 60 if self.style.gauge else 0.0

    @cached_property
    def carried_room(self) -> float:
        """The width of the longest row of fibres."""
        head = width(self.style.say("leaf.fibres"), 14, SERIF_ITALIC) + 4
        return max([head, *map(self._carried_width, self.layout.targets)])

    @cached_property
    def room(self) -> float:
        """The room right of the blade; where the margin falls back, a name may be longer."""
        fixed = self.carried_room + self.gauge_room + 62
        free = self.style.width - STEM
        shape, reach = LeafShape(self.layout, self.style.width, 0.0), free
        for place, name in enumerate(self.layout.targets):
            needs = width(self.name(name), self.size) + fixed
            reach = min(reach, (free - needs) / shape.falls_back(shape.row(place)))
        return free - max(min(reach, shape.half * BLADE_MOST), BLADE_LEAST)

    def name(self, target: str) -> str:
        """Give a target's name, as much of it as a row can hold."""
        return shortened(self.anatomy.target(target).name, LONGEST_NAME, self.size)

    def _carried(self, target: str) -> list[tuple[str, bool, bool]]:
        main = self.anatomy.main_fibres_of(target)
        return [
            (self._short(fibre), fibre in main, (target, fibre) in self.style.doubted)
            for fibre in self.anatomy.fibres_of(target)
        ]

    def _carried_width(self, target: str) -> float:
        return sum(
            width(f"{fibre}? " if doubted else f"{fibre} ", self.size - 1.5, _face(main))
            for fibre, main, doubted in self._carried(target)
        )

    def _short(self, structure: str) -> str:
        row = self.anatomy.structure(structure)
        return row.short or row.name

    def heads(self, shape: LeafShape) -> Iterator[str]:
        """Write the heads of the columns."""
        if not self.layout.targets:
            return
        top = shape.row(0) - 32
        yield '<g class="heads" aria-hidden="true">'
        yield text(self.style.say("leaf.targets"), shape.tip(0)[0] + 14, top)
        yield text(self.style.say("leaf.fibres"), self._carried_x(shape), top)
        if self.style.gauge:
            yield text(self.style.gauge.heading, shape.width - 2, top, text_anchor="end")
        yield "</g>"

    def _carried_x(self, shape: LeafShape) -> float:
        return shape.width - 4 - self.gauge_room - self.carried_room

    def rows(self, shape: LeafShape, lit: Mapping[tuple[str, str, str], str]) -> Iterator[str]:
        """Write a link for every target; following it keeps the target lit."""
        yield f'<g class="rows" style="--size:{number(self.size)}px">'
        for place, name in enumerate(self.layout.targets):
            key = f"{self.style.key}-t{place}"
            yield element(
                "a",
                element("title", escape(self._told(name), quote=False)),
                *self._row(shape, name, place),
                class_=f"t pick {lit.get(('', name, ''), '')}".strip(),
                id=key,
                href=f"#{key}",
            )
        yield "</g>"

    def _row(self, shape: LeafShape, name: str, place: int) -> Iterator[str]:
        x, y = shape.tip(place)
        tall, base = shape.pitch, y + self.size * 0.34
        yield element(
            "rect", x=x - 7, y=y - tall / 2, width=shape.width - x + 7, height=tall, class_="feel"
        )
        yield element("circle", cx=x - 1, cy=y, r=3.3, class_="tooth")
        yield text(self.name(name), x + 14, base, class_="who")
        ends = x + 22 + width(self.name(name), self.size, SANS_BOLD)
        carried_x = self._carried_x(shape)
        if carried_x - 10 > ends + 12:
            yield element("line", x1=ends, x2=carried_x - 10, y1=y + 4, y2=y + 4, class_="leader")
        fibres = " ".join(_fibre(*item) for item in self._carried(name))
        yield element("text", fibres, x=carried_x, y=base, class_="carry")
        if self.style.gauge and name in self.style.gauge.bars:
            share, figure = self.style.gauge.bars[name]
            left = shape.width - self.gauge_room + 16
            long = max(1.0, share * BAR)
            yield element("rect", x=left, y=y - 3, width=long, height=6, class_="gauge")
            yield text(figure, shape.width - 2, base, text_anchor="end", class_="figure")

    def _told(self, name: str) -> str:
        main = " ".join(map(self._short, self.anatomy.main_fibres_of(name)))
        return self.style.say(
            "leaf.target-main" if main else "leaf.target",
            name=self.anatomy.target(name).name,
            carries=" ".join(map(self._short, self.anatomy.fibres_of(name))),
            main=main,
        )


def _face(main: bool) -> str:
    return SANS_BOLD if main else SANS


def _fibre(fibre: str, main: bool, doubted: bool) -> str:
    kinds = " ".join(kind for kind, has in (("main", main), ("doubted", doubted)) if has)
    shown = escape(fibre, quote=False) + ("?" if doubted else "")
    return element("tspan", shown, class_=kinds) if kinds else shown
