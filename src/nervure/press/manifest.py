"""The manifest of a printed deck: what a print shop and the author check the order against."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Protocol

from nervure import words
from nervure.errors import BadUsage
from nervure.press.cards import TargetCard
from nervure.press.fitting import Refusal
from nervure.press.setting import SetDeck

SCHEMA = 1


class _File(Protocol):
    @property
    def path(self) -> Path: ...

    def to_dict(self) -> dict[str, Any]: ...


def manifest_text(
    setting: SetDeck,
    files: Sequence[_File],
    refused: Sequence[Refusal],
    notes: Sequence[str],
    decks: int,
) -> str:
    """Give the manifest as JSON: files with pages, sizes and digests, the deck list, credits.

    ``cards`` holds one entry a different card, in the order of the pages of ``cards.pdf``:
    number as printed, copies in one deck, which back; ``digest`` tells whether a card has
    changed since another manifest.
    """
    deck = setting.deck
    digests = card_digests(setting)
    number = {card.id: place for place, card in enumerate(deck.cards, start=1)}
    listed = [
        {
            "card": card.id,
            "number": number[card.id],
            "copies": card.copies,
            "back": "target" if isinstance(card, TargetCard) else "part",
            "digest": digests[card.id],
            "in_common_rows": list(setting.grouped.get(card.id, ())),
        }
        for card in setting.cards
    ]
    content = {
        "schema": SCHEMA,
        "title": deck.title,
        "version": deck.version,
        "language": deck.language,
        "card_mm": {
            "width": deck.width,
            "height": deck.height,
            "bleed": deck.bleed,
            "safe": deck.safe,
            "corner": deck.corner,
        },
        "palette": deck.palette.name,
        "decks": decks,
        "cards_in_a_deck": sum(card.copies for card in setting.cards),
        "files": [_file(file) for file in files],
        "cards": listed,
        "refused": [refusal.to_dict() for refusal in refused],
        "notes": list(notes),
        "pictures": [
            {
                "card": credit.card,
                "file": credit.file,
                "author": credit.author,
                "licence": credit.licence,
                "changes": credit.changes,
            }
            for credit in deck.credits
        ],
        "map_sources": list(deck.sources),
        "caution": deck.say("caution.lesions"),
        "fonts": [
            {"family": "Source Sans 3", "licence": "SIL Open Font License 1.1"},
            {"family": "Source Serif 4", "licence": "SIL Open Font License 1.1"},
        ],
    }
    return json.dumps(content, ensure_ascii=False, indent=1) + "\n"


def card_digests(setting: SetDeck) -> dict[str, str]:
    """Give a digest of what stands on each card, whatever its number and the deck's version."""
    return {
        card.id: _digest(json.dumps(data, sort_keys=True).encode())
        for card, data in zip(setting.cards, setting.data, strict=True)
    }


def read_digests(manifest: Path) -> dict[str, str]:
    """Read the digests of the cards from an earlier manifest.

    Raises
    ------
    BadUsage
        It cannot be read, or is no manifest.
    """
    try:
        listed = json.loads(manifest.read_text("utf-8"))["cards"]
        return {str(card["card"]): str(card["digest"]) for card in listed}
    except (OSError, ValueError, KeyError, TypeError) as problem:
        raise BadUsage(words.say("press.no-manifest", value=manifest.name)) from problem


def _file(file: _File) -> dict[str, Any]:
    # Names only: a manifest goes to a print shop together with the files beside it.
    data = file.to_dict()
    parent = file.path.parent.name
    nested = f"{parent}/" if parent.startswith("previews") else ""
    return data | {"path": nested + file.path.name, "digest": _digest(file.path.read_bytes())}


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
