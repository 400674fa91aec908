"""Small maps written as lines of text, one row a line.

A line of links: ``start end key=value …``; of supplies: ``target through key=value …``;
values with several ids are joined by commas (``fibres=l4,l5``). Rows count from 2, as a
spreadsheet shows them.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from nervure.errors import Place
from nervure.project.records import (
    Lesion,
    Link,
    Map,
    Reading,
    Source,
    Structure,
    Supply,
    Target,
    Tier,
    Variant,
)

MapMaker = Callable[..., Map]


def _rows(text: str) -> list[tuple[list[str], dict[str, str]]]:
    rows = []
    for line in text.strip().splitlines():
        words = line.split()
        fields = dict(word.split("=", 1) for word in words if "=" in word)
        rows.append(([word for word in words if "=" not in word], fields))
    return rows


def _ids(fields: dict[str, str], name: str) -> tuple[str, ...]:
    return tuple(fields[name].split(",")) if fields.get(name) else ()


def _maybe(fields: dict[str, str], name: str) -> Any:
    return _ids(fields, name) if name in fields else None


def _row_of(fields: dict[str, str]) -> dict[str, Any]:
    return {
        "level": int(fields["level"]) if "level" in fields else None,
        "via": _ids(fields, "via"),
        "fibres": _maybe(fields, "fibres"),
        "main_fibres": _ids(fields, "main"),
        "variant": fields.get("variant", ""),
        "sources": _ids({"sources": "book", **fields}, "sources"),
    }


def _make(
    tiers: dict[str, str],
    links: str,
    supplies: str,
    *,
    targets: str = "",
    variants: str = "",
    lesions: str = "",
    readings: str = "",
    sources: str = "book",
    closed: str = "",
) -> Map:
    def place(table: str, row: int) -> Place:
        return Place(f"map/{table}.csv", row + 2)

    names = [(tier, name) for tier, line in tiers.items() for name in line.split()]
    told = {words[0]: fields for words, fields in _rows(targets)}
    supply_rows = _rows(supplies)
    target_ids = list(dict.fromkeys([*told, *(words[0] for words, _ in supply_rows)]))
    return Map(
        name="small",
        tiers=tuple(
            Tier(tier, tier, tier, "", place("tiers", row)) for row, tier in enumerate(tiers)
        ),
        structures=tuple(
            Structure(
                name, tier, name, "", "", name not in closed.split(), "", place("structures", row)
            )
            for row, (tier, name) in enumerate(names)
        ),
        links=tuple(
            Link(
                start=words[0],
                end=words[1],
                enters=int(fields.get("enters", 0)),
                place=place("links", row),
                **_row_of(fields),
            )
            for row, (words, fields) in enumerate(_rows(links))
        ),
        targets=tuple(
            Target(
                id=name,
                name=name,
                short="",
                kind=told.get(name, {}).get("kind", "muscle"),  # type: ignore[arg-type]
                needs=told.get(name, {}).get("needs", "sum"),  # type: ignore[arg-type]
                test="",
                note="",
                sources=(),
                place=place("targets", row),
            )
            for row, name in enumerate(target_ids)
        ),
        supplies=tuple(
            Supply(
                target=words[0],
                through=words[1],
                share=float(fields["share"]) if "share" in fields else None,
                place=place("supplies", row),
                **_row_of(fields),
            )
            for row, (words, fields) in enumerate(supply_rows)
        ),
        sources=tuple(
            Source(
                words[0],
                words[0],
                "textbook",
                fields.get("how", "looked-up").replace("-", " "),
                place("sources", row),
            )
            for row, (words, fields) in enumerate(_rows(sources))
        ),
        readings=tuple(
            Reading(
                target=words[1],
                through=fields.get("through", ""),
                fibres=_maybe(fields, "fibres"),
                main_fibres=_maybe(fields, "main"),
                source=words[0],
                place=place("readings", row),
            )
            for row, (words, fields) in enumerate(_rows(readings))
        ),
        variants=tuple(
            Variant(words[0], words[0], "10", "", ("book",), place("variants", row))
            for row, (words, _) in enumerate(_rows(variants))
        ),
        lesions=tuple(
            Lesion(
                id=words[0],
                name=words[0],
                sites=tuple(words[1:]),
                via=_ids(fields, "via"),
                fibres=_maybe(fields, "fibres"),
                note="",
                sources=("book",),
                place=place("lesions", row),
            )
            for row, (words, fields) in enumerate(_rows(lesions))
        ),
    )


@pytest.fixture(scope="session")
def small_map() -> MapMaker:
    """Give the maker of small maps: tiers, lines of links, lines of supplies, and more."""
    return _make
