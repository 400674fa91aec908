"""Which draws, plays, joins and claims are legal, from a table that is only looked at.

A move is its number and its arguments, all whole numbers. Arguments that name a strand count
the different strands of the seat in order; cards count in the order of hand or placed kinds.
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

from slow_rules import offers
from slow_rules.cards import VARIANT, WILD_ANY, Card, Seat, Strand, slots_of

if TYPE_CHECKING:
    from slow_rules.table import Table

Move = tuple[int, ...]

END, PASS, DRAW_STOCK, DRAW_DISPLAY, SWAP, TAKE_LOOSE, LIFT = range(7)
LAY, ATTACH, ATTACH_OVER_GAP, JOIN, CLAIM, USE = range(7, 13)
LET, CANCEL = (0,), (1,)


def legal_draws(table: Table) -> list[Move]:
    """Give the draws that are legal now."""
    found: list[Move] = []
    allowed = table.game.rules.draws
    seat = table.seats[table.seat]
    if "stock" in allowed and table.stock:
        found.append((DRAW_STOCK,))
    if "display" in allowed:
        found += [(DRAW_DISPLAY, kind) for kind in hand_kinds(table, table.display)]
    if "swap" in allowed and table.stock:
        found += [(SWAP, kind) for kind in hand_kinds(table, seat.hand)]
    if "take-loose" in allowed and table.plays > 0:
        found += takes(table)
    if "lift" in allowed and (table.stock or seat.late_lifts > 0):
        for place, strand in enumerate(strands_in_order(table, seat)):
            ends = (0,) if strand.is_loose else (0, 1)
            found += [(LIFT, place, end) for end in ends]
    return found


def takes(table: Table) -> list[Move]:
    """Give the loose cards of rivals that attach to a strand of one's own."""
    found: list[Move] = []
    strands = strands_in_order(table, table.seats[table.seat])
    for on in range(1, len(table.seats)):
        rival = table.seats[(table.seat + on) % len(table.seats)]
        if table.is_guarded(rival):
            continue
        for loose in strands_in_order(table, rival):
            if not loose.is_loose:
                continue
            tier, card = next(iter(loose.cards.items()))
            kind = placed_kind(table, tier, card)
            found += [
                (TAKE_LOOSE, on, place, kind)
                for place, strand in enumerate(strands)
                if offers.offers_attach(table, strand, tier, card)
            ]
    return found


def legal_plays(table: Table) -> list[Move]:
    """Give the plays that are legal now."""
    found: list[Move] = []
    seat = table.seats[table.seat]
    rules = table.game.rules
    strands = strands_in_order(table, seat)
    placings = placings_from(table, seat.hand)
    found += [(LAY, placed_kind(table, tier, card)) for tier, card in placings]
    for place, strand in enumerate(strands):
        for tier, card in placings:
            kind = placed_kind(table, tier, card)
            if offers.offers_attach(table, strand, tier, card):
                found.append((ATTACH, place, kind))
            if holds_variant(seat) and attaches_over_gap(table, strand, tier, card):
                found.append((ATTACH_OVER_GAP, place, kind))
    if rules.join == "instead-of-play":
        found += joins(table)
    if rules.claim == "instead-of-play":
        found += claims(table)
    return found


def joins(table: Table) -> list[Move]:
    """Give the pairs of one's own strands that can be joined."""
    strands = strands_in_order(table, table.seats[table.seat])
    return [
        (JOIN, first, later)
        for first, later in combinations(range(len(strands)), 2)
        if offers.offers_join(table, strands[first], strands[later])
    ]


def claims(table: Table) -> list[Move]:
    """Give the claims of open targets and of one's own secret ones."""
    seat = table.seats[table.seat]
    within_reach = {card.kind for card in table.open_targets if card} | {
        card.kind for card in seat.secrets
    }
    return [
        (CLAIM, place, table.game.targets.index(target))
        for place, strand in enumerate(strands_in_order(table, seat))
        for target in offers.offered_claims(table, seat, strand) & within_reach
    ]


# What a strand lets happen.


