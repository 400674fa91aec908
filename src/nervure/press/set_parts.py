"""Sets the cards that a player holds: parts, wild cards, the variant card."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from nervure.press.cards import DrawnNode, PartCard, VariantCard, WildCard
from nervure.press.edges import (
    EMPTY,
    FIBRES_ABOVE_END,
    MAP_GAP,
    EdgeList,
    Room,
    set_edges,
)
from nervure.press.fitting import Fitter, name_block
from nervure.typeset.fit import Block

MARK_ROOM = 13.9  # from the inset to tier word and name, mm
NAME_HEIGHT = 15.4
MAP_TOP = 34.6
MAP_LEFT = 17.5  # where the map begins as a rule, and ends as far from the other edge
WILD_MAP_TOP = 45.5
SAYS_SIZES = (8.5, 8.0, 7.5, 7.0)


def part_name(name: str, fitter: Fitter) -> Block:
    """Give the name of a card that a player holds, beside its mark."""
    return name_block(name, fitter.inner - MARK_ROOM, NAME_HEIGHT)


def set_part(card: PartCard, fitter: Fitter) -> dict[str, Any]:
    """Give a part card as data for the templates."""
    deck = fitter.deck
    foot = fitter.bonus_top if card.bonus else fitter.foot_top
    fibres_top = foot - 9.8 if card.bonus else deck.height - FIBRES_ABOVE_END
    list_end = foot - (0.6 if card.bonus else 1.2)
    room = Room(deck.width - 2 * deck.safe, list_end, fibres_top - 0.8, fitter.head_width)
    left, right = set_edges(card.proximal, card.distal, room, fitter.short_widths)
    _note_lists(card, left, right, room, fitter)
    fitter.check_short(card.id, card.short)
    tier = fitter.tier_label(card.tier)
    nodes_width = 2.4 * len(deck.tiers) + 0.4
    fitter.check_line(card.id, "tier", tier, fitter.inner - MARK_ROOM - nodes_width, 8.5)
    map_left, map_width = map_span(left, right, fitter)
    fibres_left, fibres_width = fibres_span(left, right, fibres_top, fitter)
    rooted = card.id in deck.origins and not card.proximal
    return {
        "type": "part",
        "class": tier,
        "name": fitter.fitted(card.id, "name", part_name(card.name, fitter)),
        "mark": deck.tier(card.tier).mark,
        "tier": fitter.tier_number[card.tier],
        "short": card.short,
        "proximal": _edge_data(left),
        "distal": _edge_data(right),
        "rootlets": (0.24 if map_left < 15 else 1.0) if rooted else 0,
        "lit": [fitter.node_number[card.id]],
        "near": list(card.near),
        "fibres": fitter.states(card),
        "map_left": map_left,
        "map_width": map_width,
        "map_height": fibres_top - MAP_TOP - 0.9,
        "fibres_left": fibres_left,
        "fibres_width": fibres_width,
        "fibres_top": fibres_top,
        "map_alt": fitter.say("press.alt.part", name=card.name, fibres=fitter.fibres),
        "fibres_alt": fitter.reached_aloud(card),
        "stagger": fitter.needs_two_lines(card.id, fibres_width),
        "bonus": fitter.bonus(card),
    }


def map_span(left: EdgeList, right: EdgeList, fitter: Fitter) -> tuple[float, float]:
    """Give left edge and width of the map: the usual ones, or what the lists leave."""
    deck = fitter.deck
    if left is EMPTY and right is EMPTY:
        return fitter.inset + 2, fitter.inner - 4
    start, width = MAP_LEFT, deck.width - 2 * MAP_LEFT
    first = deck.safe + left.width
    last = deck.width - deck.safe - right.width
    if first <= start and start + width <= last:
        return start, width
    first, last = max(first, fitter.inset), min(last, deck.width - fitter.inset)
    most = min(width, last - first)
    return (first + last - most) / 2, most


def fibres_span(
    left: EdgeList, right: EdgeList, top: float, fitter: Fitter
) -> tuple[float, float]:
    """Give left edge and width of the fibres row: as on a target card where lists end above.

    An inner column always ends above it, an outer one may reach down beside it.
    """
    first, last = fitter.inset, fitter.deck.width - fitter.inset
    if left.end() > top - 0.4:
        first += left.width if right is EMPTY else left.widths[-1] + MAP_GAP
    if right.end() > top - 0.4:
        last -= right.width if left is EMPTY else right.widths[-1] + MAP_GAP
    return first, last - first


def set_wild(card: WildCard, fitter: Fitter) -> dict[str, Any]:
    """Give a wild card as data for the templates."""
    deck = fitter.deck
    single = len(card.tiers) == 1
    tier = fitter.tier_label(card.tiers[0])
    key = "wild" if single else "wild-any"
    name = fitter.say(f"press.{key}-name", tier=tier)
    map_height = fitter.foot_top - WILD_MAP_TOP - 2.5
    lit = [pair for pair in enumerate(deck.drawing.nodes) if pair[1].tier in card.tiers]
    return {
        "type": "wild",
        "class": fitter.say("press.wild-class"),
        "name": fitter.fitted(card.id, "name", part_name(name, fitter)),
        "short": fitter.say("press.wild-short"),
        "tiers": [fitter.tier_number[tier] for tier in card.tiers],
        "marks": [deck.tier(tier).mark for tier in card.tiers],
        "says": _says(card.id, fitter.say(f"press.{key}-says", tier=tier), 11.0, fitter),
        "lit": [n for n, _ in lit],
        "lit_size": min(1.1, max(0.45, 0.42 * _smallest_step(lit) * map_height)),
        "map_height": map_height,
        "map_alt": fitter.say("press.alt.wild"),
    }


def set_variant(card: VariantCard, fitter: Fitter) -> dict[str, Any]:
    """Give a variant card as data for the templates."""
    name = fitter.say("press.variant-name")
    return {
        "type": "variant",
        "class": fitter.say("press.variant-class"),
        "name": fitter.fitted(card.id, "name", part_name(name, fitter)),
        "short": fitter.say("press.variant-short"),
        "says": _says(card.id, fitter.say("press.variant-says"), 14.0, fitter),
    }


def _says(card: str, text: str, height: float, fitter: Fitter) -> dict[str, Any] | None:
    return fitter.fitted(
        card, "text", Block(text, "sans", SAYS_SIZES, fitter.deck.width - 16, height)
    )


def _note_lists(
    card: PartCard, left: EdgeList, right: EdgeList, room: Room, fitter: Fitter
) -> None:
    if left.is_close or right.is_close:
        fitter.notes.append(fitter.say("press.note.close", card=card.id))
    for side in (left, right):
        if side.columns and len(side.columns[-1]) > room.rows(side.look, inner=False):
            fitter.refuse(card.id, "lists", "rows")
        for group in side.grouped:
            members = tuple(entry.id for entry in group.members)
            fitter.grouped[card.id] = fitter.grouped.get(card.id, ()) + members
            values = {"count": len(members), "short": group.entry.short}
            fitter.notes.append(fitter.say("press.note.grouped", card=card.id, **values))


def _edge_data(side: EdgeList) -> dict[str, Any]:
    look = side.look
    return {
        "columns": [
            [{"mark": entry.mark, "short": entry.short} for entry in rows] for rows in side.columns
        ],
        "pitch": look.pitch,
        "mark": look.mark,
        "text": look.text,
        "offset": look.offset,
        "shifts": [side.shift(column) for column in range(len(side.columns))],
    }


def _smallest_step(nodes: list[tuple[int, DrawnNode]]) -> float:
    """Give the smallest distance of two nodes of one column, in heights of the drawing."""
    places = sorted(node.place for _, node in nodes)
    steps = (b[1] - a[1] for a, b in pairwise(places) if a[0] == b[0])
    return min(steps, default=1.0)
