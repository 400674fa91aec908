"""The printed test against a slow one that looks at every choice of cards.

`referee` knows the cards only as a person sees them: a list, some marks. It is written from
docs/rules.md ("What cards print, and the printed test, exactly") without the enumeration that
`nervure.game.printed` uses.
"""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nervure.game import Game, printed_test

NAMES = (("r0", "r1", "r2"), ("t0", "t1"), ("n0", "n1", "n2"))


@st.composite
def maps(draw: st.DrawFn) -> dict[str, str]:
    links = []
    for proximal, distal in ((0, 1), (1, 2), (0, 2)):
        for start, end in product(NAMES[proximal], NAMES[distal]):
            if draw(st.booleans()):
                fibres = draw(st.sets(st.sampled_from(NAMES[0]), max_size=2))
                links.append(f"{start} {end} {','.join(sorted(fibres))}".strip())
    throughs = draw(st.lists(st.sampled_from([*NAMES[1], *NAMES[2]]), max_size=5))
    supplies = [
        f"m{place % 3} {through} " + draw(st.sampled_from(["", "r0", "r1,r2"]))
        for place, through in enumerate(throughs)
    ]
    tiers = "\n".join(f"{tier}: {' '.join(NAMES[place])}" for place, tier in enumerate("rtn"))
    return {"tiers": tiers, "links": "\n".join(links), "supplies": "\n".join(supplies)}


RULES = st.fixed_dictionaries(
    {
        "connect": st.sampled_from(["true", "neighbours"]),
        "supply": st.sampled_from(["true", "last-card"]),
        "skip_tiers": st.booleans(),
        "claim_needs": st.sampled_from([[], ["last"], ["last", "origin"]]),
        "claim_minimum": st.integers(1, 3),
        "parts_show": st.sampled_from(["links", "links-and-targets"]),
        "targets_show": st.sampled_from(["nothing", "origins", "way", "pathways"]),
    }
)


def every_strand(game: Game) -> list[tuple[str, ...]]:
    choices = product(*([None, *game.strands.on_tier[tier]] for tier in game.tiers))
    strands = [tuple(name for name in chosen if name) for chosen in choices]
    return [strand for strand in strands if strand]


def referee(game: Game, strand: tuple[str, ...], target: str | None = None) -> bool:
    through: dict[str, set[str]] = {name: set() for name in game.structures}
    for pathway in game.anatomy.all_pathways:
        for name in pathway.structures:
            through[name].add(pathway.origin)
    marked = set.intersection(*(through[name] for name in strand))
    together = [
        set(other) for other in every_strand(game) if game.strands.joined(_slots(game, other))
    ]
    listed = all(
        any({one, other} <= held for held in together) for one in strand for other in strand
    )
    holds = listed and (len(strand) == 1 or bool(marked))
    if target is None or not holds:
        return holds
    rules, ways = game.rules, [way.structures for way in game.anatomy.pathways(target)]
    ends = {way[-1] for way in ways}
    shows = rules.targets_show
    return (
        len(strand) >= rules.claim_minimum
        and ("origin" not in rules.claim_needs or strand[0] in game.anatomy.origins)
        and (shows not in ("origins", "pathways") or bool(marked & {way[0] for way in ways}))
        and (shows != "pathways" or set(strand) <= {name for way in ways for name in way})
        and (
            shows not in ("way", "pathways")
            or "last" not in rules.claim_needs
            or bool(set(strand) & ends)
        )
        and (
            rules.parts_show != "links-and-targets"
            or any(
                other[-1] == strand[-1] and target in game.strands.claims(_slots(game, other))
                for other in every_strand(game)
            )
        )
    )


def _slots(game: Game, strand: tuple[str, ...]) -> tuple[str | None, ...]:
    return tuple(
        next((name for name in strand if game.anatomy.tier_of(name) == tier), None)
        for tier in game.tiers
    )


def true_claim(game: Game, strand: tuple[str, ...], target: str) -> bool:
    ways = [way.structures for way in game.anatomy.pathways(target)]
    needs = game.rules.claim_needs
    return (
        any(set(strand) <= set(way) for way in ways)
        and ("last" not in needs or bool({way[-1] for way in ways} & set(strand)))
        and ("origin" not in needs or strand[0] in game.anatomy.origins)
    )


@settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(text=maps(), rules=RULES)
def test_the_printed_test_counts_what_a_person_would_find(
    make_game: Any, make_map: Any, text: dict[str, str], rules: dict[str, Any]
) -> None:
    game = make_game(rules, map_=make_map(**text))
    found = printed_test(game)
    long = [strand for strand in every_strand(game) if len(strand) > 1]
    passing = {strand for strand in long if referee(game, strand)}
    true = {strand for strand in long if game.anatomy.is_true(strand)}
    joined = {strand for strand in long if game.strands.joined(_slots(game, strand))}
    claims = [(strand, target) for strand in every_strand(game) for target in game.targets]
    passing_claims = {claim for claim in claims if referee(game, *claim)}
    legal = {
        (strand, target)
        for strand, target in claims
        if target in game.strands.claims(_slots(game, strand))
    }
    true_claims = {claim for claim in claims if true_claim(game, *claim)}

    assert found.passing_untrue.strands == len(passing - true)
    assert found.failing_true.strands == len((joined & true) - passing)
    assert found.passing_untrue.claims == len(passing_claims - true_claims)
    assert found.failing_true.claims == len((legal & true_claims) - passing_claims)


@pytest.mark.parametrize("shows", ["origins", "way", "pathways"])
def test_whatever_is_printed_never_refuses_what_is_true(make_game: Any, shows: str) -> None:
    found = printed_test(make_game({"targets_show": shows, "parts_show": "links-and-targets"}))

    assert (found.failing_true.strands, found.failing_true.claims) == (0, 0)
