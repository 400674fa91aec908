"""What there is to know of a game's map, as a list: which cards join, what strands end in claims.

A *junction* A>B: two structures that are successive in some joined strand; a *supply* S=>T: a
target that some strand ending in a structure claims (docs/rules.md, Knowledge). Structures
that the deck has no card of are left out. The order is that of the engine's columns
(`Games.enacted`): fact i is bit i.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from nervure.anatomy import Pathway
from nervure.game.counts import leading_pairs, successive_pairs
from nervure.game.fact_tables import junction_text, supply_text
from nervure.game.model import Game


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing to know.

    ``start`` is a structure; ``end`` a structure, or a target if ``is_supply``.
    ``pathways``: those to targets of the game that hold both, or, of a supply, those to the
    target that hold the structure.
    """

    start: str
    end: str
    is_supply: bool
    pathways: tuple[Pathway, ...]

    @property
    def text(self) -> str:
        """The fact as it is salted and counted: ``A>B`` or ``S=>T``."""
        return (supply_text if self.is_supply else junction_text)(self.start, self.end)

    @property
    def structures(self) -> tuple[str, ...]:
        """The structures that it is about: one or two."""
        return (self.start,) if self.is_supply else (self.start, self.end)

    @property
    def targets(self) -> tuple[str, ...]:
        """The targets that its pathways lead to."""
        return tuple(dict.fromkeys(pathway.target for pathway in self.pathways))


def facts_of(game: Game) -> tuple[Fact, ...]:
    """Give the facts of a game: junctions, then supplies, each in deck and map order."""
    row = {name: place for place, name in enumerate(game.structures)}
    column = {name: place for place, name in enumerate(game.targets)}
    pathways = [pathway for target in game.targets for pathway in game.pathways(target)]
    holding: dict[str, set[int]] = {name: set() for name in game.structures}
    for number, pathway in enumerate(pathways):
        for name in pathway.structures:
            if name in holding:
                holding[name].add(number)
    junctions = sorted(
        successive_pairs(game.joined_strands), key=lambda pair: (row[pair[0]], row[pair[1]])
    )
    supplies = sorted(
        leading_pairs(game.claiming_strands), key=lambda pair: (row[pair[0]], column[pair[1]])
    )
    found = []
    for start, end in junctions:
        both = sorted(holding[start] & holding[end])
        found.append(Fact(start, end, False, tuple(pathways[number] for number in both)))
    for start, target in supplies:
        held = [pathways[number] for number in sorted(holding[start])]
        found.append(Fact(start, target, True, tuple(p for p in held if p.target == target)))
    return tuple(found)


def fact_words(facts: int) -> int:
    """Give how many words of 64 bits hold one bit a fact."""
    return -(-facts // 64)


def facts_in(words: npt.NDArray[np.uint64], facts: Sequence[Fact] | int) -> npt.NDArray[np.bool_]:
    """Give columns of words (..., W) as one flag a fact (..., F)."""
    count = facts if isinstance(facts, int) else len(facts)
    low_first = np.ascontiguousarray(words.astype("<u8")).view(np.uint8)
    flags = np.unpackbits(low_first, axis=-1, bitorder="little")
    return flags[..., :count].astype(np.bool_)


def facts_about(
    facts: Iterable[Fact], *, targets: Iterable[str] = (), structures: Iterable[str] = ()
) -> tuple[int, ...]:
    """Give the places of the facts about some structures, or on pathways of some targets."""
    wanted, named = frozenset(targets), frozenset(structures)
    return tuple(
        place
        for place, fact in enumerate(facts)
        if not named.isdisjoint(fact.structures) or not wanted.isdisjoint(fact.targets)
    )
