"""The review sheet: one line a supply, for a colleague to agree with or not.

Comes in: an `Anatomy`, or a sheet that came back. Goes out: a table for
`nervure.project.writing`, or a `Review` with the answers and every fault of the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from nervure.anatomy.pathways import Anatomy
from nervure.errors import Fault, Place, error, nearest, sort_faults, warning
from nervure.project.records import Ids, Supply
from nervure.project.writing import Table, read_table, write_table

COLUMNS: Ids = (
    "target",
    "target_name",
    "through",
    "through_name",
    "level",
    "via",
    "fibres",
    "main_fibres",
    "share",
    "variant",
    "sources",
    "agree",
    "disagree",
    "comment",
)
KEY: Ids = ("target", "through", "level", "via", "variant")
COMPARED: Ids = ("fibres", "main_fibres", "share")
NEEDED: Ids = ("target", "through", "agree", "disagree")
MARKS: Ids = ("x", "yes", "y", "1", "true", "ok", "✓", "✔")
NO_MARKS: Ids = ("", "no", "n", "0", "false", "-")

Verdict = Literal["agree", "disagree", "open"]


@dataclass(frozen=True, slots=True)
class Answer:
    """What the colleague says of one supply."""

    supply: Supply
    verdict: Verdict
    comment: str
    place: Place


@dataclass(frozen=True, slots=True)
class Review:
    """A sheet read back: its answers, supplies without a line, and all faults."""

    answers: tuple[Answer, ...]
    missing: tuple[Supply, ...]
    faults: tuple[Fault, ...]

    def count(self, verdict: Verdict) -> int:
        """Give the number of supplies with this verdict; those without a line are open."""
        found = sum(answer.verdict == verdict for answer in self.answers)
        return found + len(self.missing) if verdict == "open" else found

    @property
    def agreement(self) -> float | None:
        """Share of supplies agreed with among those judged; None if none was."""
        judged = self.count("agree") + self.count("disagree")
        return self.count("agree") / judged if judged else None

    def to_dict(self) -> dict[str, Any]:
        """Give counts, share, and every line that says more than *agree*, as plain data."""
        return {
            "agree": self.count("agree"),
            "disagree": self.count("disagree"),
            "open": self.count("open"),
            "agreement": self.agreement,
            "comments": [
                {
                    "target": answer.supply.target,
                    "through": answer.supply.through,
                    "row": answer.supply.place.row,
                    "verdict": answer.verdict,
                    "comment": answer.comment,
                }
                for answer in self.answers
                if answer.comment or answer.verdict == "disagree"
            ],
        }


def review_rows(anatomy: Anatomy) -> tuple[dict[str, str], ...]:
    """Give the lines of the sheet: every supply row of the map, variants' rows included.

    Keys are `COLUMNS`; the last three are blank for the colleague to fill in.
    """
    return tuple(_line(anatomy, supply) for supply in anatomy.map.supplies)


def _line(anatomy: Anatomy, supply: Supply) -> dict[str, str]:
    targets = {target.id: target.name for target in anatomy.map.targets}
    structures = {structure.id: structure.name for structure in anatomy.map.structures}
    return {
        "target": supply.target,
        "target_name": targets.get(supply.target, ""),
        "through": supply.through,
        "through_name": structures.get(supply.through, ""),
        "level": "" if supply.level is None else str(supply.level),
        "via": " ".join(supply.via),
        "fibres": " ".join(_fibres(anatomy, supply)),
        "main_fibres": " ".join(supply.main_fibres),
        "share": "" if supply.share is None else f"{supply.share:g}",
        "variant": supply.variant,
        "sources": " ".join(supply.sources),
        "agree": "",
        "disagree": "",
        "comment": "",
    }


def _fibres(anatomy: Anatomy, supply: Supply) -> Ids:
    """Give the fibres as stated; where blank, those that the map lets through."""
    if supply.fibres is not None:
        return supply.fibres
    found = anatomy.supplied(supply)
    return tuple(origin for origin in anatomy.origins if origin in found)


def write_review(path: Path, anatomy: Anatomy) -> None:
    """Write the sheet as CSV; FaultyProject if the file cannot be written."""
    rows = tuple(tuple(line[column] for column in COLUMNS) for line in review_rows(anatomy))
    write_table(path, Table(COLUMNS, rows))


def read_review(path: Path, anatomy: Anatomy) -> Review:
    """Read a sheet that came back. Columns may stand in any order, lines may be left out.

    Faults: a line of no supply of the map; two lines of one; a mark that cannot be read;
    agree and disagree at once; what the map now says otherwise than the sheet (warning); a
    disagreement without a comment (warning).

    Raises
    ------
    FaultyProject
        The file cannot be read as a table. Carries the faults.
    """
    return parse_review(read_table(path), anatomy, Path(path).name)


def parse_review(table: Table, anatomy: Anatomy, file: str) -> Review:
    """Give the review of a table as read; ``file`` names it in the faults."""
    header = [name.strip().casefold() for name in table.header]
    faults = _header_faults(header, file)
    if faults:
        return Review((), anatomy.map.supplies, sort_faults(faults))
    lines = {_key(_line(anatomy, row)): row for row in anatomy.map.supplies}
    answers: dict[Supply, Answer] = {}
    for number, cells in enumerate(table.rows, start=2):
        line = dict.fromkeys(COLUMNS, "")
        line |= {name: cell.strip() for name, cell in zip(header, cells, strict=False)}
        if not any(line.values()):
            continue
        place = Place(file, number)
        supply = lines.get(_key(line))
        if supply is None:
            faults.append(_unknown(line, anatomy, place))
        elif supply in answers:
            first = answers[supply].place.row
            value = f"{supply.target} {supply.through}"
            faults.append(error("review-twice", place.at("target"), value=value, first=first))
        else:
            verdict, found = _verdict(line, place)
            faults += [*found, *_changes(line, anatomy, supply, header, place)]
            answers[supply] = Answer(supply, verdict, line["comment"], place)
    return Review(
        tuple(answers[row] for row in anatomy.map.supplies if row in answers),
        tuple(row for row in anatomy.map.supplies if row not in answers),
        sort_faults(faults),
    )


def _key(line: dict[str, str]) -> Ids:
    return tuple(" ".join(line[column].split()) for column in KEY)


def _header_faults(header: list[str], file: str) -> list[Fault]:
    place = Place(file, 1)
    faults = [
        error("review-column", place.at(name), names=" ".join(COLUMNS))
        for name in NEEDED
        if name not in header
    ]
    faults += [
        error("review-unknown-column", place.at(name), nearest=", ".join(nearest(name, COLUMNS)))
        for name in header
        if name and name not in COLUMNS
    ]
    return faults


def _unknown(line: dict[str, str], anatomy: Anatomy, place: Place) -> Fault:
    value = " ".join(line[column] for column in KEY if line[column])
    rows = [
        " ".join(part for part in _key(_line(anatomy, row)) if part)
        for row in anatomy.map.supplies
    ]
    return error(
        "review-unknown", place.at("target"), value=value, nearest=", ".join(nearest(value, rows))
    )


def _verdict(line: dict[str, str], place: Place) -> tuple[Verdict, list[Fault]]:
    faults = []
    marked: dict[str, bool] = {}
    for column in ("agree", "disagree"):
        mark = line[column].casefold()
        marked[column] = mark in MARKS
        if mark not in MARKS and mark not in NO_MARKS:
            accepted = " ".join(MARKS)
            faults.append(
                error("review-mark", place.at(column), value=line[column], accepted=accepted)
            )
    if marked["agree"] and marked["disagree"]:
        faults.append(error("review-both", place.at("agree"), value=line["agree"]))
    if faults:
        return "open", faults
    if marked["disagree"]:
        if not line["comment"]:
            faults.append(warning("review-no-comment", place.at("comment")))
        return "disagree", faults
    return ("agree" if marked["agree"] else "open"), faults


def _changes(
    line: dict[str, str], anatomy: Anatomy, supply: Supply, header: list[str], place: Place
) -> list[Fault]:
    now = _line(anatomy, supply)
    return [
        warning("review-changed", place.at(column), value=line[column], now=now[column])
        for column in COMPARED
        if column in header and set(line[column].split()) != set(now[column].split())
    ]
