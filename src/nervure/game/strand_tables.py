"""Strand tables: what every joined strand may take in, claims and is full for.

Comes in: a `StrandDesign`, whole numbers only, so that equal designs share one table. Goes
out: `StrandTables`. The plain definition is `nervure.game.strands`; the two must agree, and
tests compare them. That a design keeps within the limits is not checked here.

A strand code is the sum of digit times place over the deck tiers: 0 empty, 1..s the tier's
structures, s + 1 a wild card. A *pattern* is, for a row of one structure a tier, which tiers
are empty, held by the structure, or by a wild: at most 3 to the number of tiers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise, product

import numpy as np
import numpy.typing as npt

from nervure.game.tables import LOOK_AHEAD, IntArray, MaskArray, StrandTables

Longs = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]
Pairs = frozenset[tuple[int, int]]

ONE = np.uint64(1)


@dataclass(frozen=True, slots=True)
class DeckWay:
    """One pathway's structures on deck tiers, by number; ``target`` -1: not in the game."""

    target: int
    main: bool
    structures: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class StrandDesign:
    """All that strands depend on. Structures are numbered by deck tier, then map row.

    ``sizes``: structures by deck tier. ``ways``: the pathways of the whole map.
    ``origins``: structures that are origins. ``wild_tiers``: tiers with a ``wild:TIER``
    card; ``wild_any``: the deck has ``wild:any``. ``linked``: pairs with a derived link
    (used if not ``skip_tiers``); ``neighbours``: pairs with a way between them (used if
    ``connect`` is "neighbours").
    """

    sizes: tuple[int, ...]
    targets: int
    ways: tuple[DeckWay, ...]
    origins: frozenset[int] = frozenset()
    wild_tiers: tuple[int, ...] = ()
    wild_any: bool = False
    connect: str = "true"
    skip_tiers: bool = True
    insert: bool = False
    supply: str = "true"
    claim_needs: tuple[str, ...] = ("last",)
    claim_minimum: int = 2
    claim_real: int = 1
    full_strand: str = "way"
    linked: Pairs = frozenset()
    neighbours: Pairs = frozenset()

    @property
    def first_of_tier(self) -> tuple[int, ...]:
        """The number of each tier's first structure."""
        return tuple(sum(self.sizes[:tier]) for tier in range(len(self.sizes)))

    @property
    def tier_of(self) -> tuple[int, ...]:
        """The tier of each structure."""
        return tuple(tier for tier, size in enumerate(self.sizes) for _ in range(size))

    @property
    def has_wild(self) -> tuple[bool, ...]:
        """Whether a wild card can lie on each tier."""
        return tuple(self.wild_any or t in self.wild_tiers for t in range(len(self.sizes)))


@dataclass(frozen=True, slots=True)
class Patterns:
    """All patterns of a row: ``tiers`` and ``wilds`` as bits of tiers, by pattern number."""

    tiers: IntArray
    wilds: IntArray

    @property
    def real_cards(self) -> IntArray:
        """Cards of a pattern that are not wild."""
        return _bit_count(self.tiers & ~self.wilds)


