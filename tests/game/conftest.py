"""Toy maps and games made in memory.

A map is written as text: ``tiers`` one line a tier (``root: r1 r2``), ``links`` one a line
(``r1 t r1`` = from, to, fibres; fibres may be left out), ``supplies`` likewise with the target
first (``ma a r1 main=r1``).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

from nervure.errors import Place
from nervure.game import Game, read_game
from nervure.project.records import (
    DEFAULT_WORDS,
    DeckRow,
    Folder,
    Link,
    Map,
    Source,
    Structure,
    Supply,
    Target,
    Tier,
)

GameMaker = Callable[..., Game]

# Roots r1, r2 meet in a trunk and part into nerves a and b. Fibres of r1 run into b as well,
# but supply nothing through it.
#     r1 -- t -- a -- ma (r1)
#     r2 -/   \- b -- mb (r2)
TIERS = "root: r1 r2\ntrunk: t\nnerve: a b"
LINKS = "r1 t\nr2 t\nt a r1\nt b r1,r2"
SUPPLIES = "ma a r1\nmb b r2"


def _fields(line: str) -> tuple[list[str], dict[str, str]]:
    words = line.split()
    named = dict(word.split("=", 1) for word in words if "=" in word)
    return [word for word in words if "=" not in word], named


def _ids(text: str) -> tuple[str, ...]:
    return tuple(text.split(",")) if text else ()


def toy_map(
    tiers: str = TIERS, links: str = LINKS, supplies: str = SUPPLIES, kinds: str = ""
) -> Map:
    held = [line.split(":") for line in tiers.splitlines()]
    structures = [(name, tier) for tier, names in held for name in names.split()]
    link_rows, supply_rows = [], []
    for row, line in enumerate(links.splitlines(), start=2):
        (start, end, *fibres), named = _fields(line)
        level = int(named["level"]) if "level" in named else None
        link_rows.append(
            Link(
                start,
                end,
                level,
                0,
                _ids(named.get("via", "")),
                _ids(fibres[0]) if fibres else None,
                (),
                "",
                ("own",),
                Place("map/links.csv", row),
            )
        )
    for row, line in enumerate(supplies.splitlines(), start=2):
        (target, through, *fibres), named = _fields(line)
        supply_rows.append(
            Supply(
                target,
                through,
                None,
                _ids(named.get("via", "")),
                _ids(fibres[0]) if fibres else None,
                _ids(named.get("main", "")),
                None,
                "",
                ("own",),
                Place("map/supplies.csv", row),
            )
        )
    kind_of = dict(word.split("=") for word in kinds.split())
    targets = dict.fromkeys(row.target for row in supply_rows)
    return Map(
        name="toy",
        tiers=tuple(
            Tier(tier, tier.title(), f"{tier}s", "root", Place("map/tiers.csv", row))
            for row, (tier, _) in enumerate(held, start=2)
        ),
        structures=tuple(
            Structure(
                name, tier, name.upper(), name, "", True, "", Place("map/structures.csv", row)
            )
            for row, (name, tier) in enumerate(structures, start=2)
        ),
        links=tuple(link_rows),
        targets=tuple(
            Target(
                name,
                name.upper(),
                name,
                kind_of.get(name, "muscle"),  # type: ignore[arg-type]
                "sum",
                "",
                "",
                ("own",),
                Place("map/targets.csv", row),
            )
            for row, name in enumerate(targets, start=2)
        ),
        supplies=tuple(supply_rows),
        sources=(
            Source(
                "own", "Made up for a test", "own", "own observation", Place("map/sources.csv", 2)
            ),
        ),
    )


def deck_row(
    row: int, card: str, copies: int | None = None, points: str = "", bonus: str = ""
) -> DeckRow:
    ladder = tuple(map(int, points.split())) or None
    return DeckRow(card, copies, ladder, bonus, Place("deck.csv", row))


def toy_game(
    rules: dict[str, Any] | None = None,
    deck: Sequence[tuple[Any, ...]] = (),
    map_: Map | None = None,
    **tables: Any,
) -> Game:
    settings = {"title": "Toy", "rules": rules or {}, **tables}
    rows = tuple(deck_row(row, *cells) for row, cells in enumerate(deck, start=2))
    folder = Folder(
        path=Path("toy"),
        title="Toy",
        language="en",
        map=map_ or toy_map(),
        map_origin="folder",
        variants=(),
        words=DEFAULT_WORDS,
        settings=settings,
        deck=rows,
    )
    return read_game(folder)


@pytest.fixture(name="make_game")
def _make_game() -> GameMaker:
    return toy_game


@pytest.fixture(name="make_map")
def _make_map() -> Callable[..., Map]:
    return toy_map


@pytest.fixture(name="small")
def _small() -> dict[str, Any]:
    """Rules under which the toy deck has cards enough."""
    return {"players": [2, 2], "hand": 2, "display": 1, "open_targets": 2, "end": "claims: 1"}


@pytest.fixture(scope="module")
def module_make_game() -> GameMaker:
    return toy_game


@pytest.fixture(scope="module")
def module_make_map() -> Callable[..., Map]:
    return toy_map
