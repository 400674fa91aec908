"""What players who know only a part of the map believe, and what they would try of it.

Beliefs are written once a game, by seat: the facts that its player knows, and the false ones
that it holds instead of others (docs/rules.md, Knowledge). From these `write_offers` makes,
for every strand of the seat to move, the placed kinds and targets that it would try; counts
and styles read them there. Kernel functions only, all but the smallest compiled apart: a
line-up of players who know everything never comes here.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import numpy as np

from nervure.engine._native import (
    ONE,
    ZERO,
    apart,
    bit,
    highest,
    inner,
    lowest,
    nth_bit,
    popcount,
    stay_apart,
)
from nervure.engine.desk import AHEAD, At
from nervure.engine.layout import (
    BELIEF_WORDS,
    OFFER_WORDS,
    Belief,
    Mask,
    MoveNumber,
    Number,
    Seat,
)
from nervure.engine.line_up import KNOWS_ALL, LineUp
from nervure.engine.randomness import BELIEFS, GOLDEN, HALF, key_of, mix
from nervure.engine.strands import (
    least_claim,
    look_up,
    loose_kind,
    record,
    record_masks,
    seat_place,
    strand_attach,
    tiers_of_code,
    whole,
    word,
)
from nervure.game.tables import Rule

# 2^64 / 1000 in whole numbers, and what is left over.
THOUSANDTH = np.uint64(2**64 // 1000)
REST = 2**64 % 1000
WILD = -2
NOTHING = -1


@inner
def beliefs_of(seat):
    """Give the place of what a seat believes."""
    return Mask.BELIEFS + seat * BELIEF_WORDS


@inner
def offer_of(strand):
    """Give the place of what is offered for a strand of the seat to move."""
    return Mask.OFFERED + strand * OFFER_WORDS


@inner
def threshold(share):
    """Give below which word a fact is known, for a share in thousandths under 1000."""
    more = (share * REST + 999) // 1000
    return np.uint64(share) * THOUSANDTH + np.uint64(more)


@apart
def believe_all(desk, numbers, masks, seed, deal, line_up):
    """Write what every seat believes at the start of a game."""
    stay_apart()
    for seat in range(desk.rules[Rule.SEATS]):
        player = np.int64(numbers[seat_place(seat) + Seat.PLAYER])
        share = np.int64(line_up[LineUp.KNOWLEDGE + player])
        if share < KNOWS_ALL:
            numbers[seat_place(seat) + Seat.PARTLY] = 1
            key = key_of(seed, deal, np.uint64(BELIEFS + player))
            believe(desk, masks, beliefs_of(seat), key, threshold(share))


@apart
def believe(desk, masks, at, key, limit):
    """Write to place `at` what a player with this key knows, and what it wrongly holds."""
    stay_apart()
    for place in range(BELIEF_WORDS):
        masks[at + place] = ZERO
    for fact in range(desk.rules[At.FACTS]):
        one = whole(desk, At.FACT_PAIRS, 2 * fact)
        other = whole(desk, At.FACT_PAIRS, 2 * fact + 1)
        is_supply = fact >= desk.rules[At.JUNCTIONS]
        is_known = mix(key ^ word(desk, At.FACT_SALTS, 2 * fact)) < limit
        if not is_known and is_open(desk, is_supply, one, other):
            if is_supply:
                tier = whole(desk, At.KIND_TIER, one)
                left = word(desk, At.CARDED_ON, tier) & ~word(desk, At.TRUE_ENDS, other)
            else:
                tier = whole(desk, At.KIND_TIER, other)
                left = word(desk, At.CARDED_ON, tier) & ~word(desk, At.TRUE_AFTER, one)
            many = popcount(left)
            if many == 0:
                continue
            nth = np.int64(0)
            if many > 1:
                drawn = mix((key ^ word(desk, At.FACT_SALTS, 2 * fact + 1)) + GOLDEN) >> HALF
                nth = np.int64((drawn * np.uint64(many)) >> HALF)
            if is_supply:
                one = np.int64(nth_bit(left, nth))
            else:
                other = np.int64(nth_bit(left, nth))
            if not is_open(desk, is_supply, one, other):
                continue
        if is_supply:
            masks[at + Belief.TARGETS + 2 * one + (other >> 6)] |= bit(other & 63)
        else:
            masks[at + Belief.AFTER + one] |= bit(other)
            masks[at + Belief.BEFORE + other] |= bit(one)


@inner
def is_open(desk, is_supply, one, other):
    """Tell whether what cards print leaves a pair open."""
    if is_supply:
        found = word(desk, At.OPEN_TARGETS, 2 * one + (other >> 6))
    else:
        found = word(desk, At.OPEN_AFTER, one)
    return (found >> np.uint64(other & 63)) & ONE != ZERO


@inner
def on_tier(desk, code, tier):
    """Give the structure that a strand has on a tier, `WILD` or `NOTHING`."""
    size = whole(desk, At.SIZES, tier)
    digit = (code // whole(desk, At.PLACES, tier)) % (size + 2)
    if digit == 0:
        return np.int64(NOTHING)
    if digit > size:
        return np.int64(WILD)
    return whole(desk, At.FIRST_OF_TIER, tier) + digit - 1


@inner
def code_of(desk, numbers, masks, seat, strand):
    """Give the whole code of an own strand, and its gap tier."""
    if strand < numbers[seat_place(seat) + Seat.STRANDS]:
        key = np.int64(numbers[record(seat, strand)])
        return key >> 9, (key >> 6) & 7
    return whole(desk, At.KIND_CODE, loose_kind(numbers, masks, seat, strand)), np.int64(0)


@inner
def true_claims(desk, numbers, masks, seat, strand, half):
    """Give the targets, of one word, that an own strand claims by the rules."""
    if strand < numbers[seat_place(seat) + Seat.STRANDS]:
        return masks[record_masks(seat, strand) + 1 + half]
    if least_claim(desk, numbers, seat) > 1:
        return ZERO
    kind = loose_kind(numbers, masks, seat, strand)
    return word(desk, At.CLAIMS, AHEAD * whole(desk, At.KIND_ID, kind) + half)


@apart
def write_offers(desk, numbers, masks, seat, many):
    """Write what is offered for each of a seat's `many` strands and loose cards."""
    stay_apart()
    at = beliefs_of(seat)
    for strand in range(many):
        code, gap = code_of(desk, numbers, masks, seat, strand)
        place = offer_of(strand)
        fits = strand_attach(desk, numbers, masks, seat, strand)
        masks[place] = offered_kinds(desk, masks, at, code, gap, fits)
        last = on_tier(desk, code, highest(np.uint64(tiers_of_code(desk, code))))
        enough = can_be_claimed(desk, numbers, seat, code, gap)
        for half in range(2):
            claims = true_claims(desk, numbers, masks, seat, strand, half)
            if last >= 0:
                facts = word(desk, At.TRUE_TARGETS, 2 * last + half)
                believed = masks[at + Belief.TARGETS + 2 * last + half]
                claims &= ~(facts & ~believed)
                if enough:
                    claims |= believed & ~facts
            masks[place + 1 + half] = claims


