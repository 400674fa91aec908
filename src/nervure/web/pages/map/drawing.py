"""The leaf of the workbench: the pressed leaf of the pages, made a thing to point at and press.

`nervure.report.leaf` draws; here its parts get what a script and a keyboard need: lanes
carry what they are, structures and rows become buttons, each row gets its finding and room
for what it loses. Comes in: a reading. Goes out: SVG without a style attribute, which the
content policy would refuse.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from threading import RLock
from typing import Any, Protocol
from xml.etree import ElementTree

from nervure import words
from nervure.anatomy import Anatomy, Evidence, lay_out
from nervure.project.records import Folder
from nervure.report.leaf import Gauge, LeafStyle, draw_leaf
from nervure.report.leaf_margin import Margin
from nervure.report.leaf_shape import LeafShape
from nervure.report.svg import number
from nervure.report.type_widths import SANS, width

PLATE = 960.0
KEY = "leaf"
LIT_CLASS = re.compile(r"[pq]\d+|pick")
FINDING = 12.5  # size of the words, pixels
FINDINGS = ("affected", "spared")


@dataclass(frozen=True, slots=True)
class Joint:
    """Where a structure stands on the plate: place, direction, half its height."""

    x: float
    y: float
    angle: float
    half: float


@dataclass(frozen=True, slots=True)
class Picture:
    """The drawn leaf.

    ``lane_gap``: distance of two fibres, pixels; ``joints``: by structure, in the order of
    the drawing; ``targets``: in the order of the margin; ``unlabelled``: structures whose
    label shows when they are pointed at.
    """

    svg: str
    lane_gap: float
    size: float
    joints: dict[str, Joint]
    targets: tuple[str, ...]
    unlabelled: tuple[str, ...]


class Drawable(Protocol):
    """What a leaf is drawn from: a reading of a project, or the design of a table."""

    lock: RLock
    worked_out: dict[str, Any]

    @property
    def title(self) -> str:
        """What people call it."""

    @property
    def folder(self) -> Folder:
        """The records it is made of."""

    @property
    def anatomy(self) -> Anatomy:
        """The proved map."""

    @property
    def evidence(self) -> Evidence:
        """What sources say beside it."""


def picture_of(reading: Drawable) -> Picture:
    """Give the leaf of a reading, drawn once."""
    with reading.lock:
        if "picture" not in reading.worked_out:
            reading.worked_out["picture"] = _Picture(reading).made()
        found = reading.worked_out["picture"]
        assert isinstance(found, Picture), "the leaf is kept under this name"
        return found


class _Picture:
    """One leaf while its parts are made buttons."""

    def __init__(self, reading: Drawable) -> None:
        self.anatomy: Anatomy = reading.anatomy
        doubted = frozenset(
            (target, dispute.origin)
            for target, disputes in reading.evidence.disputes.items()
            for dispute in disputes
        )
        self.style = LeafStyle(
            width=PLATE,
            title=reading.title,
            doubted=doubted,
            map_words=reading.folder.words,
            language=reading.folder.language,
            key=KEY,
            gauge=Gauge("", {}),  # keeps the room at the right
        )
        self.layout = lay_out(self.anatomy)
        self.margin = Margin(self.anatomy, self.layout, self.style)
        self.shape = LeafShape(self.layout, PLATE, self.margin.room)

    def made(self) -> Picture:
        leaf = draw_leaf(self.anatomy, self.style, self.layout)
        root = ElementTree.fromstring(leaf.svg)
        for part in root.iter():
            part.attrib.pop("style", None)
            if "class" in part.attrib:
                part.attrib["class"] = " ".join(LIT_CLASS.sub("", part.attrib["class"]).split())
        for name in ("aria-labelledby", "role"):
            root.attrib.pop(name, None)
        root.set("tabindex", "-1")  # Chromium would make the drawing a stop of its own
        title = root.find("title")
        if title is not None:
            root.remove(title)
        picture = root.find("g[desc]")
        assert picture is not None, "the leaf has a picture"
        self._make_structures(picture)
        self._name_lanes(picture)
        self._make_rows(root)
        return Picture(
            ElementTree.tostring(root, "unicode"),
            self.shape.lane_gap,
            self.margin.size,
            {name: self._joint(name) for name in self.layout.nodes},
            leaf.targets,
            leaf.unlabelled,
        )

    def _joint(self, name: str) -> Joint:
        joint = self.shape.joint(name)
        return Joint(joint.x, joint.y, joint.angle, joint.lanes * joint.gap / 2 + 2.6)

    def _name_lanes(self, picture: ElementTree.Element) -> None:
        """Write on every lane which fibre it is, from where to where."""
        names = [f">{node.id} {node.id}" for node in self.layout.nodes.values() if not node.column]
        names += [
            f"{vein.start}>{vein.end} {fibre}"
            for vein in self.layout.veins
            for fibre in vein.fibres
        ]
        lanes = picture.find("g/g[@class='lanes']")
        assert lanes is not None, "the leaf has lanes"
        for lane, name in zip(lanes, names, strict=True):
            lane.set("data-lane", name)

    def _make_structures(self, picture: ElementTree.Element) -> None:
        """Part the picture into a ground that is passed over and a group of buttons."""
        for name in ("role", "aria-labelledby", "aria-describedby"):
            picture.attrib.pop(name, None)
        ground = ElementTree.Element("g", {"class": "ground-of-leaf", "aria-hidden": "true"})
        buttons = ElementTree.Element(
            "g", {"class": "structures", "role": "group", "aria-labelledby": "h-structures"}
        )
        description = picture.find("desc")
        for part in list(picture):
            picture.remove(part)
            if part is description:
                continue
            is_button = part.get("class") == "s"
            (buttons if is_button else ground).append(part)
        for place, (part, name) in enumerate(zip(buttons, self.layout.nodes, strict=True)):
            told = part.find("title")
            label = _readable(part)
            name_said = told.text or "" if told is not None else name
            if label.lower() not in name_said.lower():
                name_said = f"{label}: {name_said}"
            part.attrib |= {
                "role": "button",
                "tabindex": "-1" if place else "0",
                "aria-pressed": "false",
                "aria-label": name_said,
                "data-id": name,
            }
            if told is not None:
                part.remove(told)
        picture.extend([ground, buttons])

    def _make_rows(self, root: ElementTree.Element) -> None:
        """Make the name of each row a button, and give it its finding."""
        rows = root.find("g[@class='rows']")
        if rows is None:
            return
        rows.attrib |= {"role": "group", "aria-labelledby": "h-targets"}
        say = self.style.map_words
        wide = {name: width(say.get(name, name), FINDING, SANS) + 12 for name in FINDINGS}
        left = {
            "affected": PLATE - 2 - sum(wide.values()) - 2,
            "spared": PLATE - 2 - wide["spared"],
        }
        self._head(root, left["affected"])
        for place, (link, name) in enumerate(zip(list(rows), self.layout.targets, strict=True)):
            told = link.find("title")
            if told is not None:
                link.remove(told)
            row = ElementTree.Element("g", {"class": "target", "data-id": name})
            link.tag = "g"
            link.attrib.pop("href", None)
            link.attrib |= {
                "role": "button",
                "tabindex": "-1" if place else "0",
                "aria-pressed": "false",
                "aria-label": told.text or "" if told is not None else name,
            }
            y = self.shape.tip(place)[1]
            feel = link.find("rect")
            if feel is not None:
                feel.set("width", number(float(feel.get("width", "0")) - 152))
            row.append(link)
            for part in link.findall("text[@class='carry']"):
                link.remove(part)  # a button's name holds what it shows, and no more
                part.set("aria-hidden", "true")
                row.append(part)
            row.append(
                ElementTree.Element(
                    "text",
                    {
                        "class": "loses",
                        "x": number(left["affected"] - 8),
                        "y": number(y + 4.5),
                        "text-anchor": "end",
                    },
                )
            )
            for finding in FINDINGS:
                row.append(self._finding(name, finding, left[finding], wide[finding], y))
            rows.remove(link)
            rows.append(row)

    def _head(self, root: ElementTree.Element, x: float) -> None:
        """Name the columns of losses and findings."""
        heads = root.find("g[@class='heads']")
        if heads is None:
            return
        y = number(self.shape.row(0) - 32)
        for key, at, anchor in (("loses", x - 8, "end"), ("finding", x + 6, "start")):
            head = ElementTree.SubElement(
                heads, "text", {"x": number(at), "y": y, "text-anchor": anchor}
            )
            head.text = words.say(f"web.map.head-{key}")

    def _finding(
        self, target: str, finding: str, x: float, wide: float, y: float
    ) -> ElementTree.Element:
        word = self.style.map_words.get(finding, finding)
        label = f"{self.anatomy.target(target).name}: {word}"
        part = ElementTree.Element(
            "g",
            {
                "class": "finding",
                "role": "button",
                "tabindex": "-1",
                "aria-pressed": "false",
                "aria-label": label,
                "data-finding": finding,
            },
        )
        tall = min(22.0, self.shape.pitch - 1)
        box = {"x": x, "y": y - tall / 2, "width": wide, "height": tall, "rx": 2.0}
        part.append(ElementTree.Element("rect", {key: number(v) for key, v in box.items()}))
        at = {"x": number(x + wide / 2), "y": number(y + 4.2), "text-anchor": "middle"}
        text = ElementTree.SubElement(part, "text", at)
        text.text = word
        return part


def _readable(part: ElementTree.Element) -> str:
    """Give the label that a structure shows, its lines parted by blanks for a reader too."""
    lines = part.findall(".//tspan")
    for line in lines[:-1]:
        line.tail = " "
    return " ".join(line.text or "" for line in lines)
