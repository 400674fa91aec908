"""The choices within the sentences: from what game.toml holds to form fields, and back.

A form is a dictionary of lists of texts, as browsers send it. Every key of game.toml that
stands in a sentence has one `Field`, which knows three things: the texts that show a value,
what a form says about it (its *reading*: equal for equal values, however they are written),
and the value to write for a reading. Whether a value is accepted is not looked at: that is
said by the code that reads game.toml.
"""

# ruff: noqa: D102  `Field` says once what each of its three methods gives
from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, Protocol

from nervure.game.rules import ENDS_WITH_NUMBER, ENDS_WITHOUT, MOST_PLAYERS
from nervure.project.records import TARGET_KINDS

Form = Mapping[str, Sequence[str]]
Texts = dict[str, list[str]]
Reading = Any  # of one field: hashable, compared with ==

SIZES = range(1, MOST_PLAYERS + 1)
END_KINDS = (*ENDS_WITH_NUMBER, *ENDS_WITHOUT)
DRAWS = ("stock", "display", "swap", "take-loose", "lift")
MOST_TEXT = 400


class CannotShow(ValueError):
    """A value for which the sentence has no place; its author wrote something else."""


def one(form: Form, name: str) -> str:
    """Give the text of a field, blank if there is none."""
    held = form.get(name) or [""]
    return str(held[0])[:MOST_TEXT]


def number_or_text(text: str) -> int | str:
    """Give a whole number if a text is one; else the text, to be told as it stands.

    >>> number_or_text(" 04 "), number_or_text("many"), number_or_text("")
    (4, 'many', '')
    """
    text = text.strip()
    plain = text.removeprefix("-")
    if plain.isascii() and plain.isdigit() and len(plain) < 10:
        return int(text)
    return text


class Field(Protocol):
    """One key of game.toml in its sentence; ``key`` is dotted."""

    @property
    def key(self) -> str:
        """The dotted key."""

    def shown(self, value: Any) -> Texts:
        """Give the texts that show a value; `CannotShow` if it has no place in them."""

    def read(self, form: Form) -> Reading:
        """Give what a form says."""

    def value(self, reading: Reading, was: Any) -> Any:
        """Give what to write for a reading; ``was``: what the file holds, None if nothing."""


def _name(key: str) -> str:
    return key.removeprefix("rules.")


def _plain_number(value: Any) -> str:
    if isinstance(value, bool) or not isinstance(value, (int, str)):
        raise CannotShow(value)
    return str(value)[:MOST_TEXT]


@dataclass(frozen=True, slots=True)
class Number:
    """A whole number."""

    key: str

    def shown(self, value: Any) -> Texts:
        return {_name(self.key): [_plain_number(value)]}

    def read(self, form: Form) -> Reading:
        return number_or_text(one(form, _name(self.key)))

    def value(self, reading: Reading, was: Any) -> Any:
        return reading


@dataclass(frozen=True, slots=True)
class Choice:
    """One of several words."""

    key: str

    def shown(self, value: Any) -> Texts:
        if not isinstance(value, str):
            raise CannotShow(value)
        return {_name(self.key): [value]}

    def read(self, form: Form) -> Reading:
        return one(form, _name(self.key))

    def value(self, reading: Reading, was: Any) -> Any:
        return reading


@dataclass(frozen=True, slots=True)
class YesNo:
    """True or false."""

    key: str

    def shown(self, value: Any) -> Texts:
        if not isinstance(value, bool):
            raise CannotShow(value)
        return {_name(self.key): ["yes" if value else "no"]}

    def read(self, form: Form) -> Reading:
        text = one(form, _name(self.key))
        return {"yes": True, "no": False}.get(text, text)

    def value(self, reading: Reading, was: Any) -> Any:
        return reading


@dataclass(frozen=True, slots=True)
class Range:
    """The smallest and the largest of something."""

    key: str

    def shown(self, value: Any) -> Texts:
        if not isinstance(value, list) or len(value) != 2:
            raise CannotShow(value)
        low, high = map(_plain_number, value)
        return {f"{_name(self.key)}.low": [low], f"{_name(self.key)}.high": [high]}

    def read(self, form: Form) -> Reading:
        name = _name(self.key)
        return tuple(number_or_text(one(form, f"{name}.{end}")) for end in ("low", "high"))

    def value(self, reading: Reading, was: Any) -> Any:
        return list(reading)


