"""What the slow table holds of strands, worked by hand on one small map.

Links a1-b1, a2-b1, a2-b2, b1-c1 (only the fibres of a1), b1-c2 (only those of a2), b2-c2;
target-1 hangs on c1, target-2 on c2. So the pathways are a1 b1 c1 to target-1, and a2 b1 c2
and a2 b2 c2 to target-2: b1 is shared, and what enters it from a2 never leaves by c1.
"""

from __future__ import annotations

from typing import Any

import pytest
from slow_rules import WILD, StrandBook
from tiny_designs import HERE, folder_of

from nervure.game import read_game
from nervure.project.records import Link, Map, Source, Structure, Supply, Target, Tier

LINKS = [
    ("a1", "b1", ("a1",)),
    ("a2", "b1", ("a2",)),
    ("a2", "b2", ("a2",)),
    ("b1", "c1", ("a1",)),
    ("b1", "c2", ("a2",)),
    ("b2", "c2", ("a2",)),
]
SUPPLIES = [("target-1", "c1", ("a1",), ("a1",)), ("target-2", "c2", ("a2",), ())]


def _book(**rules: Any) -> StrandBook:
    map_ = Map(
        "worked",
        tuple(Tier(tier, tier, tier, "root", HERE) for tier in "abc"),
        tuple(
            Structure(f"{tier}{n}", tier, f"{tier}{n}", "", "", True, "", HERE)
            for tier in "abc"
            for n in (1, 2)
        ),
        tuple(Link(s, e, None, 0, (), f, (), "", ("own",), HERE) for s, e, f in LINKS),
        tuple(
            Target(name, name, "", "muscle", "sum", "", "", ("own",), HERE)
            for name, *_ in SUPPLIES
        ),
        tuple(
            Supply(t, through, None, (), f, main, None, "", ("own",), HERE)
            for t, through, f, main in SUPPLIES
        ),
        (Source("own", "invented for a test", "own", "own observation", HERE),),
    )
    quiet = {"players": (1, 1), "open_targets": 1, "end": ("claims: 1",), **rules}
    game = read_game(folder_of(map_, (), quiet))
    assert game.ok, game.faults
    return StrandBook(game)


@pytest.mark.parametrize(
    ("slots", "rules", "joined"),
    [
        (("a1", None, None), {}, True),  # one card always
        (("a1", "b1", "c1"), {}, True),
        (("a2", "b1", "c1"), {}, False),  # no fibre goes this way
        (("a2", "b1", "c1"), {"connect": "neighbours"}, True),  # each junction has one that does
        (("a1", "b2", None), {"connect": "neighbours"}, False),
        (("a1", None, "c1"), {}, True),
        (("a1", None, "c1"), {"skip_tiers": False}, False),
        (("a1", None, "c1"), {"tiers": ("a", "c"), "skip_tiers": False}, True),  # b is left out
        (("a1", WILD, "c1"), {}, True),
        (("a1", WILD, "c2"), {}, False),  # neither b1 nor b2 brings a1 to c2
        ((WILD, WILD, "c2"), {}, True),
    ],
)
def test_a_strand_is_joined_as_worked_by_hand(slots, rules, joined):
    if rules.get("tiers"):
        slots = (slots[0], slots[2])
    assert _book(**rules).joined(slots) is joined


@pytest.mark.parametrize(
    ("slots", "rules", "claims"),
    [
        (("a1", "b1", "c1"), {}, {"target-1"}),
        (("a1", "b1", None), {}, set()),  # the last structure is missing
        (("a1", "b1", None), {"claim_needs": ()}, {"target-1"}),
        ((None, "b1", "c1"), {"claim_needs": ("origin",)}, set()),
        ((None, "b1", "c1"), {"claim_needs": ("last",)}, {"target-1"}),
        (("a2", None, "c2"), {}, {"target-2"}),
        (("a2", None, "c2"), {"claim_minimum": 3}, set()),
        (("a2", None, WILD), {}, {"target-2"}),
        (("a2", None, WILD), {"claim_real": 2}, set()),
        ((None, "b1", WILD), {}, {"target-1", "target-2"}),
        (("a2", "b1", "c2"), {"supply": "main"}, set()),  # no main fibres there
        (("a2", "b1", None), {"supply": "true", "claim_needs": ()}, {"target-2"}),
        (("a2", "b1", None), {"supply": "last-card", "claim_needs": ()}, {"target-1", "target-2"}),
    ],
)
def test_a_strand_claims_as_worked_by_hand(slots, rules, claims):
    assert _book(**rules).claims(slots) == claims


@pytest.mark.parametrize(
    ("slots", "rules", "full"),
    [
        (("a2", "b2", "c2"), {}, {"target-2"}),
        (("a2", None, "c2"), {}, set()),
        (("a2", WILD, "c2"), {}, {"target-2"}),
        (("a2", "b2"), {"tiers": ("a", "b")}, {"target-2"}),  # the whole way on the deck's tiers
        ((None, "b2", "c2"), {"full_strand": "deck"}, set()),
    ],
)
def test_a_strand_is_full_as_worked_by_hand(slots, rules, full):
    assert _book(**rules).full(slots) == full
