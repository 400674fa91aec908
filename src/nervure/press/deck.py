"""Prints a deck: fronts, backs, home sheets, previews, and the manifest that lists them.

Comes in: a `Game`, or a `Deck` of one's own. Goes out: files in a folder. What does not fit
is refused by card and field; everything else is printed all the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, Literal

from nervure import words
from nervure.errors import BadUsage, accepted
from nervure.game import Game, translated_game
from nervure.press.cards import Card, Deck, TargetCard
from nervure.press.fitting import Refusal
from nervure.press.gather import gather_deck
from nervure.press.manifest import card_digests, manifest_text, read_digests
from nervure.press.palette_notes import palette_notes
from nervure.press.setting import SetDeck, number_line, set_deck
from nervure.press.sheets import PAPERS, Grid, grid_for, split
from nervure.project.writing import write_bytes_safely
from nervure.typeset.boxes import Boxes, with_boxes
from nervure.typeset.palette import GREY
from nervure.typeset.typesetter import Typesetter

Progress = Callable[[str, int, int], None]
Stop = Callable[[], bool]
Kind = Literal["cards", "backs", "sheets", "proof", "contact", "preview"]
WHAT: tuple[str, ...] = ("cards", "backs", "sheets", "contact", "previews")
SLUG = 5.0  # outside the bleed, for crop marks, mm
CONTACT_COLUMNS = range(8, 13)  # as many as leave the fewest places empty
MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class PrintedFile:
    """One file that was made; sizes are those of its pages (a card's page: the trimmed card)."""

    path: Path
    kind: str
    pages: int
    width_mm: float
    height_mm: float

    def to_dict(self) -> dict[str, Any]:
        """Give the file as plain data."""
        return {
            "path": self.path.as_posix(),
            "kind": self.kind,
            "pages": self.pages,
            "width_mm": self.width_mm,
            "height_mm": self.height_mm,
        }


@dataclass(frozen=True, slots=True)
class PrintResult:
    """What printing a deck gave."""

    files: tuple[PrintedFile, ...]
    refused: tuple[Refusal, ...]
    notes: tuple[str, ...]
    manifest: Path

    def to_dict(self) -> dict[str, Any]:
        """Give the result as ``--json`` shows it."""
        return {
            "files": [file.to_dict() for file in self.files],
            "refused": [refusal.to_dict() for refusal in self.refused],
            "notes": list(self.notes),
            "manifest": self.manifest.as_posix(),
        }


def print_deck(
    game: Game | Deck,
    out_dir: Path | str,
    what: Sequence[str] = ("cards", "backs", "sheets"),
    paper: str = "a4",
    *,
    grey: bool = False,
    decks: int = 1,
    language: str | None = None,
    since: Path | str | None = None,
    dots_per_inch: float = 144,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> PrintResult:
    """Print a game's deck into a folder.

    Parameters
    ----------
    game
        The game, or a `Deck` made by hand.
    out_dir
        Where the files go; made if missing.
    what
        Any of ``cards`` (one card a page, with bleed and crop marks), ``backs``, ``sheets``
        (office paper, both sides, with a proof sheet), ``contact`` (all different cards on
        one picture), ``previews`` (a picture of each).
    paper
        ``a4`` or ``letter``, for the sheets.
    grey
        Print in one ink.
    decks
        Written into the manifest: how many decks are ordered.
    language
        Of a game's cards, one of `nervure.project.languages_of`; None: the game's own. A
        `Deck` speaks its own.
    since
        Manifest of an earlier print: only cards that have changed since are printed, fronts
        and sheets alike; the new manifest lists the whole deck.
    dots_per_inch
        Of the pictures.
    progress
        Told before each thing that is printed: its name, how many are done, of how many.
    stop
        Asked before each; True leaves out the rest. The manifest lists what was made.

    Returns
    -------
    The files, the refused cards with their fields, and notes that call for a look.

    Raises
    ------
    BadUsage
        An unknown thing to print, an unknown paper or language (`UnknownName`), or a
        manifest that cannot be read.
    """
    _check_names(what, paper)
    if isinstance(game, Game) and language is not None:
        game = translated_game(game, language)
    deck = game if isinstance(game, Deck) else gather_deck(game)
    if grey:
        deck = _in_one_ink(deck)
    # Read first: a manifest that cannot be read must leave nothing behind.
    known = None if since is None else read_digests(Path(since))
    setting = set_deck(deck)
    Path(out_dir).mkdir(parents=True, exist_ok=True)
    press = _Press(setting, Path(out_dir), paper, "-grey" if grey else "", dots_per_inch)
    refused = list(setting.refused)
    notes = [*palette_notes(deck), *setting.notes]
    if since is not None and known is not None:
        notes.append(press.leave_out_unchanged(known, Path(since).name))
    if press.wanted:
        wanted = [name for name in WHAT if name in what]
        for done, name in enumerate(wanted):
            if stop is not None and stop():
                break
            if progress is not None:
                progress(name, done, len(wanted))
            getattr(press, f"print_{name}")()
        refused += press.refused
    manifest = press.folder / "manifest.json"
    text = manifest_text(setting, press.files, tuple(refused), tuple(notes), decks)
    write_bytes_safely(manifest, text.encode("utf-8"), keep_backup=False)
    return PrintResult(tuple(press.files), tuple(refused), tuple(notes), manifest)


def _check_names(what: Sequence[str], paper: str) -> None:
    for name in what:
        if name not in WHAT:
            raise BadUsage(
                words.say("press.unknown-what", value=name) + " " + accepted(name, WHAT)
            )
    if paper not in PAPERS:
        known = tuple(PAPERS)
        raise BadUsage(
            words.say("press.unknown-paper", value=paper) + " " + accepted(paper, known)
        )


def _in_one_ink(deck: Deck) -> Deck:
    return replace(deck, palette=GREY)


@cache
def _typesetter() -> Typesetter:
    return Typesetter("press/deck.typ")


class _Press:
    """Makes the files of one deck."""

    def __init__(
        self, setting: SetDeck, folder: Path, paper: str, suffix: str, dots_per_inch: float
    ) -> None:
        self.setting = setting
        self.deck = setting.deck
        self.folder = folder
        self.paper = paper
        self.suffix = suffix
        self.dots_per_inch = dots_per_inch
        self.wanted = list(range(len(setting.cards)))  # numbers of the cards to print
        self.files: list[PrintedFile] = []
        self.refused: list[Refusal] = []

    def say(self, key: str, **values: object) -> str:
        return self.deck.say(key, **values)

    def leave_out_unchanged(self, known: Mapping[str, str], manifest: str) -> str:
        """Print only what differs from an earlier manifest; gives the note that says so."""
        digests = card_digests(self.setting)
        cards = self.setting.cards
        self.wanted = [
            number for number, card in enumerate(cards) if digests[card.id] != known.get(card.id)
        ]
        if not self.wanted:
            return self.say("press.note.nothing-changed", manifest=manifest)
        count = len(cards) - len(self.wanted)
        return self.say("press.note.unchanged", count=count, manifest=manifest)

    # ------------------------------------------------------------------ files

    def print_cards(self) -> None:
        """Make a page for every copy of every card, in the order of the deck."""
        self._boxed("cards", list(self._copies()))

    def print_backs(self) -> None:
        """Make the two backs, a page each: part, then target."""
        self._boxed("backs", [_back("part"), _back("target")])

    def print_sheets(self) -> None:
        """Make office sheets, front and back in turn, and the sheet that tries the printer."""
        deck = self.deck
        grid = grid_for(deck.width, deck.height, self.paper)
        if grid is None:
            size = {"width": deck.width, "height": deck.height}
            reason = self.say("press.refused.paper", **size, paper=self.paper)
            self.refused.append(Refusal("sheets", "size", reason))
            return
        pages: list[list[dict[str, Any]]] = []
        for on_sheet in split(list(self._copies()), grid.places):
            pages.append([_placed(page, grid, n) for n, page in enumerate(on_sheet)])
            backs = [_back(self._back_of(page["card"])) for page in on_sheet]
            pages.append([_placed(page, grid, n, back=True) for n, page in enumerate(backs)])
        sheet = grid.to_data(deck.bleed)
        pdf = _typesetter().pdf(self._data("sheets", "sheets", pages=pages, sheet=sheet))
        self._write(f"sheets-{self.paper}{self.suffix}.pdf", "sheets", pdf, len(pages), grid)
        sides = [
            {
                "back": False,
                "title": self.say("press.proof.front"),
                "lines": self._lines("front", 3),
            },
            {"back": True, "title": self.say("press.proof.back"), "lines": self._lines("back", 1)},
        ]
        pdf = _typesetter().pdf(self._data("proof", "proof", sides=sides, sheet=sheet))
        self._write(f"proof-{self.paper}{self.suffix}.pdf", "proof", pdf, 2, grid)

    def print_contact(self) -> None:
        """Put all different fronts and both backs on one picture."""
        pages = [*self._kinds(), _back("part"), _back("target")]
        columns = min(len(pages), min(CONTACT_COLUMNS, key=lambda count: -len(pages) % count))
        data = self._data("contact", "contact", pages=pages, columns=columns)
        (picture,) = _typesetter().png(data, self.dots_per_inch)
        rows = -(-len(pages) // columns)
        size = columns * (self.deck.width + 5) + 13, rows * (self.deck.height + 5) + 13
        self._write(f"contact{self.suffix}.png", "contact", picture, 1, size)

    def print_previews(self) -> None:
        """Make a picture of each different card, trimmed, and of both backs."""
        pages = [*self._kinds(), _back("part"), _back("target")]
        names = [self.setting.cards[number].id for number in self.wanted]
        names += ["back-part", "back-target"]
        data = self._data("contact", "single", pages=pages)
        pictures = _typesetter().png(data, self.dots_per_inch)
        size = self.deck.width, self.deck.height
        for name, picture in zip(names, pictures, strict=True):
            file = f"previews{self.suffix}/{name.replace(':', '-')}.png"
            self._write(file, "preview", picture, 1, size)

    # ------------------------------------------------------------------ parts

    def _kinds(self) -> Iterator[dict[str, Any]]:
        for number in self.wanted:
            yield self._front(number, self.setting.cards[number], 1)

    def _copies(self) -> Iterator[dict[str, Any]]:
        for number in self.wanted:
            card = self.setting.cards[number]
            for copy in range(1, card.copies + 1):
                yield self._front(number, card, copy)

    def _front(self, number: int, card: Card, copy: int) -> dict[str, Any]:
        line = number_line(self.deck, card, copy)
        return {"card": number, "number": line, "back": None}

    def _back_of(self, number: int) -> str:
        return "target" if isinstance(self.setting.cards[number], TargetCard) else "part"

    def _lines(self, side: str, count: int) -> list[str]:
        return [self.say(f"press.proof.{side}-{number}") for number in range(1, count + 1)]

    def _data(self, what: str, mode: str, **more: Any) -> Mapping[str, Any]:
        title = self.say(
            "press.document-title", title=self.deck.title, what=self.say(f"press.what.{what}")
        )
        return {
            **self.setting.shared,
            "cards": self.setting.data,
            "mode": mode,
            "document_title": title,
            "slug": SLUG,
            **more,
        }

    def _boxed(self, what: str, pages: list[dict[str, Any]]) -> None:
        deck = self.deck
        pdf = _typesetter().pdf(self._data(what, "pages", pages=pages))
        boxed = with_boxes(pdf, Boxes(deck.width, deck.height, deck.bleed, SLUG))
        name = f"{what}{self.suffix}.pdf"
        self._write(name, what, boxed, len(pages), (deck.width, deck.height))

    def _write(
        self, name: str, kind: str, data: bytes, pages: int, size: Grid | tuple[float, float]
    ) -> None:
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        write_bytes_safely(path, data, keep_backup=False)
        width, height = (size.width, size.height) if isinstance(size, Grid) else size
        self.files.append(PrintedFile(path, kind, pages, width, height))


def _back(which: str) -> dict[str, Any]:
    return {"card": None, "number": None, "back": which}


def _placed(page: dict[str, Any], grid: Grid, index: int, back: bool = False) -> dict[str, Any]:
    column, row = grid.place(index, back)
    return page | {"column": column, "row": row}