@dataclass(frozen=True, slots=True)
class Names:
    """Some of the known names, each ticked or not; an empty list may stand for all.

    A name that is not known is shown and kept: it is told as a fault, not dropped. One of
    ``boxless`` means nothing for this map and has no box; where it stands it stays.
    """

    key: str
    known: tuple[str, ...]
    blank_is_all: bool = False
    boxless: tuple[str, ...] = ()

    def shown(self, value: Any) -> Texts:
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            raise CannotShow(value)
        return {_name(self.key): list(value or (self.known if self.blank_is_all else ()))}

    def read(self, form: Form) -> Reading:
        ticked = [str(text)[:MOST_TEXT] for text in form.get(_name(self.key), ())]
        return self._canonical(ticked)

    def _canonical(self, names: Iterable[str]) -> tuple[str, ...]:
        place = {name: number for number, name in enumerate(self.known)}
        found = sorted(
            set(names) - set(self.boxless), key=lambda name: (place.get(name, len(place)), name)
        )
        if self.blank_is_all and tuple(found) == self.known:
            return ()
        return tuple(found) if found or not self.blank_is_all else ("",)

    def value(self, reading: Reading, was: Any) -> Any:
        """Give the names in the order in which they stood, new ones behind."""
        if self.blank_is_all and reading == ():
            return []
        before = was if isinstance(was, list) else []
        return [
            *(name for name in before if name in reading or name in self.boxless),
            *(name for name in reading if name not in before),
        ]


@dataclass(frozen=True, slots=True)
class Needs:
    """What a claim needs: a list of two words as one of four answers."""

    key: str
    answers: ClassVar[dict[str, tuple[str, ...]]] = {
        "none": (),
        "last": ("last",),
        "origin": ("origin",),
        "both": ("last", "origin"),
    }

    def shown(self, value: Any) -> Texts:
        for answer, names in self.answers.items():
            if isinstance(value, list) and sorted(map(str, value)) == sorted(names):
                return {_name(self.key): [answer]}
        raise CannotShow(value)

    def read(self, form: Form) -> Reading:
        text = one(form, _name(self.key))
        return self.answers.get(text, (text,))

    def value(self, reading: Reading, was: Any) -> Any:
        return list(reading)


@dataclass(frozen=True, slots=True)
class Seats:
    """Further cards by seat, 0 for those behind."""

    key: str

    def shown(self, value: Any) -> Texts:
        if not isinstance(value, list) or len(value) > MOST_PLAYERS:
            raise CannotShow(value)
        shown = [_plain_number(item) for item in value]
        shown += ["0"] * (MOST_PLAYERS - len(shown))
        return {
            f"{_name(self.key)}.{seat}": [text] for seat, text in zip(SIZES, shown, strict=True)
        }

    def read(self, form: Form) -> Reading:
        cards = [number_or_text(one(form, f"{_name(self.key)}.{seat}") or "0") for seat in SIZES]
        while cards and cards[-1] == 0:
            cards.pop()
        return tuple(cards)

    def value(self, reading: Reading, was: Any) -> Any:
        return list(reading)


def by_players(value: Any) -> list[Any] | None:
    """Give a value for each number of players from 1; None if it is the same for all.

    As `nervure.game.ByPlayers` reads it: the entry of the largest number not above holds.
    """
    if not isinstance(value, dict):
        return None
    try:
        entries = sorted((int(number), item) for number, item in value.items())
    except (TypeError, ValueError) as problem:
        raise CannotShow(value) from problem
    if not entries or any(number not in SIZES for number, _ in entries):
        raise CannotShow(value)
    held = []
    for size in SIZES:
        held.append(next((item for n, item in reversed(entries) if n <= size), entries[0][1]))
    return held


def written_by_players(values: Sequence[Any], was: Any) -> Any:
    """Give values for 1 to 6 players as short as game.toml can hold them."""
    if all(value == values[0] for value in values):
        return values[0]
    entries = {
        str(size): value
        for size, value in zip(SIZES, values, strict=True)
        if size == 1 or value != values[size - 2]
    }
    # The first entry holds for fewer players too: it keeps the number it had.
    first = min((int(n) for n in was), default=1) if isinstance(was, dict) else 2
    if all(value == values[0] for value in values[:first]):
        entries = {str(first): entries.pop("1"), **entries}
    return entries


