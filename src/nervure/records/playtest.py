"""The schema of ``out/playtest/result.json``: what a playtest leaves for pages and press.

Plain frozen records that turn into plain data and back. Shares are 0 to 1, intervals
``(low, high)`` at 95 %; ``games`` is the number of games behind a figure.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any, TypeVar

SCHEMA_VERSION = 1

Interval = tuple[float, float]
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure at one table size. ``details``: further figures by name."""

    name: str
    players: int
    value: float
    interval: Interval
    unit: str
    games: int
    details: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Verdict:
    """A goal compared with the whole interval of its measure, at the worst table size.

    ``verdict``: holds, watch, fails, certain, or open (not measured). ``more_games``: how
    many more games would settle a watch, None where it is not a watch or over a million.
    """

    goal: str
    verdict: str
    sentence: str
    low: float
    high: float
    players: int | None
    value: float | None
    interval: Interval | None
    unit: str
    more_games: int | None = None


@dataclass(frozen=True, slots=True)
class StylePair:
    """One style against another at one table size.

    ``share``: win share of ``style`` alone among ``against``; ``reverse``: of ``against``
    alone among ``style``; ``edge`` = (share − reverse) / 2.
    """

    style: str
    against: str
    players: int
    share: float
    share_interval: Interval
    reverse: float
    edge: float
    edge_interval: Interval
    games: int


@dataclass(frozen=True, slots=True)
class TargetRow:
    """One target card over all games of the reference line-ups.

    ``opened``: share of games in which it was turned up; ``claimed``: share of games in
    which it was claimed, ``claimed_interval`` its interval; ``lengths``: claims by cards
    of the strand; ``wait``: mean turns from turned up to claimed; ``points`` and
    ``difficulty``: what it pays, and what its rarity asks, by strand length from the
    shortest claim; ``paid``: points minus difficulty at its commonest length.
    """

    target: str
    opened: float
    claimed: float
    claimed_interval: Interval
    lengths: Mapping[str, int]
    wait: float | None
    points: tuple[int, ...]
    difficulty: tuple[float, ...]
    paid: float | None


@dataclass(frozen=True, slots=True)
class CardRow:
    """One kind of part card over all games of the reference line-ups, per game.

    ``effect``: win share of seats that held it in the opening hand minus that of seats
    that did not, over deals; ``p_holm`` its p-value after Holm over all cards.
    """

    card: str
    drawn: float
    played: float
    claimed: float
    left: float
    effect: float | None
    effect_interval: Interval | None
    p_holm: float | None


@dataclass(frozen=True, slots=True)
class FreedomRow:
    """What a freedom is worth: the whole game minus the game without it, on the same deals.

    ``without``: display, takes, long-claims, bonuses, or ``bonus:ID``. ``points``,
    ``claims``: of a player; ``turns``: of the game; ``other_winner``: share of deals that
    somebody else wins, None at a table of one. ``games``: deals compared.
    """

    without: str
    players: int
    points: float
    points_interval: Interval
    turns: float
    turns_interval: Interval
    claims: float
    claims_interval: Interval
    other_winner: float | None
    games: int


@dataclass(frozen=True, slots=True)
class FactRow:
    """How often a fact is met where all know half, over all table sizes.

    ``fact``: ``A>B`` or ``S=>T``; ``enacted``: share of games in which a player enacts it;
    ``seen``: in which anybody at the table does.
    """

    fact: str
    start: str
    end: str
    is_supply: bool
    enacted: float
    seen: float


@dataclass(frozen=True, slots=True)
class RefusalRow:
    """A false fact that refused attempts rested on, where all know half, over all tables."""

    fact: str
    start: str
    end: str
    is_supply: bool
    count: int
    per_game: float


@dataclass(frozen=True, slots=True)
class Histogram:
    """How many games had so many turns, in bins of equal width, at one table size."""

    players: int
    start: float
    width: float
    counts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class PlaytestResult:
    """Everything that a playtest found."""

    title: str
    design: str
    games: int
    seed: int
    plan: tuple[Mapping[str, Any], ...]
    measures: tuple[Measure, ...]
    verdicts: tuple[Verdict, ...]
    styles: tuple[StylePair, ...]
    targets: tuple[TargetRow, ...]
    cards: tuple[CardRow, ...]
    lengths: tuple[Histogram, ...]
    seats: Mapping[str, tuple[tuple[float, Interval], ...]]
    seconds_per_turn: float
    open: tuple[str, ...]
    digest: str
    stopped: bool = False
    restricted: tuple[FreedomRow, ...] = ()
    facts: tuple[FactRow, ...] = ()
    refusals: tuple[RefusalRow, ...] = ()
    schema: int = SCHEMA_VERSION

    def measure(self, name: str, players: int) -> Measure | None:
        """Give a measure at a table size, None if it was not measured there."""
        for measure in self.measures:
            if measure.name == name and measure.players == players:
                return measure
        return None

    def to_dict(self) -> dict[str, Any]:
        """Give plain data, every figure by table size under ``tables``.

        ``measures``: name → the figure where it is judged (the worst table, else the
        smallest).
        """
        data = asdict(self)
        judged = {verdict.goal: verdict.players for verdict in self.verdicts}
        first: dict[str, Measure] = {}
        tables: dict[str, dict[str, Any]] = {}
        for measure in self.measures:
            tables.setdefault(str(measure.players), {})[measure.name] = _figure(measure)
            if measure.name not in first or judged.get(measure.name) == measure.players:
                first[measure.name] = measure
        data["measures"] = {name: _figure(measure) for name, measure in first.items()}
        data["tables"] = tables
        return data

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> PlaytestResult:
        """Read back what `to_dict` gave (also after a round through JSON)."""
        measures = tuple(
            Measure(
                name=name,
                players=int(players),
                value=figure["value"],
                interval=_pair(figure["interval"]),
                unit=figure["unit"],
                games=figure["games"],
                details=figure["details"],
            )
            for players, figures in data["tables"].items()
            for name, figure in figures.items()
        )
        return cls(
            title=data["title"],
            design=data["design"],
            games=data["games"],
            seed=data["seed"],
            plan=tuple(data["plan"]),
            measures=measures,
            verdicts=tuple(_record(Verdict, row) for row in data["verdicts"]),
            styles=tuple(_record(StylePair, row) for row in data["styles"]),
            targets=tuple(_record(TargetRow, row) for row in data["targets"]),
            cards=tuple(_record(CardRow, row) for row in data["cards"]),
            lengths=tuple(_record(Histogram, row) for row in data["lengths"]),
            seats={
                size: tuple((share, _pair(interval)) for share, interval in shares)
                for size, shares in data["seats"].items()
            },
            seconds_per_turn=data["seconds_per_turn"],
            open=tuple(data["open"]),
            digest=data["digest"],
            stopped=data["stopped"],
            restricted=tuple(_record(FreedomRow, row) for row in data.get("restricted", ())),
            facts=tuple(_record(FactRow, row) for row in data.get("facts", ())),
            refusals=tuple(_record(RefusalRow, row) for row in data.get("refusals", ())),
            schema=data["schema"],
        )


def _figure(measure: Measure) -> dict[str, Any]:
    figure = asdict(measure)
    del figure["name"]
    return figure


def _pair(values: Any) -> Interval:
    low, high = values
    return (low, high)


def _record(kind: type[T], row: Mapping[str, Any]) -> T:
    """Make a record of plain data; lists become tuples."""
    values = {name: tuple(v) if isinstance(v, list) else v for name, v in row.items()}
    return kind(**values)
