"""One cell -> one typed value, with a fault for whatever the cell cannot mean.

A cell that cannot be mended in thought gives None, and the row goes without it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from nervure import words
from nervure.errors import Fault, Place, accepted, error, nearest
from nervure.project.columns import Column, IdKind
from nervure.project.records import Ids
from nervure.project.tables import DateCell

Value = str | int | float | bool | Ids | tuple[int, ...] | None

_ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_MONTHS = (
    "jan|feb|fev|fév|m[aä]r|mrz|apr|avr|abr|ma[iyjgo]|jun|juin|giu|jul|juil|lug|ao[uû]|aug|ago"
)
_MONTHS += "|sep|set|o[ckt]t|nov|d[eé][cz]|dic|gen|ene"
_DATE = re.compile(
    rf"""\d{{1,2}}\.?[-/.\ ]\ ?(?:{_MONTHS})[^\W\d]*\.?(?:[-/.\ ]\d{{2,4}})?   # 5-May, 05. Mai
    | (?:{_MONTHS})[^\W\d]*[-/.\ ]\d{{1,4}}                                 # May-05
    | \d{{4}}-\d{{1,2}}-\d{{1,2}}(?:[\ T].*)?                               # 2026-05-01
    | \d{{1,2}}[./-]\d{{1,2}}[./-]\d{{2,4}}(?:\ .*)?                        # 01/05/2026""",
    re.IGNORECASE | re.VERBOSE,
)
_SHEET_ERRORS = ("#REF!", "#N/A", "#NAME?", "#VALUE!", "#DIV/0!", "#NULL!", "#NUM!")
_WHOLE = re.compile(r"-?[0-9]{1,9}")
_NUMBER = re.compile(r"-?[0-9]{1,9}(?:[.,][0-9]{1,9})?")
_PERCENT = re.compile(r"[<>~≈]?\s*(\d{1,3}(?:[.,]\d+)?)\s*(?:[-–]\s*(\d{1,3}(?:[.,]\d+)?))?\s*%?")
_ISO_DATE = re.compile(r"(\d{4})-(\d{2})-(\d{2})(?: 00:00:00)?")
_SITE = re.compile(r"(?P<start>[^@>]+)(?:@(?P<level>[1-9][0-9]?)|>(?P<end>[^@>]+))?")
YES_NO = ("yes", "no")
NOT_STATED = "not stated"


@dataclass(slots=True)
class Known:
    """The ids that may be named.

    Kinds in ``unsure`` have a table that cannot be read: their ids are not judged.
    """

    ids: dict[IdKind, dict[str, Place]] = field(default_factory=dict)
    origins: Ids = ()
    links: set[tuple[str, str]] = field(default_factory=set)
    unsure: set[IdKind] = field(default_factory=set)
    origins_unsure: bool = False
    links_unsure: bool = False

    def of(self, kind: IdKind) -> dict[str, Place]:
        """Give the ids of a kind with the place of each."""
        return self.ids.setdefault(kind, {})


def is_id(text: str) -> bool:
    """Tell whether a text has the form of an id.

    >>> is_id("vastus-medialis"), is_id("L4"), is_id("tibial nerve")
    (True, False, False)
    """
    return _ID.fullmatch(text) is not None


def to_id(text: str) -> str:
    """Give the id that a text was probably meant to be; "" if it holds no letter or digit.

    >>> to_id("Nervus fémoralis (L2)")
    'nervus-femoralis-l2'
    """
    plain = unicodedata.normalize("NFKD", text.replace("ß", "ss")).encode("ascii", "ignore")
    return "-".join(re.findall(r"[a-z0-9]+", plain.decode().lower()))


def looks_like_date(cell: str) -> bool:
    """Tell whether a cell is what a spreadsheet makes of something that looked like a date.

    >>> [looks_like_date(cell) for cell in ("5-May", "2026-05-01", "l4", "5-20", "may-9")]
    [True, True, False, False, False]
    """
    if isinstance(cell, DateCell):
        return True
    if _DATE.fullmatch(cell) is None:
        return False
    return cell[0].isdigit() or cell[0].isupper()


def one_line(text: str) -> str:
    """Join the lines and the runs of blanks of a text."""
    return " ".join(text.split())


def what_is_accepted(value: str, known: Sequence[str]) -> str:
    """Say what would be accepted, also where there is nothing yet."""
    return accepted(value, known) if known else words.say("accepts.none")


