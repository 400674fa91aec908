"""Facts of a toy map worked by hand, and what its cards print of them.

Roots r1, r2 meet in a trunk t that parts into the nerves a and b. Fibres of r1 run into both
nerves and supply ma through a; fibres of r2 run into b and supply mb. So the pathways are
r1 t a to ma and r2 t b to mb; r1 has a way to b on which no target hangs.
"""

from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from nervure.game.compile import compile_game
from nervure.game.facts import fact_words, facts_about, facts_in, facts_of
from nervure.game.tables import FactTables

QUIET = {"players": [1, 1], "hand": 1, "display": 0, "open_targets": 1, "end": ["claims: 1"]}
ROOTS = ["r1>t", "r1>a", "r2>t", "r2>b"]


@pytest.mark.parametrize(
    ("rules", "expected"),
    [
        ({}, [*ROOTS, "t>a", "t>b", "a=>ma", "b=>mb"]),
        ({"skip_tiers": False}, ["r1>t", "r2>t", "t>a", "t>b", "a=>ma", "b=>mb"]),
        # A way is enough, whether a target hangs on it or not.
        (
            {"connect": "neighbours"},
            ["r1>t", "r1>a", "r1>b", "r2>t", "r2>b", "t>a", "t>b", "a=>ma", "b=>mb"],
        ),
        # The trunk is the last of two cards, r1 t and r2 t, which lie on a pathway.
        (
            {"claim_needs": []},
            [*ROOTS, "t>a", "t>b", "t=>ma", "t=>mb", "a=>ma", "b=>mb"],
        ),
        # Alone, a root lies on a pathway too.
        (
            {"claim_needs": [], "claim_minimum": 1},
            [*ROOTS, "t>a", "t>b", "r1=>ma", "r2=>mb", "t=>ma", "t=>mb", "a=>ma", "b=>mb"],
        ),
        # No two cards that begin with an origin end in one.
        ({"claim_needs": ["origin"], "claim_minimum": 3},
         [*ROOTS, "t>a", "t>b", "a=>ma", "b=>mb"]),
    ],
)  # fmt: skip
def test_the_facts_are_those_worked_by_hand(
    make_game: Any, rules: dict[str, Any], expected: list[str]
) -> None:
    assert [fact.text for fact in facts_of(make_game({**QUIET, **rules}))] == expected


def test_a_structure_without_cards_is_in_no_fact(make_game: Any) -> None:
    game = make_game(QUIET, [("t", 0), ("a", 1)])

    assert [fact.text for fact in facts_of(game)] == ["r1>a", "r2>b", "a=>ma", "b=>mb"]


@pytest.mark.parametrize("rules", [{}, {"connect": "neighbours"}, {"claim_needs": []}])
def test_the_tables_hold_the_same_facts_in_the_same_order(
    make_game: Any, rules: dict[str, Any]
) -> None:
    game = make_game({**QUIET, **rules})
    facts, tables = facts_of(game), compile_game(game, 1).facts

    ends = [game.targets if fact.is_supply else game.structures for fact in facts]
    expected = [
        [game.structures.index(fact.start), names.index(fact.end)]
        for fact, names in zip(facts, ends, strict=True)
    ]
    assert tables.pairs.tolist() == expected
    for number, (fact, (one, other)) in enumerate(zip(facts, expected, strict=True)):
        table = tables.supplies if fact.is_supply else tables.junctions
        assert table[one, other] == number


PAGE = Path(__file__).parents[2] / "docs" / "tables.md"
FIELDS = re.findall(r"^- `(\w+)`, (\w+) \((.+?)\): ", PAGE.read_text("utf-8"), re.M)


def test_the_page_of_the_tables_names_the_same_fields() -> None:
    assert [name for name, _, _ in FIELDS] == [field.name for field in fields(FactTables)]


@pytest.mark.parametrize(("name", "kind", "shape"), FIELDS)
def test_types_and_shapes_are_those_of_the_page(
    make_game: Any, name: str, kind: str, shape: str
) -> None:
    game = make_game(QUIET)
    array = getattr(compile_game(game, 1).facts, name)
    sizes = {"F": len(facts_of(game)), "S": len(game.structures), "T": len(game.targets)}

    assert array.dtype == kind
    assert list(array.shape) == [
        sizes[part] if part in sizes else int(part) for part in shape.strip(",").split(", ")
    ]


