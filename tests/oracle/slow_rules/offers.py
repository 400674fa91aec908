"""Which attaches, joins and claims a seat is offered: the legal ones, or what it believes.

A seat without beliefs knows the whole map and is offered what is legal.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from slow_rules import moves
from slow_rules.beliefs import Pair
from slow_rules.cards import Card, Seat, Strand

if TYPE_CHECKING:
    from slow_rules.table import Table


def offers_attach(table: Table, strand: Strand, tier: int, card: Card) -> bool:
    """Tell whether the seat to move may put a card to one of its strands, or would try to."""
    legal = moves.attaches(table, strand, tier, card)
    beliefs = table.beliefs[table.seat]
    if beliefs is None:
        return legal
    return moves.has_room(table, strand, tier) and beliefs.offers(
        tried_by_attach(strand, tier, card), legal=legal
    )


def offers_join(table: Table, one: Strand, other: Strand) -> bool:
    """Tell whether the seat to move may join two of its strands, or would try to."""
    legal = moves.can_join(table, one, other)
    beliefs = table.beliefs[table.seat]
    if beliefs is None:
        return legal
    return moves.can_lie_together(table, one, other) and beliefs.offers(
        new_junctions(one.cards, other.cards), legal=legal
    )


def offered_claims(table: Table, seat: Seat, strand: Strand) -> frozenset[str]:
    """Give the targets that the seat to move may claim with a strand, or would try to."""
    legal = moves.claimed_by(table, seat, strand)
    beliefs = table.beliefs[table.seat]
    if beliefs is None:
        return legal
    cards = strand.distal_side().values()
    real = sum(not card.is_wild for card in cards)
    enough = len(cards) >= table.claim_minimum_of(seat) and real >= table.game.rules.claim_real
    return frozenset(
        target
        for target in table.game.targets
        if (target in legal or enough)
        and beliefs.offers(tried_by_claim(strand, target), legal=target in legal)
    )


def tried_by_attach(strand: Strand, tier: int, card: Card) -> list[Pair]:
    """Give the junctions that a card would make in a strand."""
    side = strand.cards
    if strand.gap is not None:
        side = strand.distal_side() if tier >= strand.gap else strand.proximal_side()
    return new_junctions(side, {tier: card})


def new_junctions(lying: dict[int, Card], coming: dict[int, Card]) -> list[Pair]:
    """Give the pairs of structures, one of each, that would be successive."""
    both = {**lying, **coming}
    return [
        (both[one].kind, both[other].kind)
        for one, other in pairwise(sorted(both))
        if (one in coming) != (other in coming)
        and not both[one].is_wild
        and not both[other].is_wild
    ]


def tried_by_claim(strand: Strand, target: str) -> list[Pair]:
    """Give what a claim tries: its last card with the target."""
    last = strand.cards[strand.tiers[-1]]
    return [] if last.is_wild else [(last.kind, target)]


def tried_by(table: Table, move: moves.Move) -> tuple[bool, list[Pair]]:
    """Tell whether a move of the seat to move is legal, and give the facts that it tries."""
    number, *arguments = move
    seat = table.seats[table.seat]
    strands = moves.strands_in_order(table, seat)
    if number == moves.JOIN:
        one, other = (strands[place] for place in arguments)
        return moves.can_join(table, one, other), new_junctions(one.cards, other.cards)
    if number == moves.CLAIM:
        strand, target = strands[arguments[0]], table.game.targets[arguments[1]]
        return target in moves.claimed_by(table, seat, strand), tried_by_claim(strand, target)
    if number == moves.ATTACH:
        cards, strand, kind = seat.hand, strands[arguments[0]], arguments[1]
    elif number == moves.TAKE_LOOSE:
        rival = table.seats[(table.seat + arguments[0]) % len(table.seats)]
        cards = [card for lying in rival.strands for card in lying.all_cards]
        strand, kind = strands[arguments[1]], arguments[2]
    else:
        return True, []
    name, _, on = table.game.placed_kinds[kind].partition("@")
    card = next(card for card in cards if card.kind == name)
    tier = table.game.tiers.index(on) if on else table.tier_of(card)
    return moves.attaches(table, strand, tier, card), tried_by_attach(strand, tier, card)
