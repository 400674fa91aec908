"""Where labels stand: beside their joint, never over another label, off the veins if they can.

Comes in: the joints with their label's size, what is already taken, points along the veins.
Goes out: a box for every label that found room. A label without room is left out, so that
the caller can show it on demand; one that stands over another is never given.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import hypot
from typing import NamedTuple

SIDEWAYS = (-0.5, -0.7, -0.85, -0.3, -0.15, -1.0, 0.0)
BESIDE = 10.0  # pixels from the joint, for a label wholly to its left or right
APART = 3.0  # pixels between labels, sideways
CELL = 24.0  # pixels, of the squares in which points are looked up
NEAR = 220.0  # pixels; joints farther off are none of a label's business


class Box(NamedTuple):
    """A rectangle: left, top, width, height."""

    x: float
    y: float
    width: float
    height: float

    def overlap(self, other: Box, apart: float = 0.0) -> float:
        """Give the area that two boxes share, each pair held apart sideways."""
        across = min(self.x + self.width, other.x + other.width) - max(self.x, other.x) + apart
        down = min(self.y + self.height, other.y + other.height) - max(self.y, other.y)
        return across * down if across > 0 and down > 0 else 0.0

    def distance(self, x: float, y: float) -> float:
        """Give the distance of a point from the box; 0 within it."""
        return hypot(
            max(self.x - x, 0, x - self.x - self.width),
            max(self.y - y, 0, y - self.y - self.height),
        )


class Wanted(NamedTuple):
    """A label to place: its size, its joint, and half the joint's height."""

    name: str
    width: float
    height: float
    x: float
    y: float
    half: float


@dataclass
class _Ground:
    """What lies on the plate: boxes that must not be covered, joints and vein points."""

    limits: Box
    joints: Mapping[str, tuple[float, float, float]]
    taken: dict[int, list[Box]] = field(default_factory=dict)
    points: dict[tuple[int, int], list[tuple[float, float]]] = field(default_factory=dict)

    def take(self, box: Box) -> None:
        for line in _lines(box):
            self.taken.setdefault(line, []).append(box)

    def is_taken(self, box: Box) -> bool:
        return any(
            box.overlap(other, APART) for line in _lines(box) for other in self.taken.get(line, ())
        )

    def on_veins(self, box: Box) -> int:
        left, right = int((box.x - 2) // CELL), int((box.x + box.width + 2) // CELL)
        top, bottom = int(box.y // CELL), int((box.y + box.height) // CELL)
        return sum(
            box.x - 2 < x < box.x + box.width + 2 and box.y + 1 < y < box.y + box.height - 1
            for column in range(left, right + 1)
            for line in range(top, bottom + 1)
            for x, y in self.points.get((column, line), ())
        )

    def cost(self, box: Box, label: Wanted) -> float | None:
        """Give how badly a label stands in a box; None if it may not."""
        inside = (
            self.limits.x <= box.x
            and self.limits.y <= box.y
            and box.x + box.width <= self.limits.x + self.limits.width
            and box.y + box.height <= self.limits.y + self.limits.height
        )
        if not inside or self.is_taken(box):
            return None
        own = box.distance(label.x, label.y)
        cost = abs(box.x + box.width / 2 - label.x) * 0.12 + own * 1.6
        cost += abs(box.y + box.height / 2 - label.y) * 0.3
        for name, (x, y, half) in self.joints.items():
            if name != label.name and abs(y - label.y) < NEAR and abs(x - label.x) < NEAR:
                if box.distance(x, y) < own + 9:  # a label belongs to the nearest joint
                    cost += 22
                cost += box.overlap(Box(x - 4, y - half, 8, 2 * half)) * 1.5
        return cost + 1.1 * self.on_veins(box)


def place_labels(
    labels: Sequence[Wanted],
    limits: Box,
    taken: Iterable[Box],
    vein_points: Iterable[tuple[float, float]],
    worst: float = 90.0,
) -> dict[str, Box]:
    """Place labels in the order given, each where it stands best.

    Parameters
    ----------
    labels
        The most important first.
    limits
        No label reaches outside.
    taken
        Boxes that no label may touch.
    vein_points
        Points along the veins; a label covers as few as it can.
    worst
        A label that stands worse than this nowhere is left out.

    Returns
    -------
    Boxes by name; no two of them overlap, and none overlaps ``taken``.
    """
    joints = {label.name: (label.x, label.y, label.half) for label in labels}
    ground = _Ground(limits, joints)
    for box in taken:
        ground.take(box)
    for x, y in vein_points:
        ground.points.setdefault((int(x // CELL), int(y // CELL)), []).append((x, y))
    placed: dict[str, Box] = {}
    for label in labels:
        tried = [
            (cost, box) for box in _places(label) if (cost := ground.cost(box, label)) is not None
        ]
        if tried:
            cost, box = min(tried)
            if cost <= worst:
                placed[label.name] = box
                ground.take(box)
    return placed


def _lines(box: Box) -> range:
    """Give the numbers of the horizontal strips that a box touches."""
    return range(int(box.y // CELL), int((box.y + box.height) // CELL) + 1)


def _places(label: Wanted) -> Iterable[Box]:
    """Give the places round a joint that a label may take: 63 of them."""
    off, high = label.half + 2, label.height
    downs = (-off - high, off, -off - high - 5, off + 5, -high / 2, -high, -2, -off - high - 11)
    for side in SIDEWAYS:
        shift = -BESIDE if side == -1 else BESIDE if side == 0 else 0.0
        for down in (*downs, off + 11):
            yield Box(label.x + side * label.width + shift, label.y + down, label.width, high)
