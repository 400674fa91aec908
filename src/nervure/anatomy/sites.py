"""Sites: the places of a map that can be cut, as people write them.

``S`` is a structure cut at level 1, ``S@n`` at level n, ``from>to`` a link; the id of a
named lesion stands for its sites with its limits. Comes in: text. Goes out: `Site`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from nervure import words
from nervure.anatomy.pathways import Anatomy
from nervure.errors import BadUsage, UnknownName
from nervure.project.records import Ids, Lesion

_LEVEL = re.compile(r"[0-9]{1,9}")


@dataclass(frozen=True, slots=True)
class Site:
    """A place that can be cut, with what limits the cut.

    ``end`` is "" for a structure, else the link from ``structure`` to ``end``, whose
    ``level`` says nothing. ``via``: only pathways that passed one of these structures
    before, or none named. ``fibres``: only these origins', None all.
    """

    structure: str
    level: int = 1
    end: str = ""
    via: Ids = ()
    fibres: Ids | None = None

    def __str__(self) -> str:
        if self.end:
            return f"{self.structure}>{self.end}"
        return self.structure if self.level == 1 else f"{self.structure}@{self.level}"


def parse_site(anatomy: Anatomy, text: str) -> Site:
    """Read one site: ``S``, ``S@n`` or ``from>to``.

    Raises
    ------
    UnknownName
        No such structure, or no link row of the map, in force or not, runs that way.
    BadUsage
        What follows the @ is no whole number from 1.
    """
    start, arrow, end = (part.strip() for part in text.partition(">"))
    if arrow:
        anatomy.structure(start)
        ends = list(dict.fromkeys(row.end for row in anatomy.map.links if row.start == start))
        if end not in ends:
            known = [f"{start}>{name}" for name in ends]
            raise UnknownName(words.say("anatomy.kind.link"), f"{start}>{end}", known)
        return Site(start, end=end)
    name, at, level = (part.strip() for part in text.partition("@"))
    if name not in anatomy.structure_ids:
        lesions = [lesion.id for lesion in anatomy.map.lesions]
        known = [*anatomy.structure_ids, *lesions]
        raise UnknownName(words.say("anatomy.kind.site"), name, known)
    if not at:
        return Site(name)
    if not _LEVEL.fullmatch(level) or int(level) < 1:
        levels = " ".join(f"{name}@{found}" for found in levels_of(anatomy, name))
        raise BadUsage(
            words.say("anatomy.error.level", value=level, structure=name, levels=levels)
        )
    return Site(name, int(level))


def sites_of(anatomy: Anatomy, text: str) -> tuple[Site, ...]:
    """Read a site or the id of a named lesion, which gives its sites with its limits."""
    for lesion in anatomy.map.lesions:
        if lesion.id == text.strip():
            return _lesion_sites(anatomy, lesion)
    return (parse_site(anatomy, text),)


def _lesion_sites(anatomy: Anatomy, lesion: Lesion) -> tuple[Site, ...]:
    return tuple(
        replace(parse_site(anatomy, site), via=lesion.via, fibres=lesion.fibres)
        for site in lesion.sites
    )


def levels_of(anatomy: Anatomy, structure: str) -> tuple[int, ...]:
    """Give the levels that occur on a structure, proximal first.

    They are 1; the levels at which rows in force leave it; those before which links enter
    it; and, if any of these is known and a row leaves at the distal end, one level more
    for it. On an origin with a sensory nerve potential level 1 is known, since a cut there
    spares the potential and a cut beyond it does not.
    """
    leaving = [row.level for row in anatomy.links if row.start == structure]
    leaving += [row.level for row in anatomy.supplies if row.through == structure]
    known = {level for level in leaving if level is not None}
    known |= {row.enters for row in anatomy.links if row.end == structure and row.enters > 0}
    if structure in anatomy.origins_of_potentials:
        known.add(1)
    if known and None in leaving:
        known.add(max(known) + 1)
    return tuple(sorted(known | {1}))