@lru_cache(maxsize=32)
def strand_tables(design: StrandDesign) -> StrandTables:
    """Make the strand tables of a design; equal designs get the same object."""
    sizes = np.array(design.sizes, dtype=np.int32)
    places = np.cumprod([1, *(size + 2 for size in design.sizes)], dtype=np.int64)
    kind_tier, kind_code = _placed_kinds(design, places)
    patterns = _patterns(design)
    joined = np.unique(np.concatenate([_joined_codes(design, patterns, places), kind_code]))
    bits, rank = _directory(joined, int(places[-1]))
    tiers = _tiers_of(joined, places, sizes)
    claims = np.zeros((len(joined), 2), dtype=np.uint64)
    full = np.zeros((len(joined), 2), dtype=np.uint64)
    if design.connect == "neighbours" and design.supply == "last-card":
        _claim_by_last_card(design, joined, tiers, places, claims)
    else:
        _claim_on_rows(design, patterns, joined, places, claims)
    _fill_full(design, patterns, joined, tiers, places, claims, full)
    attach = np.zeros(len(joined), dtype=np.uint64)
    onward = []
    for kind, (tier, code) in enumerate(zip(kind_tier, kind_code, strict=True)):
        fits = _fits(tiers, int(tier), design.insert)
        longer, found = _look_up(joined, joined + code)
        fits &= found
        attach[fits] |= ONE << np.uint64(kind)
        if kind < len(design.tier_of):
            onward.append((np.flatnonzero(fits), longer[fits]))
    enough = _bit_count(tiers) >= design.claim_minimum
    return StrandTables(
        places=places.astype(np.int32),
        sizes=sizes,
        kind_code=kind_code.astype(np.int32),
        kind_tier=kind_tier,
        kind_id=_look_up(joined, kind_code)[0].astype(np.int32),
        bits=bits,
        rank=rank,
        codes=joined.astype(np.int32),
        tiers=tiers,
        attach=attach,
        claims=claims,
        full=full,
        claims_within=_within(claims * enough[:, None].astype(np.uint64), onward),
        full_within=_within(full * enough[:, None].astype(np.uint64), onward),
        true_claims=_true_claims(design, patterns, joined, places),
    )


def _bit_count(masks: IntArray) -> IntArray:
    return np.bitwise_count(masks).astype(np.int32)


def _placed_kinds(design: StrandDesign, places: Longs) -> tuple[IntArray, Longs]:
    # Order of docs/rules.md: structures, wild:TIER on its tier, wild:any on each tier.
    tiers = list(design.tier_of)
    digits = [1 + place for size in design.sizes for place in range(size)]
    wild = [*design.wild_tiers, *(range(len(design.sizes)) if design.wild_any else ())]
    tiers += wild
    digits += [design.sizes[tier] + 1 for tier in wild]
    kind_tier = np.array(tiers, dtype=np.int32)
    return kind_tier, np.array(digits, dtype=np.int64) * places[kind_tier]


def _patterns(design: StrandDesign) -> Patterns:
    choices = [(0, 1, 2) if wild else (0, 1) for wild in design.has_wild]
    table = np.array(list(product(*choices)), dtype=np.int32).reshape(-1, len(choices))
    tier_bits = 1 << np.arange(len(choices), dtype=np.int32)
    return Patterns(
        tiers=((table > 0) @ tier_bits).astype(np.int32),
        wilds=((table == 2) @ tier_bits).astype(np.int32),
    )


def _rows(design: StrandDesign, way: DeckWay) -> Iterator[tuple[int, ...]]:
    """Give the choices of one structure a tier from a way, -1 where it has none."""
    tier_of = design.tier_of
    choices: list[list[int]] = [[] for _ in design.sizes]
    for structure in way.structures:
        choices[tier_of[structure]].append(structure)
    yield from product(*(choice or [-1] for choice in choices))


def _row_codes(
    design: StrandDesign, row: Sequence[int], patterns: Patterns, places: Longs
) -> Longs:
    """Give the code of every pattern of a row; meaningless where it uses a missing tier."""
    codes = np.zeros(len(patterns.tiers), dtype=np.int64)
    for tier, structure in enumerate(row):
        if structure >= 0:
            digit = structure - design.first_of_tier[tier] + 1
            wild = (patterns.wilds >> tier & 1).astype(np.int64)
            held = (patterns.tiers >> tier & 1).astype(np.int64)
            codes += (held * digit + wild * (design.sizes[tier] + 1 - digit)) * places[tier]
    return codes


def _tier_mask(row: Sequence[int], wanted: Iterable[int] | None = None) -> int:
    """Give the tiers of a row, or those on which it holds a wanted structure, as bits."""
    keep = None if wanted is None else frozenset(wanted)
    return sum(
        1 << tier
        for tier, structure in enumerate(row)
        if structure >= 0 and (keep is None or structure in keep)
    )


