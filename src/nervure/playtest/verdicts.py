"""Goals against measures: the whole interval is compared with the wanted range.

holds: inside. fails: outside. watch: across an end; says how many more games would settle
it. certain: proved by `check`, not played. open: nothing measures it yet.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from nervure import words
from nervure.records import (
    SIGNED,
    Interval,
    Measure,
    Verdict,
    places_for,
    rounded_up,
    said_unit,
    say_count,
    say_figure,
    say_ladder,
    say_range,
)

MOST_MORE_GAMES = 1_000_000
_ORDER = {"fails": 0, "watch": 1, "holds": 2, "certain": 3}


def judge(
    goals: Mapping[str, tuple[float, float]],
    measures: Sequence[Measure],
    certain: Mapping[str, float] | None = None,
) -> tuple[Verdict, ...]:
    """Give a verdict for each goal, by the worst table size; failing ones first.

    Parameters
    ----------
    goals
        Wanted range by measure.
    measures
        What was measured, at every table size.
    certain
        Values that `check` has proved, by measure: no game needs to be played for them.
    """
    proved = certain or {}
    verdicts = []
    for goal, (low, high) in goals.items():
        if goal in proved:
            verdicts.append(_proved(goal, low, high, proved[goal]))
            continue
        found = [_verdict(measure, low, high) for measure in measures if measure.name == goal]
        verdicts.append(min(found, key=_badness) if found else _open(goal, low, high))
    return tuple(sorted(verdicts, key=lambda verdict: _ORDER.get(verdict.verdict, 4)))


def _badness(verdict: Verdict) -> tuple[int, float]:
    """Order by verdict, then by how far the figure lies from the middle of the range."""
    value = verdict.value or 0.0
    return (_ORDER[verdict.verdict], -abs(value - (verdict.low + verdict.high) / 2))


def state(interval: Interval, low: float, high: float) -> str:
    """Tell how an interval stands to a range: holds, fails or watch.

    >>> state((1, 2), 0, 3), state((4, 5), 0, 3), state((2, 4), 0, 3)
    ('holds', 'fails', 'watch')
    """
    if low <= interval[0] and interval[1] <= high:
        return "holds"
    if interval[1] < low or interval[0] > high:
        return "fails"
    return "watch"


def more_games(measure: Measure, low: float, high: float) -> int | None:
    """Give how many more games would settle a watch if the figure stayed where it is.

    The half-width shrinks with the square root of the games; it must become smaller than
    the distance from the figure to the nearer end. None: more than a million.
    """
    half = (measure.interval[1] - measure.interval[0]) / 2
    distance = min(abs(measure.value - low), abs(measure.value - high))
    if distance <= 0 or not math.isfinite(half):
        return None
    needed = measure.games * ((half / distance) ** 2 - 1)
    return math.ceil(needed - 1e-6) if needed <= MOST_MORE_GAMES else None


def _verdict(measure: Measure, low: float, high: float) -> Verdict:
    verdict = state(measure.interval, low, high)
    more = more_games(measure, low, high) if verdict == "watch" else None
    sentence = _sentence(measure, low, high, verdict)
    if measure.name == "skill_ladder":
        sentence = f"{sentence} {say_ladder(measure)}".strip()
    if verdict == "watch":
        key = "playtest.more-games" if more is not None else "playtest.over-a-million"
        sentence += " " + words.say(key, games=say_count(rounded_up(more or 0)))
    return Verdict(
        goal=measure.name,
        verdict=verdict,
        sentence=sentence,
        low=low,
        high=high,
        players=measure.players,
        value=measure.value,
        interval=measure.interval,
        unit=measure.unit,
        more_games=more,
    )


def _sentence(measure: Measure, low: float, high: float, verdict: str) -> str:
    unit = said_unit(measure.name, measure.unit)
    places = places_for(measure.interval, unit)
    return words.say(
        f"playtest.goal.{measure.name}.{_key(measure, high, verdict)}",
        value=say_figure(measure.value, unit, places),
        low=say_figure(measure.interval[0], unit, places),
        high=say_figure(measure.interval[1], unit, places),
        p10=say_figure(measure.details.get("p10", measure.value), unit),
        p90=say_figure(measure.details.get("p90", measure.value), unit),
        style=measure.details.get("style", ""),
        goal=say_range(low, high, unit, signed=measure.name in SIGNED),
        players=words.say("playtest.at-table", players=measure.players),
    )


def _key(measure: Measure, high: float, verdict: str) -> str:
    """Choose the sentence: within the range, watch, above or below it."""
    if verdict in ("holds", "watch"):
        return "within" if verdict == "holds" else "watch"
    return "above" if measure.value > high else "below"


def _proved(goal: str, low: float, high: float, value: float) -> Verdict:
    good = low <= value <= high
    sentence = words.say(f"playtest.goal.{goal}.certain", value=say_figure(value, "share"))
    return Verdict(
        goal=goal,
        verdict="certain" if good else "fails",
        sentence=sentence,
        low=low,
        high=high,
        players=None,
        value=value,
        interval=(value, value),
        unit="share",
    )


def _open(goal: str, low: float, high: float) -> Verdict:
    sentence = words.say("playtest.not-measured", goal=goal)
    return Verdict(goal, "open", sentence, low, high, None, None, None, "")