@inner
def can_be_claimed(desk, numbers, seat, code, gap):
    """Tell whether a strand's claiming side has the cards that a claim asks for."""
    cards, real = 0, 0
    for tier in range(gap, desk.rules[Rule.TIERS]):
        held = on_tier(desk, code, tier)
        if held != NOTHING:
            cards += 1
        if held >= 0:
            real += 1
    return cards >= least_claim(desk, numbers, seat) and real >= desk.rules[Rule.CLAIM_REAL]


@inner
def offered_kinds(desk, masks, at, code, gap, fits):
    """Give the placed kinds that a seat would attach to a strand; `fits`: that it may.

    A kind is offered if every new junction is believed, and the strand takes it in or one of
    the junctions is false.
    """
    tiers = np.int64(desk.rules[Rule.TIERS])
    held = np.uint64(tiers_of_code(desk, code))
    found = ZERO
    for tier in range(tiers):
        below = held & (bit(tier) - ONE)
        above = held & ~(bit(tier) - ONE)
        if (held >> np.uint64(tier)) & ONE != ZERO:
            continue
        if desk.rules[Rule.INSERT] == 0 and below != ZERO and above != ZERO:
            continue
        if gap > 0:
            if tier < gap:
                above &= bit(gap) - ONE
            else:
                below &= ~(bit(gap) - ONE)
            if (above if tier < gap else below) == ZERO:
                continue
        believed, false = ~ZERO, ZERO
        if below != ZERO:
            left = on_tier(desk, code, highest(below))
            if left >= 0:
                believed &= masks[at + Belief.AFTER + left]
                false |= masks[at + Belief.AFTER + left] & ~word(desk, At.TRUE_AFTER, left)
        if above != ZERO:
            right = on_tier(desk, code, lowest(above))
            if right >= 0:
                believed &= masks[at + Belief.BEFORE + right]
                false |= masks[at + Belief.BEFORE + right] & ~word(desk, At.TRUE_BEFORE, right)
        believed |= word(desk, At.WILD_KINDS, 0)
        found |= word(desk, At.KINDS_ON, tier) & believed & (fits | false)
    return found


