"""Sets target cards: name and examination share one column, the ladder and picture another."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from nervure.press.cards import TargetCard
from nervure.press.edges import group_to
from nervure.press.fitting import NAME_SIZES, SHORT_WIDTH, TEXT_SIZES, Fitter, name_block
from nervure.press.pictures import BadPictureError, picture_as_svg
from nervure.typeset.fit import Block, fit

NAME_TOP = 38.8
TEXT_GAP = 0.5  # between name and examination, mm
RULE_GAP = 2.3  # between examination and the rule with what stands under it, mm
CHIP_PITCH = 4.6  # of the rows of short forms, mm
LADDER_WIDTH, BAR_PITCH, LAST_BAR = 16.0, 1.7, 2.4

# Room for what a target card tells of its supply, mm: as a rule, and at least.
NOTE_HEIGHTS = {
    "nothing": (19.4, 9.0),
    "origins": (15.4, 14.0),
    "way": (17.8, 12.8),
    "pathways": (20.4, 12.8),
}


def target_names(name: str, fitter: Fitter) -> tuple[Block, ...]:
    """Give the ways to set a name, best first: a large line, two or three, a small one."""
    one = name_block(name, fitter.inner, 7.0)
    return (
        replace(one, sizes=NAME_SIZES[:3]),
        replace(one, height=11.8),
        replace(one, sizes=NAME_SIZES[3:]),
    )


def set_target(card: TargetCard, fitter: Fitter) -> dict[str, Any]:
    """Give a target card as data for the templates."""
    deck = fitter.deck
    shows = deck.targets_show
    foot = fitter.bonus_top if card.bonus else fitter.foot_top
    usual, _ = NOTE_HEIGHTS[shows]
    fitter.check_short(card.id, card.short)
    name, examined = _name_and_examined(card, _text_end(card, fitter), fitter)
    examined_top = NAME_TOP + (name["height"] if name else 0.0) + TEXT_GAP
    text_end = examined_top + (examined["height"] if examined else 0.0)
    note_height = min(usual, foot - 0.6 - text_end - RULE_GAP)
    kind = fitter.say("press.target-class", kind=fitter.say(f"press.kind.{card.kind}"))
    fitter.check_line(card.id, "kind", kind, fitter.inner, 8.5)
    return {
        "type": "target",
        "class": kind,
        "kind": card.kind,
        "name": name,
        "examined": examined,
        "examined_top": examined_top,
        "rungs": _rungs(card, fitter),
        "first": card.first_rung,
        "picture": _picture(card, fitter),
        "growth": growth(card.id),
        "picture_alt": fitter.say("press.alt.picture", name=card.name),
        "shows": shows,
        "note_top": foot - note_height - 0.6,
        "note_height": note_height,
        "note_label": fitter.say("press.way-label") if shows == "way" else fitter.fibres,
        "fibres": fitter.states(card),
        "fibres_alt": fitter.reached_aloud(card),
        "stagger": shows == "origins" and fitter.needs_two_lines(card.id, fitter.inner),
        "bonus": fitter.bonus(card),
        **_supply(card, note_height, fitter),
    }


def _supply(card: TargetCard, room: float, fitter: Fitter) -> dict[str, Any]:
    """Give what the card tells of its supply: origins by name, chips, and the map's lit veins."""
    deck = fitter.deck
    lit = deck.targets_show == "pathways"
    ends = [fitter.node_number[end] for end in card.ends]
    heights = [deck.drawing.nodes[number].place[1] for number in ends]
    columns = math.floor(fitter.inner / (SHORT_WIDTH + 4.2))
    chips, grouped = group_to(card.way, columns * math.floor((room - 4.4) / CHIP_PITCH))
    if deck.targets_show == "way":
        for group in grouped:
            values = {"count": len(group.members), "short": group.entry.short}
            fitter.notes.append(fitter.say("press.note.grouped", card=card.id, **values))
            members = tuple(entry.id for entry in group.members)
            fitter.grouped[card.id] = fitter.grouped.get(card.id, ()) + members
    return {
        "reached": [
            {"short": deck.origins[name], "main": name in card.main} for name in card.reached
        ],
        "way": [{"mark": entry.mark, "short": entry.short} for entry in chips],
        "way_columns": columns,
        "hot": list(card.lit) if lit else [],
        "ends": ends if lit else [],
        # Unlit, the target stands at half height: its place gives nothing away.
        "tip": sum(heights) / len(heights) if lit and heights else 0.5,
        "map_alt": fitter.say("press.alt.lit" if lit else "press.alt.unlit", name=card.name),
    }


