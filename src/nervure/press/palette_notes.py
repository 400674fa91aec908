"""What is measured of a deck's colours and falls short of a floor, in sentences."""

from __future__ import annotations

from nervure.press.cards import Deck
from nervure.typeset.palette import (
    DIFFERENCE_FLOOR,
    GRAPHIC_CONTRAST,
    GREY,
    LIGHTNESS_FLOOR,
    TEXT_CONTRAST,
    measure_palette,
)


def palette_notes(deck: Deck) -> tuple[str, ...]:
    """Give one sentence for every floor that the palette of a deck misses.

    Only the tiers of the deck count. One ink is not measured: its tiers are alike on purpose.
    """
    palette = deck.palette
    if palette == GREY:
        return ()
    used = [tier.mark for tier in deck.tiers]
    report = measure_palette(palette, used)
    notes = []
    seeing, smallest = min(report.differences.items(), key=lambda item: item[1])
    if smallest < DIFFERENCE_FLOOR:
        values = {"difference": round(smallest, 1), "seeing": seeing, "floor": DIFFERENCE_FLOOR}
        notes.append(_say(deck, "difference", **values))
    if report.lightness_step < LIGHTNESS_FLOOR:
        step = round(report.lightness_step, 1)
        notes.append(_say(deck, "lightness", step=step, floor=LIGHTNESS_FLOOR))
    for contrasts, floor in (
        (report.text_contrast, TEXT_CONTRAST),
        (report.graphic_contrast, GRAPHIC_CONTRAST),
    ):
        for token, ratio in contrasts.items():
            if ratio < floor:
                contrast = round(ratio, 2)
                notes.append(_say(deck, "contrast", token=token, contrast=contrast, floor=floor))
    return tuple(notes)


def _say(deck: Deck, key: str, **values: object) -> str:
    name = deck.palette.name
    return deck.say(f"press.note.palette-{key}", palette=name, **values)