def _successive_fit(design: StrandDesign, row: Sequence[int]) -> Flags:
    """Give, by mask of tiers, whether successive cards of a row have what the rules ask."""
    tiers = len(row)
    ok = np.ones(1 << tiers, dtype=np.bool_)
    if design.skip_tiers and design.connect == "true":
        return ok
    for mask in range(1 << tiers):
        held = [row[tier] for tier in range(tiers) if mask >> tier & 1]
        pairs = list(pairwise(held))
        if not design.skip_tiers and any(pair not in design.linked for pair in pairs):
            ok[mask] = False
        if design.connect == "neighbours" and any(pair not in design.neighbours for pair in pairs):
            ok[mask] = False
    return ok


def _joined_codes(design: StrandDesign, patterns: Patterns, places: Longs) -> Longs:
    if design.connect == "neighbours":
        return _neighbour_codes(design, places)
    found = []
    for row in dict.fromkeys(row for way in design.ways for row in _rows(design, way)):
        usable = (patterns.tiers & ~_tier_mask(row)) == 0
        usable &= (patterns.tiers > 0) & _successive_fit(design, row)[patterns.tiers]
        found.append(_row_codes(design, row, patterns, places)[usable])
    return np.unique(np.concatenate(found)) if found else np.zeros(0, dtype=np.int64)


def _predecessors(design: StrandDesign) -> MaskArray:
    """Give, by structure, the structures that may come just before it, as bits."""
    count = len(design.tier_of)
    masks = np.zeros(count, dtype=np.uint64)
    for before, after in design.neighbours:
        rising = design.tier_of[before] < design.tier_of[after]
        if rising and (design.skip_tiers or (before, after) in design.linked):
            masks[after] |= ONE << np.uint64(before)
    return masks


def _tier_structures(design: StrandDesign, tier: int) -> range:
    first = design.first_of_tier[tier]
    return range(first, first + design.sizes[tier])


def _neighbour_codes(design: StrandDesign, places: Longs) -> Longs:
    # For every code so far, which structures its last card can be read as.
    before = _predecessors(design)
    codes = np.zeros(0, dtype=np.int64)
    ends = np.zeros(0, dtype=np.uint64)
    for tier, size in enumerate(design.sizes):
        new_codes, new_ends = [codes], [ends]
        as_wild = np.zeros(len(codes), dtype=np.uint64)
        alone = np.uint64(0)
        for digit, structure in enumerate(_tier_structures(design, tier), start=1):
            own = ONE << np.uint64(structure)
            alone |= own
            fits = (ends & before[structure]) != 0
            as_wild[fits] |= own
            new_codes += [codes[fits] + digit * places[tier], digit * places[tier : tier + 1]]
            new_ends += [np.full(int(fits.sum()), own), np.array([own])]
        if design.has_wild[tier] and size:
            fits = as_wild != 0
            wild_code = (size + 1) * places[tier : tier + 1]
            new_codes += [codes[fits] + wild_code, wild_code]
            new_ends += [as_wild[fits], np.array([alone])]
        codes = np.concatenate(new_codes).astype(np.int64)
        ends = np.concatenate(new_ends).astype(np.uint64)
    return np.sort(codes)


