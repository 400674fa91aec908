"""The printed test: what a table without a computer would let pass, against what is true.

A strand passes if every card lists every other and one origin is marked on all of them
(`nervure.game.prints` says what is listed and marked). A claim passes if its strand does, is
long enough, begins with an origin where that is asked, and agrees with what the target prints:
one origin is marked on the target too; all cards are lit; where claims need the last structure,
the strand holds one of the way; and where part cards list targets, the last card lists it.

Counted are the strands and claims that pass and are untrue, and those that are good by the
rules and true and do not pass. Wild and variant cards stay out: a wild is what it stands for.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from nervure import words
from nervure.game.counts import MOST_EXAMPLES, supplying_strands, true_strands
from nervure.game.model import Game
from nervure.game.prints import Prints
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
    prints = game.prints
    passing = _passing_strands(game, prints)
    long_passing = {strand for strand in passing if len(strand) > 1}
    true = true_strands(game.strands)
    good = {strand for strand in game.joined_strands if len(strand) > 1} & true
    passing_claims = _passing_claims(game, prints, passing)
    supplying = {target: supplying_strands(game.strands, target) for target in game.targets}
    good_claims = {
        (strand, target)
        for target, strands in game.claiming_strands.items()
        for strand in strands & supplying[target]
    }
    untrue_claims = {
        (strand, target)
        for strand, target in passing_claims
        if strand not in supplying[target] or not game.strands.has_needs(strand, target)
    }
    return PrintedTest(
        can_be_made=game.rules.parts_show != "nothing",
        passing_untrue=_mismatch(long_passing - true, untrue_claims),
        failing_true=_mismatch(good - long_passing, good_claims - passing_claims),
    )


def _passing_strands(game: Game, prints: Prints) -> dict[Strand, frozenset[str]]:
    """Give every strand that passes, loose cards included, with the origins marked on all."""
    tier = game.strands.tier_index
    distal = {
        name: frozenset(other for other in prints.part_lists(name) if tier[other] > tier[name])
        for name in game.structures
    }
    marked = {name: frozenset(prints.origins_of_part[name]) for name in game.structures}
    passing: dict[Strand, frozenset[str]] = {}
    longer: dict[Strand, tuple[frozenset[str], frozenset[str]]] = {
        (name,): (marked[name], distal[name]) for name in game.structures if name in game.carded
    }
    while longer:
        passing |= {strand: origins for strand, (origins, _) in longer.items()}
        longer = {
            (*strand, name): (origins & marked[name], listed & distal[name])
            for strand, (origins, listed) in longer.items()
            for name in listed
            if origins & marked[name]
        }
    return passing


def _passing_claims(
    game: Game, prints: Prints, passing: Mapping[Strand, frozenset[str]]
) -> set[Claim]:
    rules = game.rules
    shortest = max(1, rules.claim_minimum, rules.claim_real)
    long_enough = {
        strand: origins
        for strand, origins in passing.items()
        if len(strand) >= shortest
        and ("origin" not in rules.claim_needs or strand[0] in game.strands.origins)
    }
    return {
        (strand, target)
        for target in game.targets
        for strand, origins in long_enough.items()
        if _agrees(prints, strand, origins, target)
    }


def _agrees(prints: Prints, strand: Strand, origins: frozenset[str], target: str) -> bool:
    """Tell whether nothing that is printed speaks against a claim of a passing strand."""
    marks = prints.target_marks(target)
    if marks is not None and origins.isdisjoint(marks):
        return False
    lights = prints.target_lights(target)
    if lights is not None and not set(strand).issubset(lights):
        return False
    way = prints.target_way(target)
    if way is not None and "last" in prints.rules.claim_needs and not set(strand) & set(way):
        return False
    lists_targets = prints.rules.parts_show == "links-and-targets"
    return not lists_targets or target in prints.part_lists_targets(strand[-1])


def _mismatch(strands: Iterable[Strand], claims: Iterable[Claim]) -> Mismatch:
    ordered = sorted(strands, key=lambda strand: (len(strand), strand))
    ordered_claims = sorted(claims, key=lambda claim: (len(claim[0]), claim))
    return Mismatch(
        strands=len(ordered),
        claims=len(ordered_claims),
        strand_examples=tuple(ordered[:MOST_EXAMPLES]),
        claim_examples=tuple(ordered_claims[:MOST_EXAMPLES]),
    )
