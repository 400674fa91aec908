"""What the page shows of a result: which games, how fresh, in parts, beside another one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

from markupsafe import Markup

from nervure.game import Game
from nervure.playtest.comparison import compare
from nervure.records import PlaytestResult, rounded_up, say_count
from nervure.report.playtest_beside import Beside, beside_line
from nervure.report.playtest_parts import PlaytestParts
from nervure.report.playtest_rows import marks_of
from nervure.report.playtest_words import Talk
from nervure.web.bench import Bench
from nervure.web.pages.playtest import asking
from nervure.web.pages.playtest.drawing import without_style
from nervure.web.pages.playtest.found import (
    Found,
    at_table,
    is_stale,
    judged_now,
    without_cards,
)


@dataclass(frozen=True)
class Showing:
    """What the templates show; None or empty where there is nothing."""

    runs: bool
    is_of_job: bool
    is_damaged: bool
    is_faulty: bool
    is_stale: bool
    last: Found | None
    parts: PlaytestParts | None
    talk: Talk | None
    result: PlaytestResult | None
    leaf: Markup | None
    marks: Sequence[str]
    sizes: Sequence[int]
    players: str
    seen: str
    further: dict[str, Any] | None
    following: str
    earlier: Sequence[Found]
    beside: Found | None
    lines: Sequence[Beside]

    def values(self) -> dict[str, Any]:
        """Give them by name."""
        return {field.name: getattr(self, field.name) for field in fields(self)}


def shown(
    bench: Bench,
    game: Game | None,
    last: Found | None,
    earlier: Sequence[Found],
    *,
    runs: bool,
    is_of_job: bool,
    is_damaged: bool,
    players: str,
    beside: str,
) -> Showing:
    """Work out what the page shows.

    Parameters
    ----------
    game
        None: it has faults, and nothing of an old result is drawn.
    last, earlier
        What is on the disk.
    runs, is_of_job
        Whether a playtest runs, and whether ``last`` is its result so far.
    is_damaged
        Whether there is a result that cannot be read.
    players, beside
        As asked for: a number of players; the name of an earlier result. What is not there
        is not shown.
    """
    result = parts = talk = leaf = None
    stale = False
    sizes: list[int] = []
    marks = [] if game is None else marks_of(game)
    if last is not None and game is not None:
        stale = is_stale(last.result, game)
        whole = last.result
        sizes = sorted({len(step["line_up"]) for step in whole.plan if step["played"]})
        result = without_cards(whole) if stale else judged_now(whole, game)
        if players.isdecimal() and len(sizes) > 1 and int(players) in sizes:
            result = at_table(result, int(players))
        else:
            players = ""
        parts, talk = PlaytestParts(result, game), Talk(game)
        if not is_of_job and parts.leaf is not None:
            leaf = Markup(without_style(parts.leaf.svg))
    others = [one for one in earlier if last is None or one.result.digest != last.result.digest]
    chosen = next((one for one in others if one.name == beside), others[0] if others else None)
    lines: list[Beside] | None = None
    if chosen is not None and result is not None and talk is not None and not is_of_job:
        lines = _lines(result, chosen, talk)
    return Showing(
        runs=runs,
        is_of_job=is_of_job,
        is_damaged=is_damaged,
        is_faulty=game is None,
        is_stale=stale,
        last=last,
        parts=parts,
        talk=talk,
        result=result,
        leaf=leaf,
        marks=marks,
        sizes=sizes,
        players=players,
        seen="" if last is None else last.result.digest[:16],
        further=_further(result, game) if not (runs or stale or players) else None,
        following=_following(bench, parts, stale=stale, runs=runs),
        earlier=others,
        beside=None if lines is None else chosen,
        lines=lines or [],
    )


def _lines(result: PlaytestResult, other: Found, talk: Talk) -> list[Beside]:
    return [
        beside_line(one.now, one.before, one.value, one.interval, talk)
        for one in compare(result, other.result)
    ]


def _further(result: PlaytestResult | None, game: Game | None) -> dict[str, Any] | None:
    """Give the form that plays on from a result: as many games again, or as a verdict asks."""
    if result is None or game is None:
        return None
    asked = asking.asked_by(result, game)
    if asked is None:
        return None
    first = result.plan[0]
    wanted = [v.more_games for v in result.verdicts if v.more_games is not None]
    done = int(first["played"])
    if result.stopped and done < asked["games"]:
        games = int(asked["games"])
    else:
        games = done + max([done, *(rounded_up(more) for more in wanted)])
    filled = asking.filled_in(asked | {"seed": result.seed}, game)
    return filled | {"games": games, "said": say_count(games)}


def _following(bench: Bench, parts: PlaytestParts | None, *, stale: bool, runs: bool) -> str:
    """Give the next thing to do."""
    say = bench.view.say
    if runs:
        return say("web.playtest.next-watch")
    if parts is None:
        return say("web.playtest.next-play")
    if stale:
        return say("web.playtest.next-stale")
    if parts.result.stopped:
        return say("web.playtest.next-go-on")
    fails = [v for v in parts.result.verdicts if v.verdict == "fails"]
    if fails:
        return say("web.playtest.next-change", goal=parts.goal_name(fails[0].goal))
    watched = [v for v in parts.result.verdicts if v.verdict == "watch"]
    if any(v.more_games is not None for v in watched):
        return say("web.playtest.next-more")
    if watched:
        return say("web.playtest.next-edge", goal=parts.goal_name(watched[0].goal))
    if not parts.result.verdicts:
        return say("web.playtest.next-goals")
    kinds = {step["kind"] for step in parts.result.plan}
    if kinds == {"line-up"} and any(v.verdict == "open" for v in parts.result.verdicts):
        return say("web.playtest.next-plan")
    return say("web.playtest.next-people")