def _directory(joined: Longs, space: int) -> tuple[MaskArray, IntArray]:
    bits = np.zeros((space + 63) // 64, dtype=np.uint64)
    np.bitwise_or.at(bits, joined >> 6, ONE << (joined & 63).astype(np.uint64))
    counts = np.bitwise_count(bits).astype(np.int32)
    return bits, np.concatenate([[0], np.cumsum(counts)[:-1]]).astype(np.int32)


def _tiers_of(codes: Longs, places: Longs, sizes: IntArray) -> IntArray:
    tiers = np.zeros(len(codes), dtype=np.int32)
    for tier, size in enumerate(sizes):
        tiers |= ((codes // places[tier] % (size + 2) > 0) << tier).astype(np.int32)
    return tiers


def _look_up(joined: Longs, codes: Longs) -> tuple[Longs, Flags]:
    """Give the dense ids of codes, and which of them are joined at all."""
    ids = np.minimum(np.searchsorted(joined, codes), len(joined) - 1)
    return ids, joined[ids] == codes


def _fits(tiers: IntArray, tier: int, insert: bool) -> Flags:
    """Tell for each strand whether a card of a tier has room in it."""
    below = tiers & ((1 << tier) - 1)
    above = tiers >> tier
    fits: Flags = (above & 1) == 0
    if not insert:
        fits &= (above == 0) | (below == 0)
    return fits


def _last_of(design: StrandDesign) -> list[set[int]]:
    last: list[set[int]] = [set() for _ in range(design.targets)]
    for way in design.ways:
        if way.target >= 0:
            last[way.target].update(way.structures[-1:])
    return last


def _has_needs(design: StrandDesign, row: Sequence[int], last: set[int]) -> Flags:
    """Give, by mask of tiers, whether a row's cards hold what claim_needs asks for."""
    masks = np.arange(1 << len(row))
    ok = masks > 0
    if "last" in design.claim_needs:
        ok &= (masks & _tier_mask(row, last)) != 0
    if "origin" in design.claim_needs:
        lowest = masks & -masks
        ok &= (lowest & _tier_mask(row, design.origins)) != 0
    return ok


def _supplies_rows(design: StrandDesign) -> Iterator[tuple[int, tuple[int, ...], Flags]]:
    """Give target, row and, by mask of tiers, whether the row's cards supply the target."""
    if design.supply != "last-card":
        every = np.ones(1 << len(design.sizes), dtype=np.bool_)
        for way in design.ways:
            if way.target >= 0 and (way.main or design.supply == "true"):
                for row in _rows(design, way):
                    yield way.target, row, every
        return
    held: list[set[int]] = [set() for _ in range(design.targets)]
    for way in design.ways:
        if way.target >= 0:
            held[way.target].update(way.structures)
    masks = np.arange(1 << len(design.sizes))
    highest = np.array([1 << mask.bit_length() >> 1 for mask in masks.tolist()])
    for row in dict.fromkeys(row for way in design.ways for row in _rows(design, way)):
        for target in range(design.targets):
            on_target = _tier_mask(row, held[target])
            if on_target:
                yield target, row, (highest & on_target) != 0


def _claim_on_rows(
    design: StrandDesign, patterns: Patterns, joined: Longs, places: Longs, claims: MaskArray
) -> None:
    last = _last_of(design)
    real = patterns.real_cards >= design.claim_real
    seen = set()
    for target, row, supplied in _supplies_rows(design):
        if (target, row) in seen:
            continue
        seen.add((target, row))
        by_mask = supplied & _has_needs(design, row, last[target]) & _successive_fit(design, row)
        usable = ((patterns.tiers & ~_tier_mask(row)) == 0) & real & by_mask[patterns.tiers]
        ids, _ = _look_up(joined, _row_codes(design, row, patterns, places)[usable])
        claims[ids, target >> 6] |= ONE << np.uint64(target & 63)


def _claim_by_last_card(
    design: StrandDesign, joined: Longs, tiers: IntArray, places: Longs, claims: MaskArray
) -> None:
    # Under "neighbours" a strand need not lie on a row: readings are followed card by card,
    # apart for those that have and have not yet met a last structure of the target.
    before = _predecessors(design)
    last = _last_of(design)
    need_last = "last" in design.claim_needs
    cards = _bit_count(tiers)
    wilds = np.zeros(len(joined), dtype=np.int32)
    digits = np.zeros((len(design.sizes), len(joined)), dtype=np.int64)
    for tier, size in enumerate(design.sizes):
        digits[tier] = joined // places[tier] % (size + 2)
        wilds += digits[tier] == size + 1
    may = cards - wilds >= design.claim_real
    if "origin" in design.claim_needs:
        origin_tiers = {design.tier_of[structure] for structure in design.origins}
        begins = np.zeros(len(joined), dtype=np.bool_)
        for tier in origin_tiers:
            begins |= (tiers & -tiers) == 1 << tier
        may &= begins
    steps = []
    top = np.array([mask.bit_length() - 1 for mask in tiers.tolist()])
    for tier, size in enumerate(design.sizes):
        for length in range(1, tier + 2):
            ids = np.flatnonzero((top == tier) & (cards == length))
            shorter, _ = _look_up(joined, joined[ids] - digits[tier][ids] * places[tier])
            steps.append((length, tier, size, ids, shorter))
    steps.sort(key=lambda step: step[0])
    for target in range(design.targets):
        held = {s for way in design.ways if way.target == target for s in way.structures}
        met = np.zeros(len(joined), dtype=np.uint64)
        unmet = np.zeros(len(joined), dtype=np.uint64)
        for length, tier, size, ids, shorter in steps:
            for digit, structure in enumerate(_tier_structures(design, tier), start=1):
                own = ONE << np.uint64(structure)
                reads = (digits[tier][ids] == digit) | (digits[tier][ids] == size + 1)
                here = ids[reads]
                after_met = (met[shorter[reads]] & before[structure]) != 0
                after_unmet = (unmet[shorter[reads]] & before[structure]) != 0
                if length == 1:
                    after_met[:], after_unmet[:] = False, True
                if structure in last[target]:
                    met[here[after_met | after_unmet]] |= own
                else:
                    met[here[after_met]] |= own
                    unmet[here[after_unmet]] |= own
        wanted = np.uint64(sum(1 << structure for structure in held))
        ends = met if need_last else met | unmet
        claims[may & ((ends & wanted) != 0), target >> 6] |= ONE << np.uint64(target & 63)


def _true_claims(
    design: StrandDesign, patterns: Patterns, joined: Longs, places: Longs
) -> MaskArray:
    if design.supply != "last-card":
        return np.zeros((0, 2), dtype=np.uint64)  # every claim lies on a pathway of its target
    found = np.zeros((len(joined), 2), dtype=np.uint64)
    for way in dict.fromkeys((way.target, way.structures) for way in design.ways):
        if way[0] < 0:
            continue
        for row in _rows(design, DeckWay(way[0], True, way[1])):
            usable = (patterns.tiers > 0) & ((patterns.tiers & ~_tier_mask(row)) == 0)
            ids, are = _look_up(joined, _row_codes(design, row, patterns, places)[usable])
            found[ids[are], way[0] >> 6] |= ONE << np.uint64(way[0] & 63)
    return found


def _fill_full(
    design: StrandDesign,
    patterns: Patterns,
    joined: Longs,
    tiers: IntArray,
    places: Longs,
    claims: MaskArray,
    full: MaskArray,
) -> None:
    if design.full_strand == "deck":
        whole = tiers == (1 << len(design.sizes)) - 1
        full[whole] = claims[whole]
        return
    main_sets: list[list[frozenset[int]]] = [[] for _ in range(design.targets)]
    for way in design.ways:
        if way.target >= 0 and way.main:
            main_sets[way.target].append(frozenset(way.structures))
    real = patterns.real_cards >= design.claim_real
    last = _last_of(design)
    for way in design.ways:
        rows = list(_rows(design, way))
        if way.target < 0 or not way.structures or len(rows) > 1:
            continue  # two structures on one tier: no strand holds them both
        row, whole_mask = rows[0], _tier_mask(rows[0])
        reads = (
            _successive_fit(design, row)[whole_mask]
            and _has_needs(design, row, last[way.target])[whole_mask]
        )
        if design.supply == "main":
            cards = frozenset(way.structures)
            reads = reads and any(cards <= held for held in main_sets[way.target])
        if reads:
            usable = (patterns.tiers == whole_mask) & real
            ids, _ = _look_up(joined, _row_codes(design, row, patterns, places)[usable])
            full[ids, way.target >> 6] |= ONE << np.uint64(way.target & 63)


def _within(now: MaskArray, onward: list[tuple[Longs, Longs]]) -> MaskArray:
    """Give what is had after at most 1, 2, 3 more attached cards, from what is had now."""
    found = np.zeros((LOOK_AHEAD, *now.shape), dtype=np.uint64)
    had = now
    for depth in range(LOOK_AHEAD):
        found[depth] = had
        for start, longer in onward:
            found[depth][start] |= had[longer]
        had = found[depth].copy()
    return found
