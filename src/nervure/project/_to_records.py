"""Rows of typed values -> the records of one map, and the same without loose ends."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import cast

from nervure.project._rows import Row
from nervure.project.records import (
    TIER_MARKS,
    Ids,
    Lesion,
    Link,
    Map,
    Needs,
    Reading,
    Source,
    Structure,
    Supply,
    Target,
    TargetKind,
    Tier,
    Variant,
)


def map_records(rows: Mapping[str, Sequence[Row]], name: str) -> Map:
    """Give the map whose tables hold these rows."""
    return Map(
        name=name,
        tiers=_tiers(rows["tiers"]),
        structures=tuple(map(_structure, rows["structures"])),
        links=tuple(map(_link, rows["links"])),
        targets=tuple(map(_target, rows["targets"])),
        supplies=tuple(map(_supply, rows["supplies"])),
        sources=tuple(map(_source, rows["sources"])),
        readings=tuple(map(_reading, rows["readings"])),
        variants=tuple(map(_variant, rows["variants"])),
        lesions=tuple(map(_lesion, rows["lesions"])),
    )


def _tiers(rows: Sequence[Row]) -> tuple[Tier, ...]:
    marks = tier_marks([(row.text("tier"), row.text("mark")) for row in rows])
    return tuple(
        Tier(
            row.text("tier"),
            row.text("name"),
            row.text("plural", row.text("name") + "s"),
            mark,
            row.place,
        )
        for row, mark in zip(rows, marks, strict=True)
    )


def tier_marks(tiers: Iterable[tuple[str, str]]) -> Ids:
    """Give each tier's mark: the one stated, else that of its name, else by place.

    By place means: the mark of the same place in the list, or the next one that no tier has.

    >>> tier_marks([("source", ""), ("trunk", ""), ("artery", "")])
    ('root', 'trunk', 'division')
    """
    rows = list(tiers)
    marks = [mark or (tier if tier in TIER_MARKS else "") for tier, mark in rows]
    for index, mark in enumerate(marks):
        if not mark:
            turned = [TIER_MARKS[(index + step) % len(TIER_MARKS)] for step in range(6)]
            marks[index] = next((free for free in turned if free not in marks), turned[0])
    return tuple(marks)


def _structure(row: Row) -> Structure:
    return Structure(
        id=row.text("structure"),
        tier=row.text("tier"),
        name=row.text("name"),
        short=row.text("short", row.text("name")),
        also=row.text("also"),
        site=row.yes("site", default=True),
        note=row.text("note"),
        place=row.place,
    )


def _link(row: Row) -> Link:
    return Link(
        start=row.text("from"),
        end=row.text("to"),
        level=row.whole("level"),
        enters=row.whole("enters") or 0,
        via=row.ids("via"),
        fibres=row.ids_or_none("fibres"),
        main_fibres=row.ids("main_fibres"),
        variant=row.text("variant"),
        sources=row.ids("sources"),
        place=row.place,
    )


def _target(row: Row) -> Target:
    return Target(
        id=row.text("target"),
        name=row.text("name"),
        short=row.text("short", row.text("name")),
        kind=cast("TargetKind", row.text("kind")),
        needs=cast("Needs", row.text("needs", "sum")),
        test=row.text("test"),
        note=row.text("note"),
        sources=row.ids("sources"),
        place=row.place,
    )


def _supply(row: Row) -> Supply:
    return Supply(
        target=row.text("target"),
        through=row.text("through"),
        level=row.whole("level"),
        via=row.ids("via"),
        fibres=row.ids_or_none("fibres"),
        main_fibres=row.ids("main_fibres"),
        share=row.number("share"),
        variant=row.text("variant"),
        sources=row.ids("sources"),
        place=row.place,
    )


def _source(row: Row) -> Source:
    return Source(
        row.text("source"),
        row.text("citation"),
        row.text("kind"),
        row.text("how_obtained"),
        row.place,
    )


def _reading(row: Row) -> Reading:
    return Reading(
        target=row.text("target"),
        through=row.text("through"),
        fibres=row.ids_or_none("fibres"),
        main_fibres=row.ids_or_none("main_fibres"),
        source=row.text("source"),
        place=row.place,
    )


def _variant(row: Row) -> Variant:
    return Variant(
        row.text("variant"),
        row.text("name"),
        row.text("seen_in_percent"),
        row.text("note"),
        row.ids("sources"),
        row.place,
    )


def _lesion(row: Row) -> Lesion:
    return Lesion(
        id=row.text("lesion"),
        name=row.text("name"),
        sites=row.ids("sites"),
        via=row.ids("via"),
        fibres=row.ids_or_none("fibres"),
        note=row.text("note"),
        sources=row.ids("sources"),
        place=row.place,
    )


def without_loose_ends(read: Map) -> Map:
    """Leave out what rests on a row that was left out, so that every id exists."""
    tiers = {tier.id for tier in read.tiers}
    structures = {each.id for each in read.structures if each.tier in tiers}
    targets = {target.id for target in read.targets}
    sources = {source.id for source in read.sources}
    variants = {"", *(variant.id for variant in read.variants)}

    def ways(ids: Ids) -> Ids:
        return tuple(name for name in ids if name in structures)

    def ways_or_none(ids: Ids | None) -> Ids | None:
        return None if ids is None else ways(ids)

    def cited(ids: Ids) -> Ids:
        return tuple(name for name in ids if name in sources)

    return replace(
        read,
        structures=tuple(each for each in read.structures if each.id in structures),
        links=tuple(
            replace(
                link,
                via=ways(link.via),
                fibres=ways_or_none(link.fibres),
                main_fibres=ways(link.main_fibres),
                sources=cited(link.sources),
            )
            for link in read.links
            if {link.start, link.end} <= structures and link.variant.lstrip("-") in variants
        ),
        targets=tuple(replace(each, sources=cited(each.sources)) for each in read.targets),
        supplies=tuple(
            replace(
                row,
                via=ways(row.via),
                fibres=ways_or_none(row.fibres),
                main_fibres=ways(row.main_fibres),
                sources=cited(row.sources),
            )
            for row in read.supplies
            if row.target in targets
            and row.through in structures
            and row.variant.lstrip("-") in variants
        ),
        readings=tuple(
            replace(
                row,
                fibres=ways_or_none(row.fibres),
                main_fibres=ways_or_none(row.main_fibres),
            )
            for row in read.readings
            if row.target in targets and row.source in sources and row.through in {"", *structures}
        ),
        variants=tuple(replace(each, sources=cited(each.sources)) for each in read.variants),
        lesions=tuple(
            replace(
                each,
                sites=tuple(
                    site for site in each.sites if set(_structures_of(site)) <= structures
                ),
                via=ways(each.via),
                fibres=ways_or_none(each.fibres),
                sources=cited(each.sources),
            )
            for each in read.lesions
        ),
    )


def _structures_of(site: str) -> list[str]:
    return site.partition("@")[0].split(">")
