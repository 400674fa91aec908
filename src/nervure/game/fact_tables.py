"""The tables of what there is to know: every fact of a design, and what its cards print of it.

Comes in: strand tables and, of the deck, which structures have cards. Goes out: `FactTables`.
The plain list with texts and pathways is `nervure.game.facts`; a test holds that both agree.
What is known by print is told in docs/rules.md, Knowledge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from nervure.game.salts import salt
from nervure.game.tables import FactTables, MaskArray, StrandTables

Flags = npt.NDArray[np.bool_]
Longs = npt.NDArray[np.int64]

ONE = np.uint64(1)


@dataclass(frozen=True, slots=True)
class PrintRules:
    """What the cards print, as far as it settles facts.

    ``lists_are_exact``: two structures that share a joined strand may also be successive.
    ``needs_last``: a claim holds a last structure of its target. ``origins`` (structures),
    ``ways`` (structures, targets): is an origin; is named as the target's way.
    """

    parts_show: str
    targets_show: str
    lists_are_exact: bool
    needs_last: bool
    origins: Sequence[bool]
    ways: Sequence[Sequence[bool]]


def fact_tables(
    strands: StrandTables,
    structures: Sequence[str],
    targets: Sequence[str],
    *,
    carded: Sequence[bool],
    shortest: int,
    prints: PrintRules,
) -> FactTables:
    """Make the tables; ``shortest``: the fewest cards of a claim without a wild."""
    held = np.array(carded, dtype=np.bool_)
    digits = _digits(strands)
    laid = _laid(strands, digits, held)
    junctions = _junctions(strands, held)
    supplies = _supplies(strands, digits, laid, len(targets), shortest)
    first = np.argwhere(junctions)
    second = np.argwhere(supplies)
    pairs = np.concatenate([first, second]).astype(np.int32)
    texts = [junction_text(structures[a], structures[b]) for a, b in first]
    texts += [supply_text(structures[s], targets[t]) for s, t in second]
    return FactTables(
        pairs=pairs,
        junctions=_numbered(junctions, first, 0),
        supplies=_numbered(supplies, second, len(first)),
        salts=np.array([[salt(t), salt(f"?{t}")] for t in texts], dtype=np.uint64).reshape(-1, 2),
        open_junctions=_words(_open_junctions(strands, digits, laid, prints))[:, 0],
        open_supplies=_words(_open_supplies(prints, supplies.shape), 2),
        carded=_words(held[None])[:, 0],
    )


def junction_text(start: str, end: str) -> str:
    """Give the text of the fact that two structures can be successive."""
    return f"{start}>{end}"


def supply_text(structure: str, target: str) -> str:
    """Give the text of the fact that a strand ending in a structure can claim a target."""
    return f"{structure}=>{target}"


def _digits(strands: StrandTables) -> Longs:
    """Give, by tier, the digit of every strand: 0 empty, then structures, then the wild."""
    codes = strands.codes.astype(np.int64)
    return np.array(
        [
            codes // place % (size + 2)
            for place, size in zip(strands.places[:-1], strands.sizes, strict=True)
        ]
    ).reshape(len(strands.sizes), -1)


def _first_of(strands: StrandTables) -> list[int]:
    return [int(number) for number in np.cumsum([0, *strands.sizes])[:-1]]


def _laid(strands: StrandTables, digits: Longs, held: Flags) -> Flags:
    """Tell which strands hold structures only that there are cards of."""
    laid = np.ones(len(strands), dtype=np.bool_)
    for tier, first in enumerate(_first_of(strands)):
        size = int(strands.sizes[tier])
        good = np.concatenate([[True], held[first : first + size], [False]])
        laid &= good[digits[tier]]
    return laid


def _junctions(strands: StrandTables, held: Flags) -> Flags:
    """Tell which pairs of structures are a joined strand: what is successive in any is."""
    count = len(held)
    found = np.zeros((count, count), dtype=np.bool_)
    tiers, codes = strands.kind_tier[:count], strands.kind_code[:count]
    for one in range(count):
        for other in range(count):
            if tiers[one] < tiers[other] and held[one] and held[other]:
                found[one, other] = strands.id_of(int(codes[one]) + int(codes[other])) >= 0
    return found


def _supplies(
    strands: StrandTables, digits: Longs, laid: Flags, targets: int, shortest: int
) -> Flags:
    found = np.zeros((int(strands.sizes.sum()), targets), dtype=np.bool_)
    long_enough = laid & (np.bitwise_count(strands.tiers) >= shortest)
    for tier, first in enumerate(_first_of(strands)):
        last = np.flatnonzero(long_enough & (strands.tiers >> tier == 1))
        for digit in range(1, int(strands.sizes[tier]) + 1):
            rows = last[digits[tier][last] == digit]
            claims = np.bitwise_or.reduce(strands.claims[rows], axis=0, initial=np.uint64(0))
            for target in range(targets):
                found[first + digit - 1, target] = (
                    claims[target >> 6] >> np.uint64(target & 63) & ONE
                )
    return found


def _open_junctions(
    strands: StrandTables, digits: Longs, laid: Flags, prints: PrintRules
) -> Flags:
    count = int(strands.sizes.sum())
    if prints.parts_show == "nothing":
        return np.ones((count, count), dtype=np.bool_)
    listed = np.zeros((count, count), dtype=np.bool_)
    if prints.lists_are_exact:
        return listed
    # On neighbouring tiers a list is exact: nothing can lie between two cards of a strand.
    firsts = _first_of(strands)
    for tier, first in enumerate(firsts):
        for digit in range(1, int(strands.sizes[tier]) + 1):
            rows = np.flatnonzero(laid & (digits[tier] == digit))
            for later in range(tier + 2, len(firsts)):
                seen = np.unique(digits[later][rows])
                listed[first + digit - 1, firsts[later] + seen[seen > 0] - 1] = True
    return listed


def _open_supplies(prints: PrintRules, shape: tuple[int, ...]) -> Flags:
    left = np.ones(shape, dtype=np.bool_)
    if prints.parts_show == "links-and-targets" or prints.targets_show == "pathways":
        left[:] = False
    elif prints.targets_show == "way":
        left = ~np.array(prints.ways, dtype=np.bool_).reshape(shape)
        left &= not prints.needs_last
    elif prints.targets_show == "origins":
        left[np.array(prints.origins, dtype=np.bool_)] = False
    return left


def _numbered(flags: Flags, pairs: Longs, start: int) -> npt.NDArray[np.int32]:
    numbers = np.full(flags.shape, -1, dtype=np.int32)
    numbers[pairs[:, 0], pairs[:, 1]] = start + np.arange(len(pairs), dtype=np.int32)
    return numbers


def _words(flags: Flags, words: int = 1) -> MaskArray:
    """Give rows of flags as words of 64 bits, the lowest first."""
    found = np.zeros((len(flags), words), dtype=np.uint64)
    for row, column in np.argwhere(flags):
        found[row, column >> 6] |= ONE << np.uint64(column & 63)
    return found
