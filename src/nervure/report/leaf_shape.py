"""The shape of the leaf: from places in the unit square to places on the plate, in pixels.

Columns of tiers become arcs about the stem, the targets the teeth of the margin; every
fibre has its own lane across a joint, so that a vein is as thick as what it carries.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import atan2, cos, hypot, sin
from typing import NamedTuple

from nervure.anatomy.layout import Layout, Vein
from nervure.report.svg import number

STEM = 132.0  # x of the middle origin
TOP = 70.0
SHRINK = 0.27  # how far the margin falls back at the first and last target
GATHER = 0.74  # power of a tier's part of the way; the nearer 1, the closer to the midrib
LANE = 3.3
TOOTH = 9.0
LEAST_HALF = 110.0

Point = tuple[float, float]


class Joint(NamedTuple):
    """Where a vein passes: place, direction (radians), lanes across, distance of lanes."""

    x: float
    y: float
    angle: float
    lanes: int
    gap: float

    def lane(self, offset: float) -> Point:
        """Give the place of the lane that lies so many lanes below the middle."""
        return (
            self.x - sin(self.angle) * offset * self.gap,
            self.y + cos(self.angle) * offset * self.gap,
        )


class Curve(NamedTuple):
    """One piece of a lane, a cubic curve by its four points."""

    start: Point
    first: Point
    second: Point
    end: Point

    def at(self, part: float) -> Point:
        """Give the place at a part of the way, 0 to 1."""
        rest = 1 - part
        weights = (rest**3, 3 * rest * rest * part, 3 * rest * part * part, part**3)
        return (
            sum(weight * point[0] for weight, point in zip(weights, self, strict=True)),
            sum(weight * point[1] for weight, point in zip(weights, self, strict=True)),
        )


def path_of(curves: Sequence[Curve]) -> str:
    """Write curves that follow one another as the data of one SVG path."""
    steps = [f"M{number(curves[0].start[0])} {number(curves[0].start[1])}"]
    for curve in curves:
        points = (curve.first, curve.second, curve.end)
        steps.append("C" + " ".join(f"{number(x)} {number(y)}" for x, y in points))
    return "".join(steps)


@dataclass(frozen=True)
class LeafShape:
    """A layout stretched to the leaf.

    Attributes
    ----------
    layout
        The places in the unit square.
    width
        Of the whole plate, pixels.
    margin_room
        Kept free at the right for the targets' names and fibres, pixels.
    """

    layout: Layout
    width: float
    margin_room: float

    @cached_property
    def pitch(self) -> float:
        """Height of a target's row, 16 pixels or more: the more targets, the closer."""
        if self.count < 14:
            return min(56.0, 364 / max(1, self.count))
        return max(16.0, min(28.0, 12 + 450 / self.count))

    @cached_property
    def count(self) -> int:
        """Number of teeth."""
        return len(self.layout.targets)

    @cached_property
    def half(self) -> float:
        """Half the height from the first tooth to the last; a least one for few targets."""
        return max(LEAST_HALF, (self.count - 1) / 2 * self.pitch)

    @cached_property
    def middle(self) -> float:
        """Height of the midrib."""
        return TOP + max(self.half, self.shoulder_rise + 16)

    @cached_property
    def height(self) -> float:
        """Height of the whole plate; the label at the foot stands clear of the blade's neck."""
        return max(2 * self.middle - TOP + 46, self.middle + max(self.shoulder_rise + 118, 192))

    @cached_property
    def fan(self) -> float:
        """Distance of neighbouring origins, down the stem's end."""
        origins = len(self._origins)
        return max(17.0, min(27.0, self.half * 0.62 / max(1, (origins - 1) / 2)))

    @cached_property
    def spread(self) -> float:
        """Half the height from the first origin to the last."""
        return self.fan * (len(self._origins) - 1) / 2

    @cached_property
    def shoulder_rise(self) -> float:
        """How high the blade's edge stands over the midrib at the origins."""
        return max(self.spread + 40, self.half * 0.3)

    @cached_property
    def _origins(self) -> list[str]:
        return [node.id for node in self.layout.nodes.values() if node.column == 0]

    def edge(self, y: float) -> float:
        """Give the x of the margin at a height."""
        return STEM + (self.width - self.margin_room - STEM) * self.falls_back(y)

    def falls_back(self, y: float) -> float:
        """Give what is left of the blade's length at a height, 1 at the midrib."""
        away = min(1.6, abs(y - self.middle) / self.half)
        return 1 - SHRINK * float(away**1.9)

    @cached_property
    def gather(self) -> float:
        """How strongly inner tiers are drawn to the midrib; less on a tall leaf."""
        return GATHER - 0.16 * max(0.0, min(1.0, (self.half - 340) / 360))

    def row(self, place: int) -> float:
        """Give the height of a target's row."""
        return self.middle - (self.count - 1) / 2 * self.pitch + place * self.pitch

    def tip(self, place: int) -> Point:
        """Give the point of a tooth."""
        y = self.row(place)
        return self.edge(y) + TOOTH, y

    @cached_property
    def fractions(self) -> tuple[float, ...]:
        """How far from stem to margin each column stands, 0 to 1."""
        inner = len(self.layout.layers) - (2 if self.layout.targets else 1)
        if inner < 1:
            return (0.0, 1.0)[: len(self.layout.layers)]
        low, high = max(0.22, 0.335 - 0.04 * (inner - 3)), 0.8 if inner > 1 else 0.6
        step = (high - low) / (inner - 1) if inner > 1 else 0.0
        return (0.0, *(low + step * place for place in range(inner)), 1.0)

    def at(self, column: int, unit_y: float) -> Point:
        """Give the place on the plate of a height in a column of the layout."""
        row = self.row(0) + (unit_y * self.count - 0.5) * self.pitch
        if column == 0:
            place = (unit_y * len(self._origins) - 0.5) - (len(self._origins) - 1) / 2
            back = (2 * place / max(1, len(self._origins) - 1)) ** 2
            return STEM + 14 - 22 * back, self.middle + place * self.fan
        return self._at_row(column, row)

    def _at_row(self, column: int, row: float) -> Point:
        """Give the place on a tier's arc that the row of a target leads back to."""
        part = self.fractions[column]
        if part == 1:
            return self.edge(row), row
        return STEM + part * (self.edge(row) - STEM), self.middle + float(part**self.gather) * (
            row - self.middle
        )

    def _angle(self, column: int, place: Point) -> float:
        if column == len(self.layout.layers) - 1 and self.layout.targets:
            return atan2(place[1] - self.middle, place[0] - STEM) * 0.3
        lean = atan2(place[1] - self.middle, place[0] - (STEM - 90)) * 0.85
        return max(-0.95, min(0.95, lean))

    @cached_property
    def lane_gap(self) -> float:
        """Distance of lanes within a vein; closer on a dense leaf."""
        return LANE if self.pitch >= 22 else 2.7

    def joint(self, name: str) -> Joint:
        """Give where a structure or target stands."""
        return self._joints[name]

    @cached_property
    def _joints(self) -> dict[str, Joint]:
        return {name: self._joint(name) for name in (*self.layout.nodes, *self.layout.targets)}

    def _joint(self, name: str) -> Joint:
        node = self.layout.node(name)
        place = self.at(node.column, node.y)
        gap = self.lane_gap * (0.78 if node.is_target else 1)
        if node.is_target:
            gap = min(gap, self.pitch * 0.72 / max(1, len(node.fibres)))
        return Joint(*place, self._angle(node.column, place), len(node.fibres), gap)

    def lane(self, vein: Vein, fibre: str) -> list[Curve]:
        """Give a fibre's line along a vein, from the joint of its start to that of its end."""
        offset = vein.fibres.index(fibre) - (len(vein.fibres) - 1) / 2
        start, end = self.joint(vein.start), self.joint(vein.end)
        stops = [(start.lane(self.layout.lane(vein.start, fibre)), start.angle)]
        if not vein.within_tier:
            first = self.layout.node(vein.start).column
            way = [self.at(first + step, y) for step, (_, y) in enumerate(vein.points)]
            for before, place, after in zip(way, way[1:], way[2:], strict=False):
                angle = atan2(after[1] - before[1], after[0] - before[0])
                passing = Joint(*place, angle, len(vein.fibres), self.lane_gap * 0.85)
                stops.append((passing.lane(offset), angle))
        stops.append((end.lane(self.layout.lane(vein.end, fibre)), end.angle))
        if vein.within_tier:
            return [self._bulge(stops[0], stops[-1], offset)]
        return [_between(one, other) for one, other in pairwise(stops)]

    def _bulge(self, start: tuple[Point, float], end: tuple[Point, float], offset: float) -> Curve:
        """Swing out distally and come back to a structure of the same tier from before it."""
        (x1, y1), (x2, y2) = start[0], end[0]
        reach = min(60.0, 18 + 0.3 * abs(y2 - y1)) + offset * self.lane_gap
        down = 1 if y2 > y1 else -1
        return Curve((x1, y1), (x1 + reach, y1 + down * 6), (x2 + reach, y2 - down * 6), (x2, y2))

    def middle_line(self, vein: Vein) -> list[Curve]:
        """Give the line that the middle of a vein takes."""
        lanes = [self.lane(vein, fibre) for fibre in vein.fibres]
        count = len(lanes)
        return [
            Curve(
                *(
                    (sum(p[0] for p in points) / count, sum(p[1] for p in points) / count)
                    for points in zip(*piece, strict=True)
                )
            )
            for piece in zip(*lanes, strict=True)
        ]

    def stalk(self, origin: str) -> str:
        """Give a fibre's line in the stalk, from the left edge to its origin."""
        joint = self.joint(origin)
        place = self._origins.index(origin) - (len(self._origins) - 1) / 2
        y = self.middle + 58 + place * min(3.4, 30 / max(1, len(self._origins)))
        return (
            f"M22 {number(y)}C58 {number(y - 10)} 62 {number(joint.y)} "
            f"{number(joint.x)} {number(joint.y)}"
        )

    @cached_property
    def shoulder(self) -> Curve:
        """The blade's upper edge, from the origins to the first tooth."""
        top, half = self.row(0), self.half
        right = self.edge(top)
        reach = right - STEM
        return Curve(
            (STEM + 8, self.middle - self.shoulder_rise),
            (STEM + 46, self.middle - max(self.shoulder_rise, half * 0.6)),
            (right - reach * 0.42, min(top - 8, self.middle - half)),
            (right - 22, top - self.pitch * 0.62 - 6),
        )

    @cached_property
    def outline(self) -> str:
        """The edge of the blade, open at the stalk."""
        mid, rise = self.middle, self.shoulder_rise
        upper = self.shoulder
        lower = [(x, 2 * mid - y) for x, y in reversed(upper)]
        neck = f"M52 {number(mid + 30)}C60 {number(mid - 26)} {number(STEM - 18)} "
        neck += f"{number(mid - rise * 0.58)} {_xy(upper.start)}"
        back = f"L{_xy(lower[0])}C{' '.join(_xy(point) for point in lower[1:])}"
        back += f"C{number(STEM - 10)} {number(mid + rise * 0.71)} 74 {number(mid + 80)} "
        back += f"46 {number(mid + 66)}"
        return f"{neck}C{' '.join(_xy(p) for p in upper[1:])}{self._teeth()}{back}"

    def _teeth(self) -> str:
        """Write the margin tooth by tooth; teeth point to the apex, at the midrib."""
        scale, steps = self.pitch / 28, []
        for place in range(self.count):
            x, y = self.tip(place)
            up = y < self.middle
            above, below = (0.62, 0.38) if up else (0.38, 0.62)
            before, after = y - self.pitch * above, y + self.pitch * below
            enter, leave = self.edge(before) - 6, self.edge(after) - 6
            if up:
                near, far = (enter + 15 * scale, before + 6 * scale), (leave + 3, y + 3 * scale)
                if not place:
                    near = (self.shoulder.end[0] + 20, self.shoulder.end[1] + 1)
            else:
                near, far = (enter + 3, y - 3 * scale), (leave + 15 * scale, after - 6 * scale)
                if place == self.count - 1:
                    leave, after = self.shoulder.end[0], 2 * self.middle - self.shoulder.end[1]
                    far = (leave + 20, after - 1)
            steps.append(f"Q{_xy(near)} {_xy((x, y))}Q{_xy(far)} {_xy((leave, after))}")
        return "".join(steps)

    def arc(self, column: int) -> tuple[str, Point]:
        """Give a tier's arc across the blade, and the place where it leaves it at the top."""
        upper = [self.shoulder.at(step / 60) for step in range(61)]
        reach = 1.7 * self.half + 60
        rows = [self.middle + step / 60 * reach for step in range(-60, 61)]
        points = [self._at_row(column, row) for row in rows]
        inside = [point for point in points if self._rises(upper, point) > -12]
        steps = [f"{number(x)} {number(y)}" for x, y in inside]
        x, y = inside[0]
        return "M" + "L".join(steps), (x - 4, y - 5)

    def _rises(self, upper: Sequence[Point], point: Point) -> float:
        """Give how far a place lies within the blade's edge over or under it, pixels."""
        edge = min(upper, key=lambda other: abs(other[0] - point[0]))
        return (self.middle - edge[1]) - abs(point[1] - self.middle)


def _between(start: tuple[Point, float], end: tuple[Point, float]) -> Curve:
    (x1, y1), angle1 = start
    (x2, y2), angle2 = end
    reach = hypot(x2 - x1, y2 - y1) * 0.42
    return Curve(
        (x1, y1),
        (x1 + reach * cos(angle1), y1 + reach * sin(angle1)),
        (x2 - reach * cos(angle2), y2 - reach * sin(angle2)),
        (x2, y2),
    )


def _xy(point: Point) -> str:
    return f"{number(point[0])} {number(point[1])}"