def open_pairs(game: Any) -> tuple[set[str], set[str]]:
    """Give the junctions and supplies that print leaves open, those with a distal end."""
    facts, names = compile_game(game, 1).facts, game.structures
    tier = [game.anatomy.tier_of(name) for name in names]
    junctions = {
        f"{names[a]}>{names[b]}"
        for a, b in np.ndindex(len(names), len(names))
        if int(facts.open_junctions[a]) >> b & 1 and tier[a] != tier[b] and a < b
    }
    supplies = {
        f"{names[s]}=>{target}"
        for s in range(len(names))
        for number, target in enumerate(game.targets)
        if int(facts.open_supplies[s, 0]) >> number & 1
    }
    return junctions, supplies


EVERY_JUNCTION = {"r1>t", "r1>a", "r1>b", "r2>t", "r2>a", "r2>b", "t>a", "t>b"}
EVERY_SUPPLY = {f"{s}=>{t}" for s in ("r1", "r2", "t", "a", "b") for t in ("ma", "mb")}
OF_NERVES_AND_TRUNK = {pair for pair in EVERY_SUPPLY if not pair.startswith("r")}


@pytest.mark.parametrize(
    ("rules", "junctions", "supplies"),
    [
        ({"parts_show": "nothing", "targets_show": "nothing"}, EVERY_JUNCTION, EVERY_SUPPLY),
        ({"parts_show": "links", "targets_show": "nothing"}, set(), EVERY_SUPPLY),
        ({"parts_show": "links", "targets_show": "origins"}, set(), OF_NERVES_AND_TRUNK),
        ({"parts_show": "links", "targets_show": "way"}, set(), set()),
        # Without "last" a strand may end before the way: only what it names is sure.
        (
            {"parts_show": "links", "targets_show": "way", "claim_needs": []},
            set(),
            EVERY_SUPPLY - {"a=>ma", "b=>mb"},
        ),
        ({"parts_show": "nothing", "targets_show": "pathways"}, EVERY_JUNCTION, set()),
        ({"parts_show": "links-and-targets", "targets_show": "nothing"}, set(), set()),
        # r1 lists a, for r1 t a is a strand: whether r1 and a may be successive stays open.
        # It does not list b, and t lies on the next tier.
        (
            {"parts_show": "links", "targets_show": "way", "skip_tiers": False},
            {"r1>a", "r2>b"},
            set(),
        ),
        (
            {"parts_show": "links", "targets_show": "way", "connect": "neighbours"},
            {"r1>a", "r1>b", "r2>a", "r2>b"},
            set(),
        ),
    ],
)
def test_what_cards_print_leaves_open_is_what_a_reader_cannot_tell(
    make_game: Any, rules: dict[str, Any], junctions: set[str], supplies: set[str]
) -> None:
    assert open_pairs(make_game({**QUIET, **rules})) == (junctions, supplies)


def test_a_fact_knows_its_pathways_and_targets(make_game: Any) -> None:
    found = {fact.text: fact for fact in facts_of(make_game(QUIET))}

    assert [way.structures for way in found["r1>t"].pathways] == [("r1", "t", "a")]
    assert found["b=>mb"].targets == ("mb",)
    assert found["t>a"].structures == ("t", "a")


def test_facts_about_targets_or_structures_are_found_by_their_places(make_game: Any) -> None:
    facts = facts_of(make_game(QUIET))

    about_ma = [facts[place].text for place in facts_about(facts, targets=["ma"])]
    about_b = [facts[place].text for place in facts_about(facts, structures=["b"])]
    assert about_ma == ["r1>t", "r1>a", "t>a", "a=>ma"]
    assert about_b == ["r2>b", "t>b", "b=>mb"]


def test_words_are_read_as_one_flag_a_fact() -> None:
    words = np.array([[[1 | 1 << 63, 1 << 2]]], dtype=np.uint64)

    flags = facts_in(words, 70)

    assert fact_words(70) == 2
    assert flags.shape == (1, 1, 70)
    assert np.flatnonzero(flags[0, 0]).tolist() == [0, 63, 66]
