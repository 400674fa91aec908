"""Measures of equal players: one function a group, from the columns of played games.

Each measure has a name, unit and interval (`nervure.records.Measure`); `docs/measures.md`
says what each is. The games of one experiment come in, all of one table size.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np
import numpy.typing as npt

from nervure.engine import EndedBy, Games, Tie
from nervure.playtest.statistics import (
    FloatArray,
    largest_gap,
    mean_over_deals,
    per_deal,
    share_over_deals,
)
from nervure.records import Histogram, Interval, Measure

SIXTIETHS = 60


def game_measures(games: Games, rotations: int, seconds_per_turn: float) -> tuple[Measure, ...]:
    """Give every measure of one line-up's games.

    Parameters
    ----------
    games
        Whole deals: game g is deal g div rotations.
    seconds_per_turn
        How long a turn takes at a table of people.
    """
    make = _Maker(games, rotations)
    return tuple(
        measure
        for group in (
            _length(make, seconds_per_turn),
            _endings(make),
            _fairness(make),
            _liveliness(make),
            _scores(make),
        )
        for measure in group
    )


class _Maker:
    """Makes measures of one experiment's games, averaging within deals first."""

    def __init__(self, games: Games, rotations: int) -> None:
        self.games, self.rotations = games, rotations

    def mean(self, name: str, values: npt.ArrayLike, unit: str, **details: Any) -> Measure:
        estimate = mean_over_deals(per_deal(values, self.rotations))
        return self.made(name, estimate.value, _known(estimate.interval()), unit, **details)

    def share(self, name: str, values: npt.ArrayLike, **details: Any) -> Measure:
        estimate, interval = share_over_deals(per_deal(values, self.rotations))
        return self.made(name, estimate.value, interval, "share", **details)

    def ratio(self, name: str, over: npt.ArrayLike, under: npt.ArrayLike, unit: str) -> Measure:
        """Ratio of two sums; standard error over deals by linearisation."""
        top, bottom = per_deal(over, self.rotations), per_deal(under, self.rotations)
        value, interval = ratio_over_deals(top, bottom)
        if unit == "share":
            interval = (max(0.0, interval[0]), min(1.0, interval[1]))
        return self.made(name, value, interval, unit)

    def made(
        self, name: str, value: float, interval: Interval, unit: str, **details: Any
    ) -> Measure:
        return Measure(
            name, self.games.seats, float(value), interval, unit, len(self.games), details
        )


def ratio_over_deals(over: npt.ArrayLike, under: npt.ArrayLike) -> tuple[float, Interval]:
    """Give the ratio of two sums over deals, by linearisation; 0 of 0 is 0, without width."""
    top, bottom = np.asarray(over, dtype=np.float64), np.asarray(under, dtype=np.float64)
    total = float(bottom.sum())
    if not total:
        return 0.0, (0.0, 0.0)
    value = float(top.sum()) / total
    spread = mean_over_deals((top - value * bottom) / bottom.mean())
    low, high = spread.interval()
    return value, _known((value + low - spread.value, value + high - spread.value))


def _known(interval: Interval) -> Interval:
    """Give an interval, without limits where one deal cannot give any."""
    low, high = interval
    return (float(low), float(high)) if low == low else (-1e9, 1e9)


def _percentiles(values: npt.ArrayLike) -> dict[str, float]:
    p10, p50, p90 = (float(p) for p in np.percentile(np.asarray(values), (10, 50, 90)))
    return {"p10": p10, "p50": p50, "p90": p90}


def _length(make: _Maker, seconds: float) -> Iterator[Measure]:
    games = make.games
    turns = games.turns.astype(np.float64)
    yield make.mean("turns", turns, "turns", **_percentiles(turns))
    minutes = turns * seconds / 60
    yield make.mean("minutes", minutes, "minutes", **_percentiles(minutes))
    wait = (games.seats - 1) * seconds / 60
    yield make.made("wait", wait, (wait, wait), "minutes")
    reached = np.where(games.first_claim > 0, games.first_claim, turns[:, None] + 1)
    never = float((games.first_claim <= 0).mean())
    yield make.mean("first_claim", reached.mean(axis=1), "turns", never=never)


