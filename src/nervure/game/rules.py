"""The rules of a game, ``[rules]`` and ``[points]`` of game.toml, as frozen models.

`docs/rules.md` is the page that says what each key means; this module says which values fit.
Four keys may differ by the number of players and are held as `ByPlayers`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Generic, Literal, TypeVar

from pydantic import AfterValidator, Field, PlainSerializer, PlainValidator

from nervure.game._door import Settings

Value = TypeVar("Value")
EndKind = Literal["claims", "points", "rounds", "stock-empty", "clock", "all-passed"]
Draw = Literal["stock", "display", "swap", "take-loose", "lift"]

MOST_PLAYERS = 6
ENDS_WITH_NUMBER: tuple[EndKind, ...] = ("claims", "points", "rounds", "clock")
ENDS_WITHOUT: tuple[EndKind, ...] = ("stock-empty", "all-passed")
TIE_BREAKS = ("full-strands", "fewest-cards", "claims", "last-seat")
TARGET_TIE_BREAK = "target:"


@dataclass(frozen=True, slots=True)
class ByPlayers(Generic[Value]):
    """A value that may differ by the number of players.

    ``entries``: (number of players, value), by rising number. For n players the entry of
    the largest number not above n holds; where all are above n, the smallest one.

    >>> hand = ByPlayers(((2, 5), (4, 4)))
    >>> [hand.at(n) for n in (1, 2, 3, 4, 6)]
    [5, 5, 5, 4, 4]
    """

    entries: tuple[tuple[int, Value], ...]

    @classmethod
    def always(cls, value: Value) -> ByPlayers[Value]:
        """Make the value that holds for every number of players."""
        return cls(((1, value),))

    def at(self, players: int) -> Value:
        """Give the value for a number of players."""
        found = self.entries[0][1]
        for number, value in self.entries:
            if number <= players:
                found = value
        return found

    @property
    def varies(self) -> bool:
        """Tell whether the value depends on the number of players."""
        return len({value for _, value in self.entries}) > 1


@dataclass(frozen=True, slots=True)
class End:
    """One way to end a game: ``claims: 6`` is End("claims", 6); amount 0 where none is named."""

    kind: EndKind
    amount: int = 0

    def __str__(self) -> str:
        return f"{self.kind}: {self.amount}" if self.kind in ENDS_WITH_NUMBER else self.kind


def parse_end(text: object) -> End:
    """Read one end, ``KIND`` or ``KIND: NUMBER``.

    Raises
    ------
    ValueError
        The text is no end. The caller says what would be accepted.

    >>> parse_end("rounds: 12")
    End(kind='rounds', amount=12)
    """
    if isinstance(text, End):
        return text
    if isinstance(text, str):
        for simple in ENDS_WITHOUT:
            if text.strip() == simple:
                return End(simple)
        found = re.fullmatch(r"\s*([a-z]+)\s*:\s*([1-9][0-9]{0,3})\s*", text)
        for numbered in ENDS_WITH_NUMBER:
            if found and found[1] == numbered:
                return End(numbered, int(found[2]))
    raise ValueError(text)


def _by_players(check: Callable[[Any], Value]) -> Callable[[Any], ByPlayers[Value]]:
    def validate(raw: Any) -> ByPlayers[Value]:
        if isinstance(raw, ByPlayers):
            return raw
        if not isinstance(raw, Mapping):
            return ByPlayers.always(check(raw))
        entries = {int(number): check(value) for number, value in raw.items()}
        if not entries or len(entries) < len(raw):  # "2" and "02" are one number
            raise ValueError(raw)
        if any(not 1 <= number <= MOST_PLAYERS for number in entries):
            raise ValueError(raw)
        return ByPlayers(tuple((number, entries[number]) for number in sorted(entries)))

    return validate


def _whole(low: int, high: int) -> Callable[[Any], int]:
    def check(raw: Any) -> int:
        if isinstance(raw, bool) or not isinstance(raw, int) or not low <= raw <= high:
            raise ValueError(raw)
        return raw

    return check


def _ends(raw: Any) -> tuple[End, ...]:
    ends = tuple(parse_end(text) for text in (raw if isinstance(raw, tuple) else (raw,)))
    if not ends or len({end.kind for end in ends}) < len(ends):
        raise ValueError(raw)
    return ends


def _no_doubles(values: tuple[Any, ...]) -> tuple[Any, ...]:
    if len(set(values)) < len(values):
        raise ValueError(values)
    return values


def _rising(values: tuple[int, int]) -> tuple[int, int]:
    if values[0] > values[1]:
        raise ValueError(values)
    return values


def _tie_break(text: str) -> str:
    if text not in TIE_BREAKS and not (
        text.startswith(TARGET_TIE_BREAK) and len(text) > len(TARGET_TIE_BREAK)
    ):
        raise ValueError(text)
    return text


def _as_written(value: ByPlayers[Any]) -> Any:
    """Give a value as game.toml would hold it: plain, or by number of players."""
    entries = {
        str(players): [str(end) for end in held] if isinstance(held, tuple) else held
        for players, held in value.entries
    }
    return entries if value.varies else next(iter(entries.values()))


_Written = PlainSerializer(_as_written)
Players = Annotated[int, Field(ge=1, le=MOST_PLAYERS)]
Ids = Annotated[tuple[str, ...], AfterValidator(_no_doubles)]
HandSize = Annotated[ByPlayers[int], PlainValidator(_by_players(_whole(1, 12))), _Written]
Shown = Annotated[ByPlayers[int], PlainValidator(_by_players(_whole(0, 8))), _Written]
Ends = Annotated[ByPlayers[tuple[End, ...]], PlainValidator(_by_players(_ends)), _Written]
OneToThree = Annotated[int, Field(ge=1, le=3)]
Cards = Annotated[int, Field(ge=0, le=6)]


class Rules(Settings):
    """``[rules]``: every key of the game family with its default.

    ``players`` is the smallest and the largest number of players; ``tiers`` empty means all
    tiers of the map; ``targets`` holds ids and kinds of target. `Game` holds what follows
    from the last two for its map.
    """

    players: Annotated[tuple[Players, Players], AfterValidator(_rising)] = (2, 4)
    tiers: Ids = ()
    targets: Ids = ("muscle", "organ")
    hand: HandSize = ByPlayers.always(4)
    seat_cards: Annotated[
        tuple[Annotated[int, Field(ge=0, le=12)], ...], Field(max_length=MOST_PLAYERS)
    ] = ()
    open_targets: Shown = ByPlayers.always(4)
    secret_targets: Annotated[int, Field(ge=0, le=4)] = 0
    display: Shown = ByPlayers.always(3)
    draws: Annotated[tuple[Draw, ...], AfterValidator(_no_doubles)] = ("stock", "display", "swap")
    draw_count: OneToThree = 1
    play_count: OneToThree = 1
    must_play: bool = True
    connect: Literal["true", "neighbours"] = "true"
    skip_tiers: bool = True
    insert: bool = False
    supply: Literal["true", "main", "last-card"] = "true"
    claim_needs: Annotated[tuple[Literal["last", "origin"], ...], AfterValidator(_no_doubles)] = (
        "last",
    )
    claim_minimum: Annotated[int, Field(ge=1, le=6)] = 2
    claim_real: Cards = 1
    full_strand: Literal["way", "deck"] = "way"
    join: Literal["any-time", "instead-of-play"] = "any-time"
    claim: Literal["any-time", "instead-of-play"] = "any-time"
    refill: bool = True
    swapped_go: Literal["pile", "under"] = "pile"
    may_pass: Literal["never", "stock-empty", "always"] = "never"
    late_lifts: Annotated[int, Field(ge=0, le=12)] = 2
    end: Ends = ByPlayers.always((End("claims", 6),))
    tie_breaks: Annotated[
        tuple[Annotated[str, AfterValidator(_tie_break)], ...], AfterValidator(_no_doubles)
    ] = ("full-strands", "fewest-cards")
    parts_show: Literal["nothing", "links", "links-and-targets"] = "links"
    targets_show: Literal["nothing", "origins", "way", "pathways"] = "origins"

    @property
    def table_sizes(self) -> range:
        """Every number of players that the game is for."""
        return range(self.players[0], self.players[1] + 1)

    def cards_for_seat(self, seat: int, players: int) -> int:
        """Give the opening hand of a seat (0 the first) at a table of so many players."""
        extra = self.seat_cards[seat] if seat < len(self.seat_cards) else 0
        return self.hand.at(players) + extra


class Points(Settings):
    """``[points]``: where a claim's points come from.

    ``listed``: deck.csv; targets for which it lists none are paid by difficulty.
    ``difficulty``: all of them are. ``range``: points of the easiest and the hardest claim.
    """

    method: Literal["listed", "difficulty"] = "listed"
    range: Annotated[
        tuple[Annotated[int, Field(ge=0, le=99)], Annotated[int, Field(ge=0, le=99)]],
        AfterValidator(_rising),
    ] = (1, 9)
