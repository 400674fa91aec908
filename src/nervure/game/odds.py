"""The odds that n random part cards hold a strand that claims a target.

odds[T][L][n]: the chance that n cards, drawn without replacement from the part cards of the
deck, hold a strand of L or more cards that claims T. Only the kinds that occur in such strands
matter. With at most `MOST_KINDS` of them every set of kinds that may be present is looked at
once (f[set] = the longest claim it holds, by a subset-maximum transform), and the number of
draws with exactly that set present is read from the generating function
prod((1 + x)^copies - 1) over its kinds, in whole numbers: exact. Past that, seeded shuffles,
with a 95 % interval (Wilson 1927, J. Am. Stat. Assoc. 22:209, score interval).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import combinations
from math import comb, inf, log, sqrt

import numpy as np
import numpy.typing as npt

from nervure.game.strands import Strand

MOST_KINDS = 20
SHUFFLES = 4_000
SEED = 20
REMEMBERED = 512  # targets of some designs; a few megabytes
Polynomial = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Supply:
    """The part cards to draw from: copies by structure and by tier of its wilds, and the rest.

    ``wild_any``: copies of ``wild:any``. ``cards``: all part cards, these and all others.
    """

    copies: Mapping[str, int]
    wild_tiers: Mapping[str, int]
    wild_any: int
    tier_of: Mapping[str, str]
    claim_real: int
    cards: int


@dataclass(frozen=True, slots=True)
class Odds:
    """The odds of one target; ``favourable`` by length, shape (cards of the deck + 1,).

    Exact: the number of draws of n cards that hold such a strand. Simulated: how many of
    ``shuffles`` shuffled decks hold one in their first n cards.
    """

    favourable: Mapping[int, tuple[int, ...]]
    cards: int
    shuffles: int = 0

    @property
    def is_exact(self) -> bool:
        """Tell whether the odds are exact."""
        return self.shuffles == 0

    @property
    def lengths(self) -> tuple[int, ...]:
        """The lengths L, rising, from the shortest claim to the longest."""
        return tuple(self.favourable)

    def at(self, length: int, n: int) -> float:
        """Give the chance (0 to 1) for strands of a length or more in n cards.

        0 for a length past the longest; n past the deck counts as the whole deck.
        """
        n = min(n, self.cards)
        if length not in self.favourable:
            return (
                self.at(self.lengths[0], n)
                if self.favourable and length < min(self.favourable)
                else 0.0
            )
        count = self.favourable[length][n]
        return count / (self.shuffles or comb(self.cards, n))

    def interval(self, length: int, n: int) -> tuple[float, float]:
        """Give the 95 % interval; exact odds are both its ends."""
        p = self.at(length, n)
        if self.is_exact:
            return p, p
        z2 = 1.959963984540054**2
        middle = (p + z2 / (2 * self.shuffles)) / (1 + z2 / self.shuffles)
        spread = sqrt(z2 * (p * (1 - p) / self.shuffles + z2 / (4 * self.shuffles**2)))
        half = spread / (1 + z2 / self.shuffles)
        return max(0.0, middle - half), min(1.0, middle + half)

    def difficulty(self, length: int, n: int) -> float:
        """Give -ln odds; infinite where n cards never hold such a strand."""
        p = self.at(length, n)
        return -log(p) if p > 0 else inf


def odds_of(strands: Collection[Strand], supply: Supply) -> Odds:
    """Give the odds of a target from all its claiming strands without a wild.

    A strand's cards may be replaced by wilds as long as ``claim_real`` real cards stay.
    What has been worked out lately is remembered: most rules leave it as it is.
    """
    return _worked_out(
        frozenset(strands),
        tuple(sorted(supply.copies.items())),
        tuple(sorted(supply.wild_tiers.items())),
        supply.wild_any,
        tuple(sorted(supply.tier_of.items())),
        supply.claim_real,
        supply.cards,
        MOST_KINDS,
    )


@lru_cache(maxsize=REMEMBERED)
def _worked_out(
    strands: frozenset[Strand],
    copies: tuple[tuple[str, int], ...],
    wild_tiers: tuple[tuple[str, int], ...],
    wild_any: int,
    tier_of: tuple[tuple[str, str], ...],
    claim_real: int,
    cards: int,
    most_kinds: int,
) -> Odds:
    supply = Supply(dict(copies), dict(wild_tiers), wild_any, dict(tier_of), claim_real, cards)
    needs = _needs(strands, supply)
    kinds = sorted({kind for kinds, _, _ in needs for kind in kinds})
    any_matters = any(number for _, number, _ in needs)
    if len(kinds) + any_matters <= most_kinds:
        return _exact(kinds, needs, supply)
    return _simulated(kinds, needs, supply)


_Need = tuple[frozenset[str], int, int]  # kinds of card, copies of wild:any, length


def _needs(strands: Collection[Strand], supply: Supply) -> set[_Need]:
    """Give every hand that lays a claiming strand."""
    found: set[_Need] = set()
    for strand in strands:
        for replaced in _replaceable(strand, supply):
            real = frozenset(name for name in strand if name not in replaced)
            if any(supply.copies.get(name, 0) == 0 for name in real):
                continue
            with_tier_wild = [
                name for name in replaced if supply.tier_of[name] in supply.wild_tiers
            ]
            for count in range(len(with_tier_wild) + 1):
                if len(replaced) - count > supply.wild_any:
                    continue
                for covered in combinations(with_tier_wild, count):
                    wilds = {f"wild:{supply.tier_of[name]}" for name in covered}
                    found.add((real | wilds, len(replaced) - count, len(strand)))
    return found


def _replaceable(strand: Strand, supply: Supply) -> Iterator[tuple[str, ...]]:
    open_to_wilds = [
        name for name in strand if supply.wild_any or supply.tier_of[name] in supply.wild_tiers
    ]
    most = min(len(open_to_wilds), len(strand) - supply.claim_real)
    for count in range(most + 1):
        yield from combinations(open_to_wilds, count)


def copies_of(kind: str, supply: Supply) -> int:
    """Give the copies of a structure or of ``wild:TIER``."""
    if kind.startswith("wild:"):
        return supply.wild_tiers[kind.removeprefix("wild:")]
    return supply.copies[kind]


def _exact(kinds: list[str], needs: set[_Need], supply: Supply) -> Odds:
    copies = [copies_of(kind, supply) for kind in kinds]
    classes = sorted(set(copies))
    rest = supply.cards - sum(copies) - supply.wild_any
    any_used = max((number for _, number, _ in needs), default=0)
    lengths = sorted({length for _, _, length in needs})
    totals: dict[int, list[int]] = {length: [0] * (supply.cards + 1) for length in lengths}
    for held in range(any_used + 1):
        longest = _longest(kinds, [need for need in needs if need[1] <= held])
        # More copies of wild:any than any strand can use count as the most used.
        share = [
            comb(supply.wild_any, count)
            if count == held or (held == any_used and count > held)
            else 0
            for count in range(supply.wild_any + 1)
        ]
        for length in lengths:
            favourable = _draws_with(longest >= length, copies, classes)
            drawn = _times(_times(favourable, tuple(share)), _binomial(rest))
            for n, count in enumerate(drawn):
                totals[length][n] += count
    return Odds({length: tuple(counts) for length, counts in totals.items()}, supply.cards)


def _longest(kinds: list[str], needs: list[_Need]) -> npt.NDArray[np.int8]:
    """Give the longest claim by the set of kinds present, shape (2 ** kinds,), bit i kind i."""
    bit = {kind: 1 << place for place, kind in enumerate(kinds)}
    longest = np.zeros(1 << len(kinds), np.int8)
    for held, _, length in needs:
        mask = sum(bit[kind] for kind in held)
        longest[mask] = max(longest[mask], length)
    for place in range(len(kinds)):
        halves = longest.reshape(-1, 2, 1 << place)
        np.maximum(halves[:, 1], halves[:, 0], out=halves[:, 1])
    return longest


def _draws_with(holds: npt.NDArray[np.bool_], copies: list[int], classes: list[int]) -> Polynomial:
    """Count draws from the kinds that matter by size, over the present sets that hold."""
    present = np.flatnonzero(holds)
    profile = np.zeros(len(present), np.int64)
    for number in classes:
        mask = sum(1 << place for place, own in enumerate(copies) if own == number)
        profile = profile * (len(copies) + 1) + np.bitwise_count(present & mask)
    total: Polynomial = ()
    for code, count in Counter(profile.tolist()).items():
        product: Polynomial = (count,)
        for number in reversed(classes):
            code, power = divmod(code, len(copies) + 1)
            product = _times(product, _present(number, power))
        total = _plus(total, product)
    return total


@cache
def _binomial(cards: int) -> Polynomial:
    return tuple(comb(cards, n) for n in range(cards + 1))


@cache
def _present(copies: int, kinds: int) -> Polynomial:
    """Give ((1 + x)^copies - 1)^kinds: at least one card of each of so many kinds."""
    if kinds == 0:
        return (1,)
    one = (0, *_binomial(copies)[1:])
    return _times(_present(copies, kinds - 1), one)


def _times(left: Polynomial, right: Polynomial) -> Polynomial:
    if not left or not right:
        return ()
    product = [0] * (len(left) + len(right) - 1)
    for i, a in enumerate(left):
        if a:
            for j, b in enumerate(right):
                product[i + j] += a * b
    return tuple(product)


def _plus(left: Polynomial, right: Polynomial) -> Polynomial:
    if len(left) < len(right):
        left, right = right, left
    return tuple(a + b for a, b in zip(left, right, strict=False)) + left[len(right) :]


def _simulated(kinds: list[str], needs: set[_Need], supply: Supply) -> Odds:
    """Shuffle the deck many times; note when each strand is complete for the first time."""
    random = np.random.default_rng(SEED)
    copies = [copies_of(kind, supply) for kind in kinds]
    order = np.argsort(random.random((SHUFFLES, supply.cards)), axis=1)  # place of each card
    first = np.empty((len(kinds) + 1, SHUFFLES), np.int16)
    start = 0
    for row, number in enumerate(copies):
        first[row] = order[:, start : start + number].min(axis=1)
        start += number
    first[-1] = -1  # stands in for "needs no card"
    any_places = np.sort(order[:, start : start + supply.wild_any], axis=1).astype(np.int16)
    row_of = {kind: row for row, kind in enumerate(kinds)}
    never = np.int16(supply.cards)
    complete: dict[int, npt.NDArray[np.int16]] = {}
    for held, number, length in sorted(
        needs, key=lambda need: (need[2], need[1], sorted(need[0]))
    ):
        places = first[[row_of[kind] for kind in held] or [-1]].max(axis=0)
        if number:
            places = np.maximum(places, any_places[:, number - 1])
        best = complete.setdefault(length, np.full(SHUFFLES, never))
        np.minimum(best, places, out=best)
    favourable = {}
    soonest = np.full(SHUFFLES, never)
    for length in sorted(complete, reverse=True):
        soonest = np.minimum(soonest, complete[length])
        # A strand complete at place p (from 0) is held by the first p + 1 cards.
        counts = np.bincount(soonest + 1, minlength=supply.cards + 2)[: supply.cards + 1]
        favourable[length] = tuple(np.cumsum(counts).tolist())
    return Odds(dict(sorted(favourable.items())), supply.cards, SHUFFLES)


def fair_points(
    odds: Mapping[str, Odds], n: int, points_range: tuple[int, int], lengths: Mapping[str, range]
) -> dict[str, tuple[int, ...]]:
    """Give points by difficulty: -ln odds at n cards, mapped linearly to a range, rounded.

    ``lengths``: the rungs of each target's ladder. The easiest rung of all targets gets the
    low end, the hardest the high end; a rung that n cards never hold counts as the hardest.
    Halves round up. Where all rungs are equally hard all get the low end.
    """
    hardness = {
        target: [odds[target].difficulty(length, n) for length in rungs]
        for target, rungs in lengths.items()
    }
    finite = [value for values in hardness.values() for value in values if value < inf]
    easiest, hardest = (min(finite), max(finite)) if finite else (0.0, 0.0)
    low, high = points_range

    def points(value: float) -> int:
        if value == inf:
            return high
        if hardest == easiest:
            return low
        share = (value - easiest) / (hardest - easiest)
        return int(low + share * (high - low) + 0.5)

    return {target: tuple(map(points, values)) for target, values in hardness.items()}