def _endings(make: _Maker) -> Iterator[Measure]:
    ended = make.games.ended_by
    ways = {way.name.lower().replace("_", "-"): float((ended == way).mean()) for way in EndedBy}
    yield make.share("finish", ended != EndedBy.UNFINISHED, ended_by=ways)


def _fairness(make: _Maker) -> Iterator[Measure]:
    games = make.games
    if games.seats == 1:
        return
    shares = win_shares(games)
    if make.rotations == 1:  # mixed line-ups rotate: their seats say nothing of fairness
        value, interval = largest_gap(shares)
        yield make.made("seat_gap", value, _known(interval), "share")
    tie = games.tie
    by_tie_break = float((tie == Tie.TIE_BREAK).mean())
    yield make.share("tie_share", tie == Tie.SHARED, by_tie_break=by_tie_break)
    ordered = np.sort(games.points, axis=1)
    lead = (ordered[:, -1] - ordered[:, -2]).astype(np.float64)
    first = ordered[:, -1]
    last_of_first = np.where(first > 0, ordered[:, 0] / np.maximum(first, 1), 1.0)
    yield make.mean("margin", lead, "points", last_of_first=float(last_of_first.mean()))


def _liveliness(make: _Maker) -> Iterator[Measure]:
    games = make.games
    yield make.ratio("choices", games.choices, games.decisions, "moves")
    yield make.ratio("forced", games.forced, games.decisions, "share")
    yield make.ratio("idle", games.idle, games.turns_judged, "share")
    yield make.ratio("stuck", games.stuck, games.turns_judged, "share")
    if games.seats == 1:
        return
    yield make.mean("lead_changes", games.lead_changes, "changes")
    led = games.leader_three_quarters >= 0
    seat = np.maximum(games.leader_three_quarters, 0)
    won = games.share[np.arange(len(games)), seat] / SIXTIETHS
    yield make.ratio("open_late", np.where(led, 1 - won, 0.0), led, "share")


def _scores(make: _Maker) -> Iterator[Measure]:
    games = make.games
    points = games.points.sum(axis=1)
    by_length, by_bonus = games.points_length.sum(axis=1), games.points_bonus.sum(axis=1)
    total = max(1, int(points.sum()))
    yield make.mean(
        "points",
        games.points.mean(axis=1),
        "points",
        from_length=float(by_length.sum()) / total,
        from_bonus=float(by_bonus.sum()) / total,
    )
    if points.sum() > 0:
        yield make.ratio("points_from", by_length, by_length + by_bonus, "share")
    yield make.mean("claims", games.claims.mean(axis=1), "claims")
    yield make.ratio(
        "full_claims", games.full_claims.sum(axis=1), games.claims.sum(axis=1), "share"
    )


def win_shares(games: Games) -> FloatArray:
    """Give each seat's share of the win, 0 to 1, shape (games, seats)."""
    return np.asarray(games.share, dtype=np.float64) / SIXTIETHS


def seat_shares(games: Games) -> tuple[tuple[float, Interval], ...]:
    """Give each seat's mean win share with its interval (one game a deal)."""
    shares = win_shares(games)
    found = (share_over_deals(shares[:, seat]) for seat in range(games.seats))
    return tuple((estimate.value, interval) for estimate, interval in found)


def turn_histogram(games: Iterable[Games], bins: int = 24) -> Histogram:
    """Give how many games had so many turns, in at most ``bins`` bins of whole width."""
    blocks = list(games)
    turns = np.concatenate([block.turns for block in blocks])
    low, high = int(turns.min()), int(turns.max())
    width = max(1, -(-(high - low + 1) // bins))
    edges = np.arange(low, high + width + 1, width)
    counts, _ = np.histogram(turns, bins=edges)
    return Histogram(blocks[0].seats, float(low), float(width), tuple(int(c) for c in counts))