def _name_and_examined(
    card: TargetCard, end: float, fitter: Fitter
) -> tuple[dict[str, Any] | None, dict[str, Any] | None]:
    """Set name and text together above ``end``: the largest name that leaves room for both."""
    pairs = _pairs(card, end, fitter)
    if not card.examined or not pairs:
        return fitter.fitted(card.id, "name", *target_names(card.name, fitter)), None
    texts = fit([text for _, text in pairs])
    chosen = next((n for n, found in enumerate(texts) if found.size is not None), len(pairs) - 1)
    name, text = pairs[chosen]
    return fitter.fitted(card.id, "name", name), fitter.fitted(card.id, "examined", text)


def _pairs(card: TargetCard, end: float, fitter: Fitter) -> list[tuple[Block, Block]]:
    """Give every way to set the name that fits, with the room that it leaves for the text."""
    names = target_names(card.name, fitter)
    return [
        (
            name,
            _examined_block(card, end - RULE_GAP - (NAME_TOP + found.height + TEXT_GAP), fitter),
        )
        for name, found in zip(names, fit(names), strict=True)
        if found.size is not None
    ]


def further_blocks(card: TargetCard, fitter: Fitter) -> Iterable[Block]:
    """Give what will be measured of a card once its name is: to measure all cards at once."""
    yield from _figures(card)
    if card.examined:
        yield from (text for _, text in _pairs(card, _text_end(card, fitter), fitter))


def _text_end(card: TargetCard, fitter: Fitter) -> float:
    foot = fitter.bonus_top if card.bonus else fitter.foot_top
    return foot - NOTE_HEIGHTS[fitter.deck.targets_show][1] - 0.6


def _examined_block(card: TargetCard, height: float, fitter: Fitter) -> Block:
    return Block(
        card.examined,
        "sans",
        TEXT_SIZES,
        fitter.inner,
        height,
        leading=-0.1,
        lead=fitter.say("press.examined"),
        lead_size=7.5,
    )


def _rungs(card: TargetCard, fitter: Fitter) -> dict[str, Any]:
    """Give the ladder: pitch, size of the figures (one for all), points from the lowest rung."""
    fitted = [fitter.fitted(card.id, "points", figure) for figure in _figures(card)]
    size = min((one["size"] for one in fitted if one), default=7.0)
    return {"points": list(card.points), "pitch": _pitch(card), "size": size}


def _figures(card: TargetCard) -> list[Block]:
    longest = card.first_rung + len(card.points) - 1
    room = LADDER_WIDTH - longest * BAR_PITCH - LAST_BAR
    sizes = tuple(size for size in NAME_SIZES if size <= _pitch(card) * 2.2)
    return [Block(str(points), "serif-semibold", sizes, room, 9.0) for points in card.points]


def _pitch(card: TargetCard) -> float:
    return min(7.0, 18 / max(1, len(card.points) - 1))


def growth(name: str) -> list[float]:
    """Give four numbers from 0 to 1 that let the leaf of a card grow in its own way."""
    return [round(byte / 255, 3) for byte in hashlib.sha256(name.encode()).digest()[:4]]


def _picture(card: TargetCard, fitter: Fitter) -> int | None:
    if card.picture is None:
        return None
    try:
        fitter.pictures.append(picture_as_svg(card.picture))
    except BadPictureError as bad:
        fitter.refuse(card.id, "picture", bad.code, **bad.details)
        return None
    return len(fitter.pictures) - 1
