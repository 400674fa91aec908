"""Where everything on the cards stands and at which size, or why a card is refused.

Comes in: a `Deck`. Goes out: plain data for ``press/cards.typ``, refusals and notes. Every
text is measured by `nervure.typeset.fit` before anything is drawn; sizes never go below 7 pt
(5.5 pt in close rows). Lengths in mm from the top left corner of the trimmed card.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from nervure.press.cards import Card, Deck, PartCard, TargetCard, WildCard
from nervure.press.edges import TOP
from nervure.press.fitting import Fitter, Refusal, label_block, short_block
from nervure.press.set_parts import MAP_TOP, part_name, set_part, set_variant, set_wild
from nervure.press.set_targets import further_blocks, set_target, target_names
from nervure.typeset.fit import Block, fit

LEAST_WIDTH, LEAST_HEIGHT = 54.0, 84.0  # a smaller card has no room for its parts
HEADS_TOP, STEM_TOP, STEM_HEIGHT = 33.2, 24.6, 6.4


@dataclass(frozen=True)
class SetDeck:
    """A deck ready to be drawn.

    ``cards``: those that are printed, in order, with ``data`` for the templates in the same
    order; ``shared``: what all templates need beside them; ``grouped``: card id -> ids that
    share a row.
    """

    deck: Deck
    cards: tuple[Card, ...]
    data: tuple[dict[str, Any], ...]
    shared: dict[str, Any]
    refused: tuple[Refusal, ...] = ()
    notes: tuple[str, ...] = ()
    grouped: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


def set_deck(deck: Deck) -> SetDeck:
    """Measure and set all cards of a deck; what does not fit is refused, nothing else is."""
    if deck.width < LEAST_WIDTH or deck.height < LEAST_HEIGHT:
        reason = deck.say(
            "press.refused.card-size",
            width=deck.width,
            height=deck.height,
            least_width=LEAST_WIDTH,
            least_height=LEAST_HEIGHT,
        )
        refused = tuple(Refusal(card.id, "size", reason) for card in deck.cards)
        return SetDeck(deck, (), (), {}, refused)
    fitter = Fitter(deck)
    # Two runs of the typesetter for nearly all texts of the deck.
    fit(_first_blocks(fitter))
    targets = [card for card in deck.cards if isinstance(card, TargetCard)]
    fit(block for card in targets for block in further_blocks(card, fitter))
    title = _title(fitter)
    cards, data = [], []
    for card in deck.cards:
        refused_before = len(fitter.refused)
        made = _set(card, fitter)
        if len(fitter.refused) == refused_before:
            cards.append(card)
            data.append(made | {"id": card.id, "title": title})
    return SetDeck(
        deck,
        tuple(cards),
        tuple(data),
        _shared(fitter),
        tuple(fitter.refused),
        tuple(fitter.notes),
        fitter.grouped,
    )


def _first_blocks(fitter: Fitter) -> Iterable[Block]:
    for card in fitter.deck.cards:
        yield label_block(number_line(fitter.deck, card, card.copies), 7.0)
        if isinstance(card, PartCard | TargetCard):
            yield short_block(card.short)
            if card.bonus:
                yield fitter.bonus_block(card.bonus)
            if isinstance(card, PartCard):
                yield part_name(card.name, fitter)
            else:
                yield from target_names(card.name, fitter)


def _set(card: Card, fitter: Fitter) -> dict[str, Any]:
    if isinstance(card, PartCard):
        return set_part(card, fitter)
    if isinstance(card, TargetCard):
        return set_target(card, fitter)
    return set_wild(card, fitter) if isinstance(card, WildCard) else set_variant(card, fitter)


def number_line(deck: Deck, card: Card, copy: int) -> str:
    """Give the foot of one copy: version, number of the card, which copy of how many."""
    return deck.say(
        "press.number",
        version=deck.version,
        number=deck.cards.index(card) + 1,
        copy=copy,
        copies=card.copies,
    )


def _title(fitter: Fitter) -> str:
    """Give the title for the foot, or a note and nothing where it finds no room."""
    deck = fitter.deck
    lines = [number_line(deck, card, card.copies) for card in deck.cards]
    widest = max((fitter.label_width(line, 7.0) for line in lines), default=0.0)
    room = fitter.inner - widest - 2.0
    block = replace(label_block(deck.title, 7.0), width=room, balanced=False)
    if room > 0 and fit([block])[0].size is not None:
        return deck.title
    fitter.notes.append(fitter.say("press.note.title-left-out", title=deck.title))
    return ""


def _shared(fitter: Fitter) -> dict[str, Any]:
    deck = fitter.deck
    return {
        "language": deck.language,
        "palette": deck.palette.to_data(),
        "width": deck.width,
        "height": deck.height,
        "bleed": deck.bleed,
        "safe": deck.safe,
        "corner": deck.corner,
        "footer_top": fitter.foot_top,
        "bonus_top": fitter.bonus_top,
        "heads_top": HEADS_TOP,
        "rows_top": TOP,
        "stem_top": STEM_TOP,
        "stem_height": STEM_HEIGHT,
        "map_top": MAP_TOP,
        "tiers": len(deck.tiers),
        "tier_words": _tier_words(deck),
        "origins": list(deck.origins.values()),
        "labels": {
            key: fitter.say(f"press.{key}")
            for key in ("proximal", "distal", "points", "part", "target")
        },
        "drawing": _drawing_data(deck, fitter.node_number),
        "pictures": fitter.pictures,
    }


def _tier_words(deck: Deck) -> list[str]:
    """Give the name printed beside each of the six marks, blank where the deck lacks it."""
    by_mark = {tier.mark: tier.name for tier in deck.tiers}
    return [by_mark.get(mark, "") for mark in deck.palette.tiers]


def _drawing_data(deck: Deck, numbers: Mapping[str, int]) -> dict[str, Any]:
    return {
        "nodes": [{"place": _rounded(node.place)} for node in deck.drawing.nodes],
        "veins": [
            {
                "n": vein.fibres,
                "points": [_rounded(point) for point in vein.points],
                "within": vein.within_tier,
                "start": numbers[vein.start],
                "end": numbers[vein.end],
            }
            for vein in deck.drawing.veins
        ],
    }


def _rounded(point: tuple[float, float]) -> list[float]:
    return [round(point[0], 5), round(point[1], 5)]
