"""What the bundled maps know of the nerves of a table, and all that lies proximal of them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from nervure.maps import bundled_maps, map_folder
from nervure.project._cells import to_id
from nervure.project.read import read_map
from nervure.project.records import Link, Map

_SHORTENED = {
    "sup": "superior",
    "inf": "inferior",
    "ant": "anterior",
    "post": "posterior",
    "lat": "lateral",
    "med": "medial",
    "prof": "deep",
    "comm": "common",
}
_EMPTY_WORDS = {"nerve", "nerves", "nervus", "n", "the", "artery", "of"}


@dataclass(slots=True)
class KnownNerves:
    """The part of one bundled map that leads to the nerves of a table; empty if none knows any.

    ``structure_of``: by `name_key` of a nerve's name.
    """

    map: Map | None = None
    structure_of: dict[str, str] = field(default_factory=dict)
    structures: set[str] = field(default_factory=set)
    links: tuple[Link, ...] = ()


def name_key(name: str) -> str:
    """Give a name without the words that tell nothing, and shortened words in full.

    >>> name_key("Femoral nerve"), name_key("n. gluteal sup.")
    ('femoral', 'gluteal-superior')
    """
    parts = [_SHORTENED.get(part, part) for part in to_id(name).split("-")]
    return "-".join(part for part in parts if part not in _EMPTY_WORDS) or "-".join(parts)


def known_nerves(names: Iterable[str]) -> KnownNerves:
    """Give what the bundled map knows that has most of the nerves named."""
    wanted = {name_key(name) for name in names}
    best = KnownNerves()
    for name in bundled_maps() if wanted else ():
        bundled = read_map(map_folder(name), name)[0]
        found = {key: id_ for key, id_ in _names_of(bundled).items() if key in wanted}
        if len(found) > len(best.structure_of):
            best = KnownNerves(bundled, found)
    if best.map is not None:
        _add_proximal(best, best.map)
    return best


def _names_of(bundled: Map) -> dict[str, str]:
    names: dict[str, str] = {}
    for structure in bundled.structures:
        if structure.tier != bundled.tiers[0].id:
            also = re.split(r"[;,]", structure.also)
            for name in (structure.id, structure.name, structure.short, *also):
                if to_id(name):
                    names.setdefault(name_key(name), structure.id)
    return names


def _add_proximal(known: KnownNerves, bundled: Map) -> None:
    """Add what lies proximal of the nerves in the standard build of the map."""
    standard = [link for link in bundled.links if link.variant[:1] in ("", "-")]
    known.structures = set(known.structure_of.values())
    waiting = list(known.structures)
    while waiting:
        end = waiting.pop()
        for start in {link.start for link in standard if link.end == end} - known.structures:
            known.structures.add(start)
            waiting.append(start)
    known.links = tuple(link for link in standard if link.end in known.structures)


def reach_of(known: KnownNerves) -> dict[str, set[str]]:
    """Give the origins that the links bring to each structure, levels and via left aside."""
    if known.map is None:
        return {}
    first = known.map.tiers[0].id
    reach = {each.id: {each.id} for each in known.map.structures if each.tier == first}
    changed = True
    while changed:
        changed = False
        for link in known.links:
            coming = reach.get(link.start, set())
            carried = coming if link.fibres is None else coming & set(link.fibres)
            before = reach.setdefault(link.end, set())
            changed |= not carried <= before
            before |= carried
    return reach
