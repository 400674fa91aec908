"""The printed test: what a table without a computer would let pass, against what is true.

A strand passes if every card lists every other and one origin is marked on all of them. A
card lists another if the two are successive in some joined strand; its fibres row marks the
origins that reach it. Where tiers must not be skipped only successive cards are asked, since
a card then lists none but its neighbours. A claim passes if its strand does, is long enough,
begins with an origin where that is asked, and if the target agrees as far as it prints
anything: that one origin is marked on the target too ("origins", "pathways"); that the
strand holds a structure of its way ("way") or that all its cards are lit ("pathways"); and,
where part cards list targets, that the last card lists it.

Counted are the strands and claims that pass and are untrue, and those that are good by the
rules and true and do not pass. Wild and variant cards stay out: a wild is what it stands for.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from nervure import words
from nervure.game.counts import MOST_EXAMPLES, leading_pairs, successive_pairs
from nervure.game.model import Game
from nervure.game.strands import Strand

Claim = tuple[Strand, str]


@dataclass(frozen=True, slots=True)
class Mismatch:
    """Strands and claims on one side of the test, counted, and some of them, shortest first."""

    strands: int
    claims: int
    strand_examples: tuple[Strand, ...]
    claim_examples: tuple[Claim, ...]


@dataclass(frozen=True, slots=True)
class PrintedTest:
    """What the printed test gets wrong.

    ``can_be_made``: part cards list anything at all. ``passing_untrue``: passes and is untrue.
    ``failing_true``: is good and true, and does not pass.
    """

    can_be_made: bool
    passing_untrue: Mismatch
    failing_true: Mismatch

    @property
    def is_exact(self) -> bool:
        """Tell whether the printed test agrees with the map on every strand and claim."""
        wrong = (self.passing_untrue, self.failing_true)
        return self.can_be_made and not any(side.strands or side.claims for side in wrong)

    @property
    def sentence(self) -> str:
        """Say in one sentence what the test gets wrong."""
        if not self.can_be_made:
            return words.say("game.printed.cannot")
        if self.is_exact:
            return words.say("game.printed.exact")
        return words.say(
            "game.printed.mismatch",
            passing_strands=self.passing_untrue.strands,
            passing_claims=self.passing_untrue.claims,
            failing_strands=self.failing_true.strands,
            failing_claims=self.failing_true.claims,
        )


def printed_test(game: Game) -> PrintedTest:
    """Try the printed test on every strand and claim of the deck, exactly."""
    passing = _passing_strands(game)
    long_passing = {strand for strand in passing if len(strand) > 1}
    true_strands = {
        strand
        for strand in game.joined_strands
        if len(strand) > 1 and game.strands.is_true(strand)
    }
    passing_claims = _passing_claims(game, passing)
    true_claims = {
        (strand, target)
        for target, strands in game.claiming_strands.items()
        for strand in strands
        if _is_true_claim(game, strand, target)
    }
    untrue = {strand for strand in long_passing if not game.strands.is_true(strand)}
    return PrintedTest(
        can_be_made=game.rules.parts_show != "nothing",
        passing_untrue=_mismatch(untrue, passing_claims - true_claims),
        failing_true=_mismatch(true_strands - long_passing, true_claims - passing_claims),
    )


def _is_true_claim(game: Game, strand: Strand, target: str) -> bool:
    ways = game.strands.ways_of(target, main=game.rules.supply == "main")
    return any(set(strand).issubset(way.structures) for way in ways)


def _passing_strands(game: Game) -> dict[Strand, frozenset[str]]:
    """Give every strand that passes, loose cards included, with the origins marked on all."""
    listed: Mapping[str, set[str]] = {name: set() for name in game.structures}
    if game.rules.parts_show != "nothing":
        for start, end in successive_pairs(game.joined_strands):
            listed[start].add(end)
    grown: dict[Strand, tuple[frozenset[str], frozenset[str]]] = {
        (name,): (frozenset(game.anatomy.reach(name)), frozenset(listed[name]))
        for name in game.structures
    }
    passing: dict[Strand, frozenset[str]] = {}
    while grown:
        passing |= {strand: origins for strand, (origins, _) in grown.items()}
        longer = {}
        for strand, (origins, onward) in grown.items():
            for name in onward:
                both = origins.intersection(game.anatomy.reach(name))
                further = listed[name] & onward if game.rules.skip_tiers else listed[name]
                if both:
                    longer[(*strand, name)] = (both, frozenset(further))
        grown = longer
    return passing


def _passing_claims(game: Game, passing: Mapping[Strand, frozenset[str]]) -> set[Claim]:
    rules = game.rules
    shortest = max(1, rules.claim_minimum, rules.claim_real)
    long_enough = {
        strand: origins
        for strand, origins in passing.items()
        if len(strand) >= shortest
        and ("origin" not in rules.claim_needs or strand[0] in game.strands.origins)
    }
    leads = leading_pairs(game.claiming_strands)
    found: set[Claim] = set()
    for target in game.targets:
        is_main = rules.supply == "main"
        anatomy = game.anatomy
        marked = set(anatomy.main_fibres_of(target) if is_main else anatomy.fibres_of(target))
        lit = {name for way in game.strands.ways_of(target, is_main) for name in way.structures}
        ends = game.strands.last_of[target]
        for strand, origins in long_enough.items():
            agrees = True
            if rules.targets_show in ("origins", "pathways"):
                agrees = not marked.isdisjoint(origins)
            if rules.targets_show == "pathways":
                agrees = agrees and lit.issuperset(strand)
            if rules.targets_show in ("way", "pathways") and "last" in rules.claim_needs:
                agrees = agrees and not ends.isdisjoint(strand)
            if rules.parts_show == "links-and-targets":
                agrees = agrees and (strand[-1], target) in leads
            if agrees:
                found.add((strand, target))
    return found


def _mismatch(strands: Iterable[Strand], claims: Iterable[Claim]) -> Mismatch:
    ordered = sorted(strands, key=lambda strand: (len(strand), strand))
    ordered_claims = sorted(claims, key=lambda claim: (len(claim[0]), claim))
    return Mismatch(
        strands=len(ordered),
        claims=len(ordered_claims),
        strand_examples=tuple(ordered[:MOST_EXAMPLES]),
        claim_examples=tuple(ordered_claims[:MOST_EXAMPLES]),
    )