@dataclass(frozen=True, slots=True)
class NumberByPlayers:
    """A whole number, once or by number of players."""

    key: str

    def shown(self, value: Any) -> Texts:
        name, by = _name(self.key), by_players(value)
        texts = [_plain_number(item) for item in (by or [value] * MOST_PLAYERS)]
        found = {f"{name}.{size}": [text] for size, text in zip(SIZES, texts, strict=True)}
        return {**found, name: [texts[1]], f"{name}.by": ["yes"] if by else []}

    def read(self, form: Form) -> Reading:
        name = _name(self.key)
        if one(form, f"{name}.by") == "yes":
            return tuple(number_or_text(one(form, f"{name}.{size}")) for size in SIZES)
        return (number_or_text(one(form, name)),) * MOST_PLAYERS

    def value(self, reading: Reading, was: Any) -> Any:
        return written_by_players(reading, was)


@dataclass(frozen=True, slots=True)
class Ends:
    """How the game ends, once or by number of players."""

    key: str

    def shown(self, value: Any) -> Texts:
        name, by = _name(self.key), by_players(value)
        found: Texts = {f"{name}.by": ["yes"] if by else []}
        held = by or [value] * MOST_PLAYERS
        for home, ends in [(name, held[1])] + [
            (f"{name}.{size}", item) for size, item in zip(SIZES, held, strict=True)
        ]:
            found |= self._shown(home, ends)
        return found

    def _shown(self, home: str, ends: Any) -> Texts:
        listed = [ends] if isinstance(ends, str) else ends
        if not isinstance(listed, list):
            raise CannotShow(ends)
        found: Texts = {home: []}
        for end in listed:
            kind, colon, amount = str(end).partition(":")
            kind = kind.strip()
            if kind not in END_KINDS or kind in found[home]:
                raise CannotShow(ends)
            if bool(colon) != (kind in ENDS_WITH_NUMBER):
                raise CannotShow(ends)
            found[home].append(kind)
            if colon:
                found[f"{home}.{kind}"] = [amount.strip()]
        return found

    def read(self, form: Form) -> Reading:
        name = _name(self.key)
        if one(form, f"{name}.by") == "yes":
            return tuple(self._read(form, f"{name}.{size}") for size in SIZES)
        return (self._read(form, name),) * MOST_PLAYERS

    def _read(self, form: Form, home: str) -> tuple[str, ...]:
        ticked = form.get(home, ())
        return tuple(
            f"{kind}: {number_or_text(one(form, f'{home}.{kind}'))}"
            if kind in ENDS_WITH_NUMBER
            else kind
            for kind in END_KINDS
            if kind in ticked
        )

    def value(self, reading: Reading, was: Any) -> Any:
        return written_by_players([list(ends) for ends in reading], was)


@dataclass(frozen=True, slots=True)
class Order:
    """Names one after another, the first the strongest; blanks are left out."""

    key: str

    def shown(self, value: Any) -> Texts:
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            raise CannotShow(value)
        return {_name(self.key): [*value, ""]}

    def read(self, form: Form) -> Reading:
        return tuple(str(text)[:MOST_TEXT] for text in form.get(_name(self.key), ()) if text)

    def value(self, reading: Reading, was: Any) -> Any:
        return list(reading)


def fields_for(tiers: Sequence[str], targets: Sequence[str], kinds: Sequence[str]) -> list[Field]:
    """Give the fields of all sentences; ``tiers``, ``targets``, ``kinds``: those of the map."""
    return [
        Range("rules.players"),
        Names("rules.tiers", tuple(tiers), blank_is_all=True),
        Names(
            "rules.targets",
            (*kinds, *targets),
            boxless=tuple(kind for kind in TARGET_KINDS if kind not in kinds),
        ),
        NumberByPlayers("rules.hand"),
        Seats("rules.seat_cards"),
        NumberByPlayers("rules.open_targets"),
        Number("rules.secret_targets"),
        NumberByPlayers("rules.display"),
        Names("rules.draws", DRAWS),
        *(Number(f"rules.{name}") for name in ("draw_count", "play_count")),
        YesNo("rules.must_play"),
        Choice("rules.connect"),
        YesNo("rules.skip_tiers"),
        YesNo("rules.insert"),
        Choice("rules.supply"),
        Needs("rules.claim_needs"),
        *(Number(f"rules.{name}") for name in ("claim_minimum", "claim_real")),
        Choice("rules.full_strand"),
        Choice("rules.join"),
        Choice("rules.claim"),
        YesNo("rules.refill"),
        Choice("rules.swapped_go"),
        Choice("rules.may_pass"),
        Number("rules.late_lifts"),
        Ends("rules.end"),
        Order("rules.tie_breaks"),
        Choice("rules.parts_show"),
        Choice("rules.targets_show"),
        Choice("points.method"),
        Range("points.range"),
        Choice("bonuses.printed_on"),
    ]
