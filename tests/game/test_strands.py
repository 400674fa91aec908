"""Joined, claims, full on the toy map, derived by hand from docs/rules.md, Strands.

r1 -- t -- a -- ma (r1);  r2 -- t -- b -- mb (r2);  fibres of r1 also run t -> b for nothing.
"""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nervure.game import WILD, Slots
from nervure.game.counts import claiming_strands, joined_strands

W = WILD


def slots(text: str) -> Slots:
    return tuple(None if part == "-" else W if part == "*" else part for part in text.split())


JOINED = [
    ("r1 - -", "true", True),  # one card always
    ("- - *", "true", True),
    ("r1 t a", "true", True),
    ("r1 - a", "true", True),  # tiers may be skipped
    ("r1 t b", "true", False),  # r1 supplies nothing through b
    ("r1 t b", "neighbours", True),  # r1 -> t for r1, t -> b for r2 (and r1)
    ("r2 t a", "true", False),
    ("r2 t a", "neighbours", True),  # r2 -> t for r2, t -> a for r1
    ("r2 - a", "neighbours", False),  # no chain carries r2 to a
    ("* t b", "true", True),  # the wild is read as r2
    ("r1 * b", "true", False),  # no reading of the wild helps
    ("r1 t *", "true", True),
    ("* * *", "true", True),
    ("r2 * a", "neighbours", True),  # read as t
]


@pytest.mark.parametrize(("text", "connect", "expected"), JOINED)
def test_slots_are_joined_as_the_rules_say(
    make_game: Any, small: dict[str, Any], text: str, connect: str, expected: bool
) -> None:
    game = make_game({**small, "connect": connect})

    assert game.strands.joined(slots(text)) is expected


SKIPPING = [
    ("r1 - a", ["root", "trunk", "nerve"], False),  # t is in the deck and is skipped
    ("r1 t a", ["root", "trunk", "nerve"], True),
    ("r1 a", ["root", "nerve"], True),  # over the left-out trunk
    ("r2 a", ["root", "nerve"], False),  # linked, but on no pathway
]


@pytest.mark.parametrize(("text", "tiers", "expected"), SKIPPING)
def test_without_skipping_successive_cards_need_a_derived_link(
    make_game: Any, small: dict[str, Any], text: str, tiers: list[str], expected: bool
) -> None:
    game = make_game({**small, "skip_tiers": False, "tiers": tiers})

    assert game.strands.joined(slots(text)) is expected


def test_a_derived_link_runs_over_left_out_tiers_and_carries_what_every_link_does(
    make_game: Any, small: dict[str, Any]
) -> None:
    links = make_game({**small, "tiers": ["root", "nerve"]}).strands.derived_links

    # r2 -> t carries r2, t -> a carries r1: a chain, but it carries nothing.
    assert {pair: set(origins) for pair, origins in links.items()} == {
        ("r1", "a"): {"r1"},
        ("r1", "b"): {"r1"},
        ("r2", "a"): set(),
        ("r2", "b"): {"r2"},
    }


CLAIMS: list[tuple[str, dict[str, Any], tuple[str, ...]]] = [
    ("r1 t a", {}, ("ma",)),
    ("r1 t -", {}, ()),  # a, the last structure of ma's pathway, is missing
    ("r1 t -", {"claim_needs": []}, ("ma",)),
    ("- t -", {"claim_needs": []}, ()),  # two cards at least
    ("- t -", {"claim_needs": [], "claim_minimum": 1}, ("ma", "mb")),
    ("- t a", {"claim_needs": ["origin"]}, ()),
    ("r1 - a", {"claim_needs": ["last", "origin"]}, ("ma",)),
    ("- t *", {}, ("ma", "mb")),  # one reading for each
    ("- * *", {}, ()),  # one real card at least
    ("- * *", {"claim_real": 0}, ("ma", "mb")),
    ("* t b", {}, ("mb",)),
    ("r1 t b", {"connect": "neighbours"}, ()),  # joined, but on no pathway of mb
    ("r1 t b", {"connect": "neighbours", "supply": "last-card"}, ("mb",)),
    ("r1 t b", {"supply": "last-card"}, ()),  # not joined
    ("r1 - a", {"claim_minimum": 3}, ()),
]


@pytest.mark.parametrize(("text", "rules", "expected"), CLAIMS)
def test_slots_claim_what_the_rules_say(
    make_game: Any,
    small: dict[str, Any],
    text: str,
    rules: dict[str, Any],
    expected: tuple[str, ...],
) -> None:
    game = make_game({**small, **rules})

    assert game.strands.claims(slots(text)) == expected


def test_main_supply_asks_for_a_main_pathway(
    make_game: Any, make_map: Any, small: dict[str, Any]
) -> None:
    map_ = make_map(
        tiers="root: r1 r2\nnerve: a", links="r1 a\nr2 a", supplies="ma a r1,r2 main=r2"
    )
    rules = {**small, "open_targets": 1, "supply": "main"}
    game = make_game(rules, map_=map_)

    assert game.strands.claims(("r1", "a")) == ()
    assert game.strands.claims(("r2", "a")) == ("ma",)


def test_the_last_structure_of_any_pathway_of_the_target_will_do(
    make_game: Any, make_map: Any, small: dict[str, Any]
) -> None:
    # ma is supplied through n (its short pathway) and through its branch b (the long one).
    map_ = make_map(
        tiers="root: r\nnerve: n\nbranch: b", links="r n\nn b", supplies="ma n r\nma b r"
    )
    game = make_game({**small, "open_targets": 1}, map_=map_)

    assert game.strands.claims(("r", "n", None)) == ("ma",)
    assert game.strands.claims(("r", None, "b")) == ("ma",)