@apart
def tries_join(desk, numbers, masks, seat, one, other):
    """Tell whether a seat would join two of its strands."""
    stay_apart()
    code, gap = code_of(desk, numbers, masks, seat, one)
    more, more_gap = code_of(desk, numbers, masks, seat, other)
    if gap > 0 or more_gap > 0:
        return False
    at = beliefs_of(seat)
    before, is_mores, switches, rests_on_false = np.int64(NOTHING), False, 0, False
    for tier in range(desk.rules[Rule.TIERS]):
        held, added = on_tier(desk, code, tier), on_tier(desk, more, tier)
        if held != NOTHING and added != NOTHING:
            return False
        here = held if added == NOTHING else added
        if here == NOTHING:
            continue
        if before != NOTHING and is_mores != (added != NOTHING):
            switches += 1
            if before >= 0 and here >= 0:
                if (masks[at + Belief.AFTER + before] >> np.uint64(here)) & ONE == ZERO:
                    return False
                if (word(desk, At.TRUE_AFTER, before) >> np.uint64(here)) & ONE == ZERO:
                    rests_on_false = True
        before, is_mores = here, added != NOTHING
    if switches > 1 and desk.rules[Rule.INSERT] == 0:
        return False
    return rests_on_false or look_up(desk, code + more) >= 0


@apart
def is_refused(desk, numbers, masks, seat):
    """Tell whether the move at CHOSEN is against the rules; if so, pay for it.

    The false facts that it rests on are no longer held, and stand at TRIED.
    """
    stay_apart()
    numbers[Number.TRIED] = 0
    number = np.int64(numbers[Number.CHOSEN])
    first, second = np.int64(numbers[Number.CHOSEN + 1]), np.int64(numbers[Number.CHOSEN + 2])
    if number == MoveNumber.CLAIM:
        claims = true_claims(desk, numbers, masks, seat, first, second >> 6)
        if (claims >> np.uint64(second & 63)) & ONE != ZERO:
            return False
        code, _ = code_of(desk, numbers, masks, seat, first)
        last = highest(np.uint64(tiers_of_code(desk, code)))
        drop(desk, numbers, masks, seat, True, on_tier(desk, code, last), second)
    elif number == MoveNumber.JOIN:
        code, _ = code_of(desk, numbers, masks, seat, first)
        more, _ = code_of(desk, numbers, masks, seat, second)
        if look_up(desk, code + more) >= 0:
            return False
        drop_junctions(desk, numbers, masks, seat, code, more, np.int64(0))
    elif number == MoveNumber.ATTACH or number == MoveNumber.TAKE_LOOSE:
        strand, kind = first, second
        if number == MoveNumber.TAKE_LOOSE:
            strand, kind = second, np.int64(numbers[Number.CHOSEN + 3])
        fits = strand_attach(desk, numbers, masks, seat, strand)
        if (fits >> np.uint64(kind)) & ONE != ZERO:
            return False
        code, gap = code_of(desk, numbers, masks, seat, strand)
        drop_junctions(desk, numbers, masks, seat, code, whole(desk, At.KIND_CODE, kind), gap)
    else:
        return False
    numbers[seat_place(seat) + Seat.REFUSED] += 1
    numbers[seat_place(seat) + Seat.JOINS] = -1
    pay(desk, numbers, number)
    return True


@inner
def drop_junctions(desk, numbers, masks, seat, code, more, gap):
    """Give up the false junctions that putting two codes together would make."""
    before, is_mores = np.int64(NOTHING), False
    for tier in range(desk.rules[Rule.TIERS]):
        held, added = on_tier(desk, code, tier), on_tier(desk, more, tier)
        here = held if added == NOTHING else added
        if tier == gap:
            before = np.int64(NOTHING)
        if here == NOTHING:
            continue
        if (
            before >= 0
            and here >= 0
            and is_mores != (added != NOTHING)
            and (word(desk, At.TRUE_AFTER, before) >> np.uint64(here)) & ONE == ZERO
        ):
            drop(desk, numbers, masks, seat, False, before, here)
        before, is_mores = here, added != NOTHING


@inner
def drop(desk, numbers, masks, seat, is_supply, one, other):
    """Give up one false fact, and note it at TRIED."""
    at = beliefs_of(seat)
    structures = np.int64(desk.rules[Rule.STRUCTURES])
    if is_supply:
        masks[at + Belief.TARGETS + 2 * one + (other >> 6)] &= ~bit(other & 63)
        tried = structures * structures + one * desk.rules[Rule.TARGETS] + other
    else:
        masks[at + Belief.AFTER + one] &= ~bit(other)
        masks[at + Belief.BEFORE + other] &= ~bit(one)
        tried = one * structures + other
    numbers[Number.TRIED] += 1
    numbers[Number.TRIED + numbers[Number.TRIED]] = tried


@inner
def pay(desk, numbers, number):
    """Use up what a move costs: a draw, a play, or nothing."""
    if number <= MoveNumber.LIFT:
        numbers[Number.DRAWS] -= 1
    if (
        number == MoveNumber.TAKE_LOOSE
        or MoveNumber.LAY <= number <= MoveNumber.ATTACH_GAP
        or (number == MoveNumber.JOIN and desk.rules[Rule.JOIN_IS_PLAY] != 0)
        or (number == MoveNumber.CLAIM and desk.rules[Rule.CLAIM_IS_PLAY] != 0)
    ):
        numbers[Number.PLAYS] -= 1
        numbers[Number.BEGAN] = 1