def has_room(table: Table, strand: Strand, tier: int) -> bool:
    """Tell whether a card on a tier could lie in a strand, as anybody can see."""
    tiers = strand.tiers
    if tier in tiers:
        return False
    if not table.game.rules.insert and tiers[0] < tier < tiers[-1]:
        return False
    # nothing is inserted at the gap
    return strand.gap is None or not max(strand.proximal_side()) < tier < strand.gap


def attaches(table: Table, strand: Strand, tier: int, card: Card) -> bool:
    """Tell whether a card on a tier attaches to a strand."""
    if not has_room(table, strand, tier):
        return False
    if strand.gap is None:
        return table.book.joined(slots_of({**strand.cards, tier: card}, table.tiers))
    side = strand.distal_side() if tier >= strand.gap else strand.proximal_side()
    return table.book.joined(slots_of({**side, tier: card}, table.tiers))


def attaches_over_gap(table: Table, strand: Strand, tier: int, card: Card) -> bool:
    """Tell whether a card that the strand refuses can go beyond one of its ends."""
    if strand.gap is not None or strand.tiers[0] <= tier <= strand.tiers[-1]:
        return False
    return not table.book.joined(slots_of({**strand.cards, tier: card}, table.tiers))


def can_lie_together(table: Table, one: Strand, other: Strand) -> bool:
    """Tell whether two strands could be one, as anybody can see."""
    if set(one.cards) & set(other.cards) or one.gap is not None or other.gap is not None:
        return False
    is_apart = max(one.cards) < min(other.cards) or max(other.cards) < min(one.cards)
    return table.game.rules.insert or is_apart


def can_join(table: Table, one: Strand, other: Strand) -> bool:
    """Tell whether two strands can become one."""
    if not can_lie_together(table, one, other):
        return False
    return table.book.joined(slots_of({**one.cards, **other.cards}, table.tiers))


def claimed_by(table: Table, seat: Seat, strand: Strand) -> frozenset[str]:
    """Give the targets that a strand claims in the hands of a seat."""
    slots = slots_of(strand.distal_side(), table.tiers)
    return table.book.claims(slots, table.claim_minimum_of(seat))


# Names and orders.


def hand_kinds(table: Table, cards: list[Card]) -> list[int]:
    """Give the different kinds among cards, in order."""
    return sorted({table.game.hand_kinds.index(card.kind) for card in cards})


def placings_from(table: Table, hand: list[Card]) -> list[tuple[int, Card]]:
    """Give every different way to lay a card of a hand: its tier, and the card."""
    one_of_each = {card.kind: card for card in hand if card.kind != VARIANT}
    found = []
    for card in one_of_each.values():
        if card.kind == WILD_ANY:
            found += [(tier, card) for tier in range(table.tiers)]
        else:
            found.append((table.tier_of(card), card))
    return sorted(found, key=lambda placing: placed_kind(table, *placing))


def placed_kind(table: Table, tier: int, card: Card) -> int:
    """Give the number of the placed kind that a card on a tier is."""
    name = f"{WILD_ANY}@{table.game.tiers[tier]}" if card.kind == WILD_ANY else card.kind
    return table.game.placed_kinds.index(name)


def strand_order(table: Table, strand: Strand) -> tuple[int, ...]:
    """Give the place of a strand among a seat's; equal strands have equal places."""
    if strand.is_loose:
        return (1, placed_kind(table, *next(iter(strand.cards.items()))))
    code, place = 0, 1
    held_by_any = 0
    for tier, on_tier in enumerate(table.book.on_tier):
        card = strand.cards.get(tier)
        if card is not None:
            digit = len(on_tier) + 1 if card.is_wild else on_tier.index(card.kind) + 1
            code += digit * place
            held_by_any += 2**tier if card.kind == WILD_ANY else 0
        place *= len(on_tier) + 2
    return (0, code, -1 if strand.gap is None else strand.gap, held_by_any)


def strands_in_order(table: Table, seat: Seat) -> list[Strand]:
    """Give the different strands of a seat in order, one of each."""
    by_place = {strand_order(table, strand): strand for strand in reversed(seat.strands)}
    return [by_place[place] for place in sorted(by_place)]


def holds_variant(seat: Seat) -> bool:
    """Tell whether a seat has a variant card in its hand."""
    return any(card.kind == VARIANT for card in seat.hand)
