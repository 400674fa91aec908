"""Whatever stands in game.toml and deck.csv, there is a game and a list of faults."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nervure.game import Rules, check_game, sentences
from nervure.game.goals import GOAL_MEASURES

SCALARS = st.one_of(
    st.booleans(),
    st.integers(-3, 500),
    st.floats(allow_nan=True),
    st.sampled_from(
        ["", "true", "last", "stock", "claims: 3", "target:ma", "root", "nerve", "ma", "wild:any"]
    ),
    st.text(max_size=6),
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(
            st.sampled_from(["2", "4", "x", "choices", "id", "when", "does", "targets"]),
            inner,
            max_size=3,
        ),
    ),
    max_leaves=6,
)
KEYS = st.one_of(
    st.sampled_from(
        [*Rules.model_fields, *GOAL_MEASURES, "method", "range", "size", "printed_on"]
    ),
    st.sampled_from(["rules.hand", "deck.ma.points", "deck.a.copies", "deck.tier:nerve.copies"]),
    st.text(max_size=5),
)
TABLES = st.fixed_dictionaries(
    {},
    optional={
        name: st.one_of(VALUES, st.dictionaries(KEYS, VALUES, max_size=5))
        for name in ("rules", "points", "bonuses", "bonus", "goals", "look", "objectives", "tune")
    },
)
DECK = st.lists(
    st.tuples(
        st.sampled_from(
            ["r1", "a", "ma", "mb", "wild:any", "wild:nerve", "variant", "x", "wild:x"]
        ),
        st.one_of(st.none(), st.integers(0, 450)),
        st.sampled_from(["", "1", "3 2", "0 0 0"]),
        st.sampled_from(["", "gift"]),
    ),
    max_size=5,
)
FIXTURES_ARE_PURE = [HealthCheck.function_scoped_fixture]


@settings(max_examples=150, deadline=None, suppress_health_check=FIXTURES_ARE_PURE)
@given(tables=TABLES, deck=DECK)
def test_any_input_gives_a_game_and_faults_that_have_a_place(
    make_game: Any, tables: dict[str, Any], deck: list[tuple[Any, ...]]
) -> None:
    game = make_game(tables.pop("rules", {}), deck, **tables)

    for fault in game.faults:
        assert fault.place.file in ("game.toml", "deck.csv", "map/targets.csv")
        assert fault.message.startswith(str(fault.place))


GOOD_RULES = st.fixed_dictionaries(
    {},
    optional={
        "hand": st.integers(1, 12),
        "display": st.integers(0, 8),
        "open_targets": st.integers(0, 8),
        "secret_targets": st.integers(0, 4),
        "connect": st.sampled_from(["true", "neighbours"]),
        "supply": st.sampled_from(["true", "main", "last-card"]),
        "skip_tiers": st.booleans(),
        "claim_needs": st.sampled_from([[], ["last"], ["origin", "last"]]),
        "claim_minimum": st.integers(1, 4),
        "claim_real": st.integers(0, 4),
        "full_strand": st.sampled_from(["way", "deck"]),
        "parts_show": st.sampled_from(["nothing", "links", "links-and-targets"]),
        "targets_show": st.sampled_from(["nothing", "origins", "way", "pathways"]),
        "tiers": st.sampled_from([[], ["root", "nerve"], ["nerve"]]),
    },
)


@settings(max_examples=80, deadline=None, suppress_health_check=FIXTURES_ARE_PURE)
@given(rules=GOOD_RULES, deck=DECK)
def test_every_game_can_be_checked_and_said(
    make_game: Any, rules: dict[str, Any], deck: list[tuple[Any, ...]]
) -> None:
    game = make_game(rules, deck)
    found = check_game(game)

    assert set(found.targets) == set(game.targets)
    assert all(len(target.fair) == len(target.points) for target in found.targets.values())
    assert all(text.endswith(".") for _, text in sentences(game))


def test_a_number_that_is_none_does_not_fit(make_game: Any) -> None:
    game = make_game(goals={"turns": [1, float("nan")]})

    assert [fault.place.column for fault in game.faults if fault.code == "bad-setting"] == [
        "goals.turns"
    ]


@pytest.mark.parametrize("size", [[float("nan"), 88], [63, float("inf")]])
def test_a_card_has_a_size(make_game: Any, size: list[float]) -> None:
    faults = make_game(look={"size": size}).faults

    assert "look.size" in [fault.place.column for fault in faults]