def parse_cell(
    cell: str, column: Column, place: Place, known: Known, faults: list[Fault]
) -> Value:
    """Give a cell's value by the kind of its column; None if it is blank or cannot be one.

    ``cell`` is stripped and not blank.
    """
    if cell in _SHEET_ERRORS:
        faults.append(error("sheet-error", place, value=cell))
        return None
    if column.kind in ("text", "prose"):
        if isinstance(cell, DateCell):
            faults.append(error("date-cell", place, value=str(cell)))
            return None
        return one_line(cell) if column.kind == "text" else cell
    if column.kind not in ("date",) and looks_like_date(cell):
        faults.append(error("date-cell", place, value=str(cell)))
        return None
    return _PARSERS[column.kind](cell, column, place, known, faults)


def _parse_id(
    cell: str, column: Column, place: Place, known: Known, faults: list[Fault]
) -> str | None:
    if is_id(cell):
        return cell
    meant = to_id(cell)
    if not meant:
        faults.append(error("id-impossible", place, value=cell))
        return None
    faults.append(error("id-form", place, value=cell, meant=meant))
    return meant


def _parse_ref(
    cell: str, column: Column, place: Place, known: Known, faults: list[Fault]
) -> str | None:
    name = _parse_id(cell, column, place, known, faults)
    return name if name and _exists(name, column.of, place, known, faults) else None


def _exists(name: str, kind: IdKind, place: Place, known: Known, faults: list[Fault]) -> bool:
    if name in known.of(kind):
        return True
    if kind not in known.unsure:
        faults.append(
            error(
                "unknown-id",
                place,
                value=name,
                kind=words.say(f"kind.{kind}"),
                accepted=what_is_accepted(name, list(known.of(kind))),
            )
        )
    return False


def split_ids(cell: str, place: Place, faults: list[Fault]) -> Ids:
    """Give the ids of a cell; separators other than blanks, and repeats, are faults."""
    parts = re.split(r"[,;|+&]+|\s+", cell)
    names = tuple(part for part in parts if part)
    if not re.search(r"[,;|+&]", cell):
        unique = tuple(dict.fromkeys(names))
        if len(unique) < len(names):
            twice = next(name for name in names if names.count(name) > 1)
            faults.append(error("listed-twice", place, value=twice))
        return unique
    meant = " ".join(to_id(name) or name for name in names)
    faults.append(error("separator", place, value=one_line(cell), meant=meant))
    return tuple(dict.fromkeys(names))


def _each_id(
    cell: str, place: Place, faults: list[Fault], known_to_exist: Callable[[str], bool]
) -> Ids:
    """Give those ids of a cell that have the form of an id and exist; faults name the others."""
    found = []
    for part in split_ids(cell, place, faults):
        if looks_like_date(part):
            faults.append(error("date-cell", place, value=part))
            continue
        name = part if is_id(part) else to_id(part)
        if not name:
            faults.append(error("id-impossible", place, value=part))
            continue
        if name != part:
            faults.append(error("id-form", place, value=part, meant=name))
        if known_to_exist(name):
            found.append(name)
    return tuple(dict.fromkeys(found))


def _parse_refs(cell: str, column: Column, place: Place, known: Known, faults: list[Fault]) -> Ids:
    return _each_id(
        cell, place, faults, lambda name: _exists(name, column.of, place, known, faults)
    )


def _parse_origins(
    cell: str, column: Column, place: Place, known: Known, faults: list[Fault]
) -> Ids:
    def is_origin(name: str) -> bool:
        if name in known.origins:
            return True
        if not known.origins_unsure:
            faults.append(
                error("no-origin", place, value=name, accepted=_origins_text(name, known.origins))
            )
        return False

    return _each_id(cell, place, faults, is_origin)


def _origins_text(value: str, origins: Ids, width: int = 80) -> str:
    listing = " ".join(origins)
    if not origins:
        return words.say("accepts.none")
    if len(listing) <= width:
        return words.say("accepts.origins", names=listing)
    return words.say("accepted.nearest", names=", ".join(nearest(value, origins)))


def _parse_variant(
    cell: str, column: Column, place: Place, known: Known, faults: list[Fault]
) -> str | None:
    sign = "-" if cell.startswith("-") else ""
    name = _parse_id(cell.removeprefix("-").strip(), column, place, known, faults)
    if name and _exists(name, "variant", place, known, faults):
        return sign + name
    return None


def _parse_sites(
    cell: str, column: Column, place: Place, known: Known, faults: list[Fault]
) -> Ids | None:
    sites = []
    for part in re.split(r"[\s,;]+", cell):
        match = _SITE.fullmatch(part)
        if match is None:
            faults.append(error("site-form", place, value=part))
            continue
        ends = [name for name in (match["start"], match["end"]) if name]
        checked = [_parse_ref(name, column, place, known, faults) for name in ends]
        if None in checked:
            continue
        start, *rest = [name for name in checked if name]
        if rest and (start, rest[0]) not in known.links:
            if not known.links_unsure:
                faults.append(error("site-no-link", place, value=part, start=start, end=rest[0]))
            continue
        level = f"@{match['level']}" if match["level"] else ""
        sites.append(f"{start}>{rest[0]}" if rest else f"{start}{level}")
    return tuple(sites) or None