FULL = [
    ("r1 t a", "way", ("ma",)),
    ("r1 - a", "way", ()),
    ("* * a", "way", ("ma",)),
    ("r1 t a", "deck", ("ma",)),
    ("- t a", "deck", ()),
]


@pytest.mark.parametrize(("text", "full_strand", "expected"), FULL)
def test_a_strand_is_full_as_the_game_chooses(
    make_game: Any, small: dict[str, Any], text: str, full_strand: str, expected: tuple[str, ...]
) -> None:
    game = make_game({**small, "full_strand": full_strand})

    assert game.strands.full(slots(text)) == expected


def test_a_short_pathway_is_full_by_its_way_and_never_by_the_deck(
    make_game: Any, make_map: Any, small: dict[str, Any]
) -> None:
    map_ = make_map(
        tiers="root: r\nnerve: n\nbranch: b", links="r n\nn b", supplies="ma n r\nmb b r"
    )

    by_way = make_game({**small, "open_targets": 1}, map_=map_).strands
    by_deck = make_game({**small, "full_strand": "deck"}, map_=map_).strands
    assert by_way.full(("r", "n", None)) == ("ma",)
    assert by_deck.full(("r", "n", None)) == ()


def test_via_tells_pathways_apart_that_meet_in_one_structure(
    make_game: Any, make_map: Any, small: dict[str, Any]
) -> None:
    # Fibres of r reach the sciatic s by two divisions p and q and part again by via.
    map_ = make_map(
        tiers="root: r\ndivision: p q\nnerve: s\nbranch: x y",
        links="r p\nr q\np s\nq s\ns x via=p\ns y via=q",
        supplies="mx x r\nmy y r",
    )
    game = make_game(small, map_=map_)

    assert game.strands.claims(("r", "p", "s", "x")) == ("mx",)
    assert not game.strands.joined(("r", "p", "s", "y"))
    assert not game.strands.joined((None, "q", None, "x"))


@st.composite
def _layered_maps(draw: st.DrawFn) -> dict[str, str]:
    """Random maps of three tiers with up to two structures each, every link blank."""
    sizes = [draw(st.integers(1, 3)) for _ in range(3)]
    names = [[f"{'xyz'[tier]}{i}" for i in range(size)] for tier, size in enumerate(sizes)]
    links = []
    for low in range(3):
        for high in range(low + 1, 3):
            for start, end in product(names[low], names[high]):
                if draw(st.booleans()):
                    fibres = draw(st.sets(st.sampled_from(names[0]), max_size=2))
                    links.append(f"{start} {end} {','.join(sorted(fibres))}".strip())
    supplies = []
    for number, through in enumerate(
        draw(st.lists(st.sampled_from([*names[0], *names[1], *names[2]]), max_size=4))
    ):
        supplies.append(f"m{number % 2} {through}")
    tiers = "\n".join(f"tier{i}: {' '.join(held)}" for i, held in enumerate(names))
    return {"tiers": tiers, "links": "\n".join(links), "supplies": "\n".join(supplies)}


RULES = st.fixed_dictionaries(
    {
        "connect": st.sampled_from(["true", "neighbours"]),
        "supply": st.sampled_from(["true", "main", "last-card"]),
        "skip_tiers": st.booleans(),
        "claim_needs": st.sampled_from([[], ["last"], ["origin"], ["last", "origin"]]),
        "claim_minimum": st.integers(1, 3),
        "claim_real": st.integers(0, 2),
        "tiers": st.sampled_from([[], ["tier0", "tier2"], ["tier1", "tier2"]]),
    }
)


@settings(max_examples=60, deadline=None)
@given(text=_layered_maps(), rules=RULES)
def test_the_enumerated_deck_is_what_the_functions_of_slots_say(
    text: dict[str, str], rules: dict[str, Any]
) -> None:
    strands = _game(text, rules).strands
    joined = joined_strands(strands)
    claiming = claiming_strands(strands, joined)

    every = product(*([None, *strands.on_tier[tier]] for tier in strands.tiers))
    for held in every:
        strand = tuple(name for name in held if name is not None)
        if strand:
            assert (strand in joined) is strands.joined(held)
            claims = tuple(name for name in strands.targets if strand in claiming[name])
            assert claims == strands.claims(held)


@settings(max_examples=40, deadline=None)
@given(text=_layered_maps(), rules=RULES)
def test_a_wild_does_what_some_structure_of_its_tier_does(
    text: dict[str, str], rules: dict[str, Any]
) -> None:
    strands = _game(text, {**rules, "claim_real": 0}).strands

    for held in product(*([None, WILD, *strands.on_tier[tier]] for tier in strands.tiers)):
        real = list(
            product(
                *(
                    strands.on_tier[tier] if slot == WILD else (slot,)
                    for tier, slot in zip(strands.tiers, held, strict=True)
                )
            )
        )
        assert strands.joined(held) is (any(map(strands.joined, real)) or not any(held))
        claims = {name for reading in real for name in strands.claims(reading)}
        assert set(strands.claims(held)) == claims


def _game(text: dict[str, str], rules: dict[str, Any]) -> Any:
    return MAKERS["game"](rules, map_=MAKERS["map"](**text))


MAKERS: dict[str, Any] = {}


@pytest.fixture(autouse=True, scope="module")
def _makers(request: pytest.FixtureRequest) -> None:
    # Hypothesis runs one test many times; the makers are pure, so they are fetched once.
    MAKERS["game"] = request.getfixturevalue("module_make_game")
    MAKERS["map"] = request.getfixturevalue("module_make_map")
