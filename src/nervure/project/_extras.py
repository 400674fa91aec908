"""What a project may hold beside map and game.toml: deck, pictures, texts, games on paper."""

from __future__ import annotations

from pathlib import Path

from nervure import words
from nervure.errors import Fault, Place, error, warning
from nervure.project._cells import Known, what_is_accepted
from nervure.project._rows import Row, check_header, iter_cells, read_rows
from nervure.project._text import MAX_FILE_BYTES, in_megabytes, read_text
from nervure.project.columns import CREDITS, DECK, PLAYS, TableSpec
from nervure.project.records import DeckRow, PaperPlay, Picture
from nervure.project.tables import parse_table

PICTURE_SUFFIXES = (".svg", ".png", ".jpg")


def read_deck(root: Path, known: Known, faults: list[Fault]) -> tuple[DeckRow, ...]:
    """Give the rows of deck.csv, () if there is none."""
    return tuple(
        DeckRow(
            row.text("card"),
            row.whole("copies"),
            row.wholes("points"),
            row.text("bonus"),
            row.place,
        )
        for row in _rows(root, "deck.csv", DECK, known, faults)
    )


def read_plays(root: Path, faults: list[Fault]) -> tuple[PaperPlay, ...]:
    """Give the games of plays.csv, () if there is none."""
    plays = []
    for row in _rows(root, "plays.csv", PLAYS, Known(), faults):
        seats, scores = row.whole("seats") or 0, row.wholes("scores") or ()
        winner = row.wholes("winner") or ()
        if scores and len(scores) != seats:
            place = row.place.at("scores")
            faults.append(error("scores-count", place, count=len(scores), seats=seats))
        for seat in winner:
            if seat > seats:
                place = row.place.at("winner")
                faults.append(error("winner-unknown", place, value=str(seat), seats=seats))
        plays.append(
            PaperPlay(
                date=row.text("date"),
                seats=seats,
                minutes=row.number("minutes"),
                scores=scores,
                winner=" ".join(map(str, winner)),
                ended=row.text("ended"),
                place=row.place,
            )
        )
    return tuple(plays)


def _rows(root: Path, file: str, spec: TableSpec, known: Known, faults: list[Fault]) -> list[Row]:
    path, place = root / file, Place(file)
    if not path.exists() and not path.is_symlink():
        return []
    text = read_text(path, place, root, faults)
    table = text and parse_table(text, place, spec.column_names, faults)
    if not table or not check_header(table, spec, place, faults):
        return []
    return read_rows(list(iter_cells(table, spec, place, faults)), spec, known, faults)


def read_art(root: Path, known: Known, faults: list[Fault]) -> tuple[Picture, ...]:
    """Give the pictures of art/ with their credits, in the order of their names."""
    folder = folder_within(root, "art", faults)
    if folder is None:
        return ()
    credits = {
        row.text("file"): row for row in _rows(root, "art/credits.csv", CREDITS, known, faults)
    }
    pictures: dict[str, Picture] = {}
    files = [path for path in entries(folder) if path.suffix.lower() not in (".csv", ".bak")]
    for path in files:
        place = Place(f"art/{path.name}")
        if path.suffix.lower() not in PICTURE_SUFFIXES:
            faults.append(warning("picture-kind", place, value=path.suffix or path.name))
        elif _is_usable(path, place, root, pictures, known, faults):
            credit = credits.get(path.name)
            if credit is None:
                faults.append(warning("picture-uncredited", place))
            pictures[path.stem] = Picture(
                card=path.stem,
                file=path,
                author=credit.text("author") if credit else None,
                licence=credit.text("licence") if credit else None,
                changes=credit.text("changes") if credit else None,
            )
    names = [path.name for path in files]
    for name, row in credits.items():
        if name not in names:
            accepts = what_is_accepted(name, names)
            place = row.place.at("file")
            faults.append(error("credit-unknown", place, value=name, accepted=accepts))
    return tuple(pictures.values())


def _is_usable(
    path: Path,
    place: Place,
    root: Path,
    pictures: dict[str, Picture],
    known: Known,
    faults: list[Fault],
) -> bool:
    if not path.resolve().is_relative_to(root.resolve()):
        faults.append(error("outside-folder", place))
        return False
    if path.is_dir():
        faults.append(error("is-folder", place))
        return False
    if not path.is_file():
        faults.append(error("unreadable", place, reason=words.say("reason.no-file")))
        return False
    if path.stat().st_size > MAX_FILE_BYTES:
        size = path.stat().st_size
        faults.append(error("file-too-large", place, value=in_megabytes(size)))
        return False
    if path.stem in pictures:
        first = f"art/{pictures[path.stem].file.name}"
        faults.append(error("picture-twice", place, value=path.stem, first=first))
        return False
    cards = picture_names(known)
    if path.stem not in cards and not {"structure", "target", "tier"} & known.unsure:
        accepts = what_is_accepted(path.stem, cards)
        faults.append(warning("picture-unknown", place, value=path.stem, accepted=accepts))
    return True


def picture_names(known: Known) -> list[str]:
    """Give the stems that a picture may have; a colon cannot stand in a file's name."""
    wilds = [f"wild-{tier}" for tier in known.of("tier")]
    return [*known.of("structure"), *known.of("target"), *wilds, "wild-any", "variant"]


def read_texts(root: Path, faults: list[Fault]) -> dict[str, str]:
    """Give the author's own words by the name of their file."""
    folder = folder_within(root, "text", faults)
    texts = {}
    for path in entries(folder) if folder else []:
        if path.suffix == ".md":
            text = read_text(path, Place(f"text/{path.name}"), root, faults)
            if text is not None:
                texts[path.stem] = text.text
    return texts


def folder_within(root: Path, name: str, faults: list[Fault]) -> Path | None:
    """Give a folder within the project, or None where there is none."""
    folder = root / name
    if not folder.exists():
        return None
    if not folder.resolve().is_relative_to(root.resolve()):
        faults.append(error("outside-folder", Place(name)))
        return None
    if not folder.is_dir():
        faults.append(error("is-file", Place(name)))
        return None
    return folder


def entries(folder: Path) -> list[Path]:
    """Give what lies in a folder, without hidden files and those of an open program."""
    return sorted(
        (path for path in folder.iterdir() if not path.name.startswith((".", "~"))),
        key=lambda path: path.name,
    )
