"""What the sentence on the page asks for: fields of a form to options of a playtest.

Comes in: text as a browser, or anybody, sends it. Goes out: `nervure.playtest.Options` as
plain data that a job keeps. Each refusal says what would be accepted.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from nervure import words
from nervure.engine import STYLES, style_of
from nervure.errors import BadUsage, NervureError, UnknownName
from nervure.game import Game
from nervure.playtest import Options
from nervure.playtest.plan import DEFAULT_GAMES, REFERENCE_STYLE
from nervure.playtest.request import MOST_GAMES, plan_of
from nervure.records import PlaytestResult, say_count

SEARCHERS = ("searcher:20", "searcher:100")
KNOWLEDGE = ("1", "0.75", "0.5", "0.25", "0")
UNTIL = ("", "0.5", "0.25", "0.1")
PLAN, LINE_UP = "plan", "line-up"
MOST_SEED = 2**64 - 1
_BLANKS = str.maketrans("", "", " \t\u00a0\u202f\u2009'_")


@cache
def knows_knowledge() -> bool:
    """Tell whether the engine plays styles that know a part of the map."""
    try:
        style_of("builder@0.5")
    except NervureError:
        return False
    return True


def styles() -> tuple[str, ...]:
    """Give the styles that are offered, each of which the engine plays."""
    return (*STYLES, *SEARCHERS)


def knowledge() -> tuple[str, ...]:
    """Give the shares of the map that a player may know; none where the engine has no such."""
    return KNOWLEDGE if knows_knowledge() else ()


def options_of(game: Game, form: Mapping[str, str], seats: Sequence[tuple[str, str]]) -> Options:
    """Give what a form asks for.

    Parameters
    ----------
    game
        That is to be played: its number of players.
    form
        ``what``, ``players``, ``games``, ``until``, ``seed``, each as text, blank where open.
    seats
        Style and knowledge of each seat; those past the number of players are not looked at.

    Raises
    ------
    BadUsage
        A field that does not fit; the message says what would.
    """
    what = form.get("what", PLAN)
    if what not in (PLAN, LINE_UP):
        raise BadUsage(words.say("web.playtest.no-what", value=shown(what)))
    players = whole("players", form.get("players", ""), *game.rules.players)
    line_up = None
    if what == LINE_UP:
        if players is None:
            raise BadUsage(words.say("web.playtest.no-players"))
        if len(seats) < players:
            raise BadUsage(words.say("web.playtest.no-seats", players=players, count=len(seats)))
        line_up = tuple(_seat(*seat) for seat in seats[:players])
    until = form.get("until", "")
    if until not in UNTIL:
        raise BadUsage(words.say("web.playtest.no-until", value=shown(until)))
    options = Options(
        seats=line_up,
        players=players,
        games=whole("games", form.get("games", ""), 1, MOST_GAMES),
        precision=float(until) if until else None,
        seed=_seed(form.get("seed", "")),
    )
    plan_of(game, options)
    return options


def _seat(style: str, knows: str) -> str:
    if style not in styles():
        raise UnknownName(words.say("playtest.style"), shown(style), styles())
    if knows in ("", "1"):
        return style
    if knows not in knowledge():
        raise BadUsage(words.say("web.playtest.no-knowledge", value=shown(knows)))
    return f"{style}@{knows}"


def _seed(text: str) -> int:
    found = whole("seed", text, 0, MOST_SEED)
    return 1 if found is None else found


def whole(name: str, text: str, low: int, high: int) -> int | None:
    """Give a whole number that was typed, blanks between its figures allowed; None if blank.

    >>> whole("games", "10 000", 1, 100_000), whole("games", " ", 1, 100_000)
    (10000, None)
    """
    plain = text.translate(_BLANKS)
    if not plain:
        return None
    if not (plain.isascii() and plain.isdecimal()) or len(plain) > 20:
        raise _out_of_range(name, text, low, high)
    value = int(plain)
    if not low <= value <= high:
        raise _out_of_range(name, text, low, high)
    return value


def _out_of_range(name: str, text: str, low: int, high: int) -> BadUsage:
    return BadUsage(
        words.say(
            "playtest.out-of-range",
            name=words.say(f"web.playtest.name-{name}"),
            value=shown(text),
            low=say_count(low),
            high=say_count(high),
        )
    )


def shown(text: str) -> str:
    """Give what was sent, short enough to be shown back."""
    return repr(text if len(text) <= 40 else text[:40] + "…")


def to_job(options: Options, game: Game) -> dict[str, Any]:
    """Give options as plain data, with the design that they were asked for."""
    return {
        "seats": None if options.seats is None else list(options.seats),
        "players": options.players,
        "games": options.games,
        "precision": options.precision,
        "seed": options.seed,
        "design": game.version,
    }


def filled_in(asked: Mapping[str, Any] | None, game: Game) -> dict[str, Any]:
    """Give what the sentence shows: what was asked last, else the defaults."""
    given = dict(asked or {})
    fewest, most = game.rules.players
    line_up = given.get("seats")
    seats = [seat.partition("@") for seat in line_up or ()]
    seats += [(REFERENCE_STYLE, "", "")] * (most - len(seats))
    players = given.get("players") or (len(line_up) if line_up else None)
    precision = given.get("precision")
    games = given.get("games", DEFAULT_GAMES)
    return {
        "what": LINE_UP if line_up else PLAN,
        "players": players if players and fewest <= players <= most else "",
        "games": "" if games is None else games,
        "until": next((u for u in UNTIL if u and float(u) == precision), ""),
        "seed": given.get("seed", 1),
        "seats": [(style, knows or "1") for style, _, knows in seats[:most]],
    }


def asked_by(result: PlaytestResult, game: Game) -> dict[str, Any] | None:
    """Give the options that a result answers, to play on; None where they cannot be told.

    ``games``: those of the first part of its plan, as they were asked for.
    """
    kinds = {step["kind"] for step in result.plan}
    if kinds == {"line-up"}:
        (step,) = result.plan
        return {"seats": step["line_up"], "players": None, "games": step["games"]}
    seats = [step for step in result.plan if step["kind"] == "seats"]
    if not seats:
        return None
    sizes = [len(step["line_up"]) for step in seats]
    whole_plan = list(game.goals.players or game.rules.table_sizes)
    if sizes != whole_plan and len(sizes) > 1:
        return None
    players = None if sizes == whole_plan else sizes[0]
    return {"seats": None, "players": players, "games": seats[0]["games"]}
