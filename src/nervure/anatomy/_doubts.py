"""Warnings of a map: what may be right and deserves a second look."""

from __future__ import annotations

from collections.abc import Iterator

from nervure.anatomy._network import level_left
from nervure.anatomy.pathways import Anatomy
from nervure.errors import Fault, warning
from nervure.project.records import Lesion, Link, Map, Supply, Variant


def doubts(anatomy: Anatomy, said: str) -> Iterator[Fault]:
    """Give the doubts about one setting of variants; ``said`` names it in the sentences."""
    leaving: dict[str, list[Link | Supply]] = {}
    for link in anatomy.links:
        leaving.setdefault(link.start, []).append(link)
    for supply in anatomy.supplies:
        leaving.setdefault(supply.through, []).append(supply)
    yield from _blank_fibres(anatomy, said)
    yield from _meet_and_part(anatomy, leaving, said)
    yield from _levels(leaving, said)


def _blank_fibres(anatomy: Anatomy, said: str) -> Iterator[Fault]:
    for link in anatomy.links:
        if link.fibres is not None:
            continue
        useful = anatomy.useful.get(link.end, frozenset())
        idle = [
            name
            for name in anatomy.origins
            if name in anatomy.carried(link) and name not in useful
        ]
        if idle:
            yield warning(
                "blank-fibres",
                link.place.at("fibres"),
                value=" ".join(idle),
                end=link.end,
                useful=" ".join(name for name in anatomy.origins if name in useful),
                variant=said,
            )


def _meet_and_part(
    anatomy: Anatomy, leaving: dict[str, list[Link | Supply]], said: str
) -> Iterator[Fault]:
    """Find origins that enter a structure by two links and leave it by two rows with no via.

    Only rows that both ways could take count: what levels already tell apart is clear.
    """
    entering: dict[str, list[Link]] = {}
    for link in anatomy.links:
        entering.setdefault(link.end, []).append(link)
    for structure, links in entering.items():
        rows: dict[Link | Supply, None] = {}
        origins = []
        starts: dict[str, None] = {}
        for origin in anatomy.origins:
            ways = [link for link in links if origin in anatomy.carried(link)]
            open_rows = [
                row
                for row in leaving.get(structure, ())
                if not row.via
                and origin in _taken(anatomy, row)
                and sum(level_left(row) > link.enters for link in ways) > 1
            ]
            if len(open_rows) > 1:
                origins.append(origin)
                starts.update(dict.fromkeys(link.start for link in ways))
                rows.update(dict.fromkeys(open_rows))
        if rows:
            yield warning(
                "meet-and-part",
                next(iter(rows)).place.at("via"),
                value=structure,
                origins=" ".join(origins),
                starts=" ".join(starts),
                ends=" ".join(dict.fromkeys(_destination(row) for row in rows)),
                variant=said,
            )


def _taken(anatomy: Anatomy, row: Link | Supply) -> frozenset[str]:
    return anatomy.carried(row) if isinstance(row, Link) else anatomy.supplied(row)


def _destination(row: Link | Supply) -> str:
    return row.end if isinstance(row, Link) else row.target


def _levels(leaving: dict[str, list[Link | Supply]], said: str) -> Iterator[Fault]:
    for structure, rows in leaving.items():
        blank = [row for row in rows if row.level is None]
        known = sorted({row.level for row in rows if row.level is not None})
        if blank and known:
            yield warning(
                "level-partly-known",
                blank[0].place.at("level"),
                value=structure,
                levels=" ".join(map(str, known)),
                ends=" ".join(dict.fromkeys(_destination(row) for row in blank)),
                variant=said,
            )


def source_doubts(map_: Map) -> Iterator[Fault]:
    """Give the rows without a source, and those whose sources are all from memory.

    Looked at are links, supplies, variants and named lesions: what asserts anatomy.
    """
    remembered = {source.id for source in map_.sources if source.how_obtained == "from memory"}
    rows: tuple[Link | Supply | Variant | Lesion, ...]
    rows = (*map_.links, *map_.supplies, *map_.variants, *map_.lesions)
    for row in rows:
        sources = row.sources
        if not sources:
            yield warning("no-source", row.place.at("sources"))
        elif all(source in remembered for source in sources):
            yield warning("from-memory", row.place.at("sources"), value=" ".join(sources))