def _parse_card(
    cell: str, column: Column, place: Place, known: Known, faults: list[Fault]
) -> str | None:
    wilds = ("wild:any", *(f"wild:{tier}" for tier in known.of("tier")))
    if cell in ("variant", *wilds):
        return cell
    if cell.startswith("wild:"):
        if "tier" not in known.unsure:
            accepts = what_is_accepted(cell, wilds)
            faults.append(error("unknown-wild", place, value=cell, accepted=accepts))
        return None
    name = _parse_id(cell, column, place, known, faults)
    cards = [*known.of("structure"), *known.of("target")]
    if name is None or name in cards:
        return name
    if not {"structure", "target"} & known.unsure:
        accepts = what_is_accepted(name, [*cards, "variant", *wilds])
        faults.append(error("unknown-card", place, value=name, accepted=accepts))
    return None


def _parse_whole(
    cell: str, column: Column, place: Place, known: Known, faults: list[Fault]
) -> int | None:
    return _whole(cell, column, place, faults)


def _whole(cell: str, column: Column, place: Place, faults: list[Fault]) -> int | None:
    if _WHOLE.fullmatch(cell) and column.low <= int(cell) <= column.high:
        return int(cell)
    faults.append(
        error("number-whole", place, value=one_line(cell), low=column.low, high=column.high)
    )
    return None


def _parse_wholes(
    cell: str, column: Column, place: Place, known: Known, faults: list[Fault]
) -> tuple[int, ...] | None:
    if not all(
        _WHOLE.fullmatch(part) and column.low <= int(part) <= column.high for part in cell.split()
    ):
        faults.append(
            error("numbers-whole", place, value=one_line(cell), low=column.low, high=column.high)
        )
        return None
    return tuple(int(part) for part in cell.split())


def _parse_number(
    cell: str, column: Column, place: Place, known: Known, faults: list[Fault]
) -> float | None:
    plain = cell.removesuffix("%").strip()
    if _NUMBER.fullmatch(plain):
        number = float(plain.replace(",", "."))
        if column.low < number <= column.high:
            return number
    faults.append(error("number", place, value=one_line(cell), low=column.low, high=column.high))
    return None


def _parse_percent(
    cell: str, column: Column, place: Place, known: Known, faults: list[Fault]
) -> str | None:
    if cell == NOT_STATED:
        return cell
    match = _PERCENT.fullmatch(cell)
    if match and all(float(part.replace(",", ".")) <= 100 for part in match.groups() if part):
        return cell.removesuffix("%").strip()
    faults.append(error("percent", place, value=one_line(cell)))
    return None


def _parse_date(
    cell: str, column: Column, place: Place, known: Known, faults: list[Fault]
) -> str | None:
    match = _ISO_DATE.fullmatch(cell)
    if match and 1 <= int(match[2]) <= 12 and 1 <= int(match[3]) <= 31:
        return cell[:10]
    faults.append(error("date-form", place, value=one_line(cell)))
    return None


def _parse_yes_no(
    cell: str, column: Column, place: Place, known: Known, faults: list[Fault]
) -> bool | None:
    answer = _choice(cell, YES_NO, place, faults)
    return None if answer is None else answer == "yes"


def _parse_choice(
    cell: str, column: Column, place: Place, known: Known, faults: list[Fault]
) -> str | None:
    return _choice(cell, column.choices, place, faults)


def _choice(cell: str, choices: Iterable[str], place: Place, faults: list[Fault]) -> str | None:
    names = list(choices)
    if cell in names:
        return cell
    shown = one_line(cell)
    listing = ", ".join(names)
    faults.append(error("choice", place, value=shown, accepted=listing))
    return None


_PARSERS: dict[str, Callable[[str, Column, Place, Known, list[Fault]], Value]] = {
    "id": _parse_id,
    "ref": _parse_ref,
    "refs": _parse_refs,
    "origins": _parse_origins,
    "variant": _parse_variant,
    "sites": _parse_sites,
    "card": _parse_card,
    "whole": _parse_whole,
    "wholes": _parse_wholes,
    "number": _parse_number,
    "percent": _parse_percent,
    "date": _parse_date,
    "yes-no": _parse_yes_no,
    "choice": _parse_choice,
}
