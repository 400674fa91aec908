"""Which line-ups a playtest plays, and how many games of each.

Without a line-up of the caller's own the plan runs at every table size: ``seats`` (every
seat the reference style), then ``styles`` (each pair of styles, one against the others).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any, Literal

from nervure import words
from nervure.engine import style_of
from nervure.errors import BadUsage

DEFAULT_GAMES = 10_000
REFERENCE_STYLE = "weigher"
STYLES = ("chance", "sprinter", "builder", "weigher")

STRONGEST = "searcher:100"
"""The top of the ladder; no part of the plan's pairs, since it plays two games a second."""

LADDER = (
    ("chance", "sprinter"),
    ("chance", "builder"),
    ("sprinter", "weigher"),
    ("builder", "weigher"),
    ("weigher", STRONGEST),
)
"""Each style, and the better one above it."""

KNOWN = (0.0, 0.25, 0.5, 0.75)
"""Shares of the facts that the others know, beside one who knows all."""

HALF = 0.5
ALL_PRINTED = "all-printed"
"""In place of a freedom: the cards print every fact, so that nothing is left to know."""

_IN_FILE_NAMES = str.maketrans({":": "", "/": "_", "@": "at"})

Kind = Literal["seats", "styles", "ladder", "restricted", "knowledge", "exposure", "line-up"]


@dataclass(frozen=True, slots=True)
class Experiment:
    """One line-up, played for a number of deals in some rotations.

    ``rotations``: "one" for equal players (one game a deal), "all" for mixed ones.
    ``without``: the freedom that is taken away (`freedoms`), blank for the game as it is.
    """

    kind: Kind
    line_up: tuple[str, ...]
    deals: int
    without: str = ""

    @property
    def players(self) -> int:
        """Give the number of seats."""
        return len(self.line_up)

    @property
    def is_mixed(self) -> bool:
        """Tell whether different styles sit at the table."""
        return len(set(self.line_up)) > 1

    @property
    def rotations(self) -> int:
        """Give how many games are played of each deal."""
        return self.players if self.is_mixed else 1

    @property
    def name(self) -> str:
        """Give a name that is safe in a file name and unique within a plan."""
        styles = "-".join(style.translate(_IN_FILE_NAMES) for style in self.line_up)
        freedom = self.without and "-" + self.without.translate(_IN_FILE_NAMES)
        return f"{self.kind}-{styles}{freedom}"

    def to_dict(self) -> dict[str, Any]:
        """Give plain data for the result and the digest."""
        return {
            "kind": self.kind,
            "line_up": list(self.line_up),
            "deals": self.deals,
            "games": self.deals * self.rotations,
            **({"without": self.without} if self.without else {}),
        }


def make_plan(sizes: Sequence[int], games: int) -> tuple[Experiment, ...]:
    """Give the default plan for some table sizes: ``games`` a size, a quarter a pair."""
    return tuple(experiment for size in sizes for experiment in _plan_of(size, games))


def _plan_of(size: int, games: int) -> Iterator[Experiment]:
    yield Experiment("seats", (REFERENCE_STYLE,) * size, max(1, games))
    if size == 1:
        for style in STYLES:
            if style != REFERENCE_STYLE:
                yield Experiment("styles", (style,), max(1, games // 4))
        return
    for first, second in combinations(STYLES, 2):
        yield from _pair("styles", first, second, size, games // 4)


def _pair(kind: Kind, first: str, second: str, size: int, games: int) -> Iterator[Experiment]:
    """Give the experiments that set one style against another, alone among the others."""
    line_ups = [(first,) + (second,) * (size - 1), (second,) + (first,) * (size - 1)]
    if size == 2:
        line_ups = line_ups[:1]  # both rotations of one line-up are the other
    for line_up in line_ups:
        yield Experiment(kind, line_up, max(1, games // (size * len(line_ups))))


def knowledge_plan(sizes: Sequence[int], games: int, *, is_open: bool) -> tuple[Experiment, ...]:
    """Give the experiments of knowledge: ``games`` / 4 a step, at every table size.

    ``is_open``: the cards leave something to know; else all know everything by reading,
    and only the games in which facts are counted are played.
    """
    found = []
    for size in sizes:
        deals = max(1, games // 4 // size)
        if size > 1 and is_open:
            found += [
                Experiment("knowledge", (knowing(1), *[knowing(known)] * (size - 1)), deals)
                for known in KNOWN
            ]
            control = (knowing(1), *[knowing(HALF)] * (size - 1))
            found.append(Experiment("knowledge", control, deals, ALL_PRINTED))
        found.append(Experiment("exposure", (knowing(HALF),) * size, max(1, games // 4)))
    return tuple(found)


def knowing(known: float) -> str:
    """Give the reference style with a share of the facts known.

    >>> knowing(0.5), knowing(1)
    ('weigher@0.5', 'weigher')
    """
    return REFERENCE_STYLE if known == 1 else f"{REFERENCE_STYLE}@{known:g}"


def ladder_plan(
    sizes: Sequence[int], fewest: int, most: int, games: int
) -> tuple[Experiment, ...]:
    """Give the steps of the ladder that the plan of some table sizes does not play already.

    The ladder stands at two seats, or at as few as the rules allow: ``games`` / 4 a step,
    ``games`` / 50 where the searcher plays.

    Raises
    ------
    BadUsage
        The rules seat one player only.
    """
    size = max(2, fewest)
    if size > most:
        raise BadUsage(words.say("playtest.no-ladder"))
    return tuple(
        experiment
        for below, above in LADDER
        if above == STRONGEST or size not in sizes
        for experiment in _pair(
            "ladder", below, above, size, games // (50 if above == STRONGEST else 4)
        )
    )


def restricted_plan(
    sizes: Sequence[int], freedoms: Sequence[str], games: int
) -> tuple[Experiment, ...]:
    """Give what is played without each freedom: a tenth of the games at every table size."""
    return tuple(
        Experiment("restricted", (REFERENCE_STYLE,) * size, max(1, games // 10), freedom)
        for size in sizes
        for freedom in freedoms
    )


def line_up_plan(line_up: Sequence[str], games: int) -> tuple[Experiment, ...]:
    """Give the plan of one line-up of the caller's own."""
    experiment = Experiment("line-up", tuple(line_up), 1)
    return (Experiment("line-up", tuple(line_up), max(1, games // experiment.rotations)),)


def check_line_up(line_up: Sequence[str], fewest: int, most: int) -> None:
    """Refuse a line-up that cannot be played.

    Raises
    ------
    UnknownName
        A style that does not exist.
    BadUsage
        Too few or too many players.
    """
    for style in line_up:
        style_of(style)
    check_players(len(line_up), fewest, most)


def check_players(players: int, fewest: int, most: int) -> None:
    """Refuse a table size that the rules do not allow."""
    if not fewest <= players <= most:
        raise BadUsage(words.say("playtest.players", players=players, fewest=fewest, most=most))
