"""What a print left in ``out/print/``, by whichever way it was made, and how fresh it is."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from nervure import words
from nervure.errors import NervureError
from nervure.game import Game, translated_game
from nervure.press import Refusal, SetDeck, gather_deck, set_deck
from nervure.press.manifest import card_digests
from nervure.web.shelf import Reading

FILES = (".pdf", ".png", ".json")
MOST_BYTES = 20_000_000
PX_PER_MM = 96 / 25.4  # CSS: an inch has 96 px
BACKS = ("back-part", "back-target")


@dataclass(frozen=True, slots=True)
class TakenAway:
    """A file to take away; ``pages`` 0 and no size: the manifest does not list it."""

    name: str
    bytes: int
    pages: int
    width_mm: float
    height_mm: float
    written: datetime

    @property
    def is_old(self) -> bool:
        """Whether an older print left it."""
        return not self.pages


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture of a card; ``group`` is its tier, the kind of its target, or other."""

    file: str
    card: str
    group: str
    is_old: bool


@dataclass(frozen=True, slots=True)
class Printed:
    """The last print. ``manifest`` is empty where there is none that can be read."""

    folder: Path
    manifest: Mapping[str, Any]
    written: datetime | None

    @property
    def version(self) -> str:
        """The design that was printed."""
        return str(self.manifest.get("version", ""))

    @property
    def made(self) -> dict[str, Mapping[str, Any]]:
        """The files that the manifest lists, by name."""
        listed = self.manifest.get("files")
        rows = listed if isinstance(listed, list) else []
        return {
            str(row["path"]): row
            for row in rows
            if isinstance(row, dict) and isinstance(row.get("pages"), int) and "path" in row
        }

    @property
    def files(self) -> list[TakenAway]:
        """The files to take away, those of the last print first."""
        made, found = self.made, []
        for path in sorted(self.folder.glob("*")):
            if path.suffix not in FILES or not path.is_file() or path.is_symlink():
                continue
            row = made.get(path.name, {})
            status = path.stat()
            found.append(
                TakenAway(
                    path.name,
                    status.st_size,
                    1 if path.name == "manifest.json" else int(row.get("pages", 0)),
                    _figure(row.get("width_mm")),
                    _figure(row.get("height_mm")),
                    datetime.fromtimestamp(status.st_mtime),
                )
            )
        return sorted(found, key=lambda one: (one.is_old, one.name == "manifest.json", one.name))

    def pictures(self, game: Game) -> list[Picture]:
        """Give a picture of every card of the game that has one, in the order of the deck."""
        made = self.made
        found: list[Picture] = []
        names = [*game.hand_kinds, *game.targets, *BACKS]
        for folder in ("previews", "previews-grey"):
            for card in names:
                path = self.folder / folder / f"{card.replace(':', '-')}.png"
                name = f"{folder}/{path.name}"
                if path.is_file() and (name in made or not any(p.card == card for p in found)):
                    found = [one for one in found if one.card != card]
                    found.append(
                        Picture(f"print/{name}", card, _group(card, game), name not in made)
                    )
        return found


def _figure(value: object) -> float:
    return float(value) if isinstance(value, (int, float)) else 0.0


def printed_of(project: Path) -> Printed:
    """Give what lies in a project's ``out/print/``."""
    folder = project / "out" / "print"
    file = folder / "manifest.json"
    try:
        status = file.stat()
        data = json.loads(file.read_text("utf-8")) if status.st_size < MOST_BYTES else None
    except (OSError, ValueError, RecursionError):
        return Printed(folder, {}, None)
    written = datetime.fromtimestamp(status.st_mtime)
    return Printed(folder, data if isinstance(data, dict) else {}, written)


def deck_now(reading: Reading) -> SetDeck:
    """Give the deck as it would be set now, once a reading."""
    with reading.lock:
        if "deck" not in reading.worked_out:
            reading.worked_out["deck"] = set_deck(gather_deck(reading.project.game))
        found = reading.worked_out["deck"]
        assert isinstance(found, SetDeck), "the deck is kept under this name"
        return found


def refused_now(reading: Reading) -> tuple[Refusal, ...]:
    """Give the texts that would not fit if the deck were printed now."""
    return deck_now(reading).refused


def changed_cards(reading: Reading, printed: Printed) -> int | None:
    """Count the cards that would now be printed otherwise; None where it cannot be told."""
    game, language = reading.project.game, printed.manifest.get("language")
    listed = printed.manifest.get("cards")
    if not isinstance(listed, list) or not isinstance(language, str):
        return None
    try:
        known = {str(row["card"]): str(row["digest"]) for row in listed}
        if language == (game.folder.language or words.FALLBACK):
            now = deck_now(reading)
        else:
            now = set_deck(gather_deck(translated_game(game, language)))
    except (NervureError, KeyError, TypeError):
        return None
    deck, size = now.deck, printed.manifest.get("card_mm")
    digests = card_digests(now)
    palette = printed.manifest.get("palette")
    is_same_look = palette in (deck.palette.name, "grey") and (
        isinstance(size, dict)
        and (size.get("width"), size.get("height")) == (deck.width, deck.height)
    )
    if not is_same_look:
        return len(digests)
    other = [card for card, digest in digests.items() if known.get(card) != digest]
    return len(other) + sum(card not in digests for card in known)


def _group(card: str, game: Game) -> str:
    if card in game.structures:
        return f"tier:{game.anatomy.tier_of(card)}"
    if card in game.targets:
        return f"kind:{game.anatomy.target(card).kind}"
    return "other"


def groups_of(pictures: Iterable[Picture]) -> list[str]:
    """Give the groups that there are pictures of, in their order."""
    return list(dict.fromkeys(picture.group for picture in pictures))
