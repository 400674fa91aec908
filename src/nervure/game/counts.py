"""Whole decks counted: every strand without a wild that the rules join, and every claim.

Exact, by enumeration. A strand here is the tuple of its structures, proximal first, at most
one a tier.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise, product

from nervure.game.strands import Strand, StrandRules

MOST_EXAMPLES = 20


@dataclass(frozen=True, slots=True)
class UntrueStrands:
    """Strands and claims that the game's rules allow and that no pathway bears out.

    ``count``: joined strands of two or more cards that lie on no pathway of the map, with
    their number by length; ``claims``: pairs of strand and target, claimable though no
    pathway of that target holds the strand. Examples: the shortest first.
    """

    count: int
    by_length: Mapping[int, int]
    examples: tuple[Strand, ...]
    claims: int
    claim_examples: tuple[tuple[Strand, str], ...]


def parts_of_way(strand_rules: StrandRules, way: Iterable[str]) -> Iterator[Strand]:
    """Give every non-empty choice of a way's structures with at most one a tier."""
    by_tier: dict[int, list[str]] = {}
    for name in way:
        by_tier.setdefault(strand_rules.tier_index[name], []).append(name)
    choices = [(None, *by_tier[place]) for place in sorted(by_tier)]
    for chosen in product(*choices):
        strand = tuple(name for name in chosen if name is not None)
        if strand:
            yield strand


def true_strands(strand_rules: StrandRules) -> frozenset[Strand]:
    """Give every strand that lies on one pathway of the map, in the game or not."""
    return frozenset(
        strand for way in strand_rules.way_sets for strand in parts_of_way(strand_rules, way)
    )


def supplying_strands(strand_rules: StrandRules, target: str) -> frozenset[Strand]:
    """Give every strand that lies on one pathway of a target (main if supply is "main")."""
    ways = strand_rules.ways_of(target, main=strand_rules.rules.supply == "main")
    return frozenset(
        strand
        for way in {frozenset(way.structures) for way in ways}
        for strand in parts_of_way(strand_rules, way)
    )


def joined_strands(strand_rules: StrandRules) -> frozenset[Strand]:
    """Give every joined strand of the deck, loose cards included."""
    loose = {(name,) for name in strand_rules.tier_index}
    if strand_rules.rules.connect == "true":
        on_ways = true_strands(strand_rules)
        if not strand_rules.rules.skip_tiers:
            linked = strand_rules.derived_links
            on_ways = frozenset(
                strand for strand in on_ways if all(pair in linked for pair in pairwise(strand))
            )
        return on_ways | loose
    onward: dict[str, list[str]] = {name: [] for name in strand_rules.tier_index}
    for start, end in strand_rules.neighbours:
        further = strand_rules.tier_index[end] > strand_rules.tier_index[start]
        if further and strand_rules.is_joined((start, end)):
            onward[start].append(end)
    found: set[Strand] = set()
    grown: set[Strand] = set(loose)
    while grown:
        found |= grown
        grown = {(*strand, end) for strand in grown for end in onward[strand[-1]]}
    return frozenset(found)


def claiming_strands(
    strand_rules: StrandRules, joined: frozenset[Strand]
) -> dict[str, frozenset[Strand]]:
    """Give, for each target, every joined strand without a wild that claims it."""
    rules = strand_rules.rules
    shortest = max(1, rules.claim_minimum, rules.claim_real)
    long_enough = [strand for strand in joined if len(strand) >= shortest]
    found: dict[str, frozenset[Strand]] = {}
    for target in strand_rules.targets:
        if rules.supply == "last-card":
            candidates: Iterable[Strand] = (
                strand for strand in long_enough if strand_rules.supplies(strand, target)
            )
        else:
            candidates = (
                strand
                for strand in supplying_strands(strand_rules, target)
                if len(strand) >= shortest and strand in joined
            )
        found[target] = frozenset(
            strand for strand in candidates if strand_rules.has_needs(strand, target)
        )
    return found


def by_length(strands: Iterable[Strand]) -> dict[int, int]:
    """Count strands by their number of cards, rising."""
    return dict(sorted(Counter(len(strand) for strand in strands).items()))


def ways_by_length(strand_rules: StrandRules, target: str) -> dict[int, int]:
    """Count a target's different pathways on the deck's tiers by their number of cards."""
    main = strand_rules.rules.supply == "main"
    return by_length({way.structures for way in strand_rules.ways_of(target, main)})


def untrue_strands_of(
    strand_rules: StrandRules,
    joined: frozenset[Strand],
    claiming: Mapping[str, frozenset[Strand]],
) -> UntrueStrands:
    """Count and name the strands and claims that the rules allow and no pathway bears out."""
    true = true_strands(strand_rules)
    untrue = [strand for strand in joined if len(strand) > 1 and strand not in true]
    untrue.sort(key=lambda strand: (len(strand), strand))
    claims = [
        (strand, target)
        for target, strands in claiming.items()
        for strand in strands - supplying_strands(strand_rules, target)
    ]
    claims.sort(key=lambda claim: (len(claim[0]), claim))
    return UntrueStrands(
        count=len(untrue),
        by_length=by_length(untrue),
        examples=tuple(untrue[:MOST_EXAMPLES]),
        claims=len(claims),
        claim_examples=tuple(claims[:MOST_EXAMPLES]),
    )


def idle_cards(
    strand_rules: StrandRules, claiming: Mapping[str, frozenset[Strand]]
) -> tuple[str, ...]:
    """Give the deck structures that occur in no strand that claims a target, in deck order."""
    used = {name for strands in claiming.values() for strand in strands for name in strand}
    return tuple(name for name in strand_rules.tier_index if name not in used)


def successive_pairs(joined: Iterable[Strand]) -> frozenset[tuple[str, str]]:
    """Give the facts (a, b): structures that are successive in some joined strand."""
    return frozenset(pair for strand in joined for pair in pairwise(strand))


def leading_pairs(claiming: Mapping[str, frozenset[Strand]]) -> frozenset[tuple[str, str]]:
    """Give the facts (s, T): T is claimed by some strand that ends in s."""
    return frozenset(
        (strand[-1], target) for target, strands in claiming.items() for strand in strands
    )
