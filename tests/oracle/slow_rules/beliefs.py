"""Facts, what cards print of them, and what a player who knows only a part believes.

From the section Knowledge of docs/rules.md. A fact is a pair: two structures, or a structure
and a target; no target is called like a structure.
"""

from __future__ import annotations

from itertools import pairwise

from slow_rules.chance import FIRST_BELIEFS, MODULUS, Stream, key, mix, salt
from slow_rules.strand_book import Reading, StrandBook

Pair = tuple[str, str]
WHOLE = 1000


class FactBook:
    """What there is to know of a game, and what its cards print of that."""

    def __init__(self, book: StrandBook) -> None:
        self.book, self.game = book, book.game
        self.on_tier = [
            [name for name in tier if self.game.copies[name] > 0] for tier in book.on_tier
        ]
        self.tier_of = {name: t for t, names in enumerate(self.on_tier) for name in names}
        self.strands = self._strands()
        rules = self.game.rules
        least = max(1, rules.claim_minimum, rules.claim_real)
        self.claimed = [
            (strand, target)
            for strand in self.strands
            if len(strand) >= least
            for target in self.game.targets
            if book.reading_claims(strand, target)
        ]
        junctions = {pair for strand in self.strands for pair in pairwise(strand)}
        supplies = {(strand[-1], target) for strand, target in self.claimed}
        rows = {name: row for row, name in enumerate(self.game.structures)}
        columns = {name: row for row, name in enumerate(self.game.targets)}
        self.junctions = sorted(junctions, key=lambda f: (rows[f[0]], rows[f[1]]))
        self.supplies = sorted(supplies, key=lambda f: (rows[f[0]], columns[f[1]]))
        self.true = junctions | supplies

    def _strands(self) -> list[Reading]:
        """Give every joined strand without a wild; each is joined card by card."""
        found: list[Reading] = []
        grown: list[Reading] = [(name,) for name in self.tier_of]
        while grown:
            found += grown
            grown = [
                (*strand, name)
                for strand in grown
                for tier in self.on_tier[self.tier_of[strand[-1]] + 1 :]
                for name in tier
                if self.book.is_joined((*strand, name))
            ]
        return found

    def text(self, fact: Pair) -> str:
        """Give the text that is salted."""
        return f"{fact[0]}=>{fact[1]}" if self.is_supply(fact) else f"{fact[0]}>{fact[1]}"

    def is_supply(self, fact: Pair) -> bool:
        """Tell a supply from a junction."""
        return fact[1] in self.game.targets

    def false_ones(self, fact: Pair) -> list[Pair]:
        """Give the pairs one of which is held instead of an unknown fact."""
        if self.is_supply(fact):
            others = [(name, fact[1]) for name in self.on_tier[self.tier_of[fact[0]]]]
        else:
            others = [(fact[0], name) for name in self.on_tier[self.tier_of[fact[1]]]]
        return [pair for pair in others if pair not in self.true]

    def is_settled(self, pair: Pair) -> bool:
        """Tell whether what cards print settles if a pair is a fact."""
        rules = self.game.rules
        if not self.is_supply(pair):
            if rules.parts_show == "nothing":
                return False
            if rules.connect == "true" and rules.skip_tiers:
                return True
            if self.tier_of[pair[1]] == self.tier_of[pair[0]] + 1:
                return True
            return not any(pair[0] in strand and pair[1] in strand for strand in self.strands)
        structure, target = pair
        if rules.parts_show == "links-and-targets" or rules.targets_show == "pathways":
            return True
        if rules.targets_show == "way":
            ways = [self.book.deck_part(way) for way in self.game.pathways(target)]
            return "last" in rules.claim_needs or structure in [way[-1] for way in ways if way]
        return rules.targets_show == "origins" and structure in self.game.anatomy.origins


class Beliefs:
    """What one player of a line-up holds for true in one game."""

    def __init__(self, facts: FactBook, seed: int, deal: int, player: int, share: int) -> None:
        own = key(seed, deal, FIRST_BELIEFS + player)
        self.facts = facts
        self.known: set[Pair] = set()
        self.held: set[Pair] = set()
        for fact in [*facts.junctions, *facts.supplies]:
            is_known = mix(own ^ salt(facts.text(fact))) * WHOLE < share * MODULUS
            if is_known or facts.is_settled(fact):
                self.known.add(fact)
                continue
            others = facts.false_ones(fact)
            if others:
                stream = Stream(own ^ salt(f"?{facts.text(fact)}"))
                drawn = others[stream.below(len(others))]
                if not facts.is_settled(drawn):
                    self.held.add(drawn)

    def offers(self, tried: list[Pair], *, legal: bool) -> bool:
        """Tell whether a move that tries some facts is offered."""
        if legal:
            return all(fact in self.known for fact in tried if fact in self.facts.true)
        return all(fact in self.known | self.held for fact in tried) and any(
            fact in self.held for fact in tried
        )

    def give_up(self, tried: list[Pair]) -> list[Pair]:
        """No longer hold what is false of facts that were tried; gives these."""
        false = sorted({fact for fact in tried if fact in self.held})
        self.held -= set(false)
        return false
