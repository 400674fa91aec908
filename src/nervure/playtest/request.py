"""One playtest as a caller asks for it: options in, files and a result out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from nervure import words
from nervure.errors import BadUsage
from nervure.game import Game
from nervure.playtest.freedoms import freedoms_of
from nervure.playtest.knowledge import leaves_open
from nervure.playtest.pace import TimedGame
from nervure.playtest.plan import (
    DEFAULT_GAMES,
    Experiment,
    check_line_up,
    check_players,
    knowledge_plan,
    ladder_plan,
    line_up_plan,
    make_plan,
    restricted_plan,
)
from nervure.playtest.proofs import evidence_of
from nervure.playtest.run import (
    Desk,
    Onlooker,
    Played,
    Progress,
    Stop,
    enough,
    play_plan,
    summarize,
)
from nervure.playtest.store import (
    first_games,
    keep_earlier,
    read_games,
    write_games,
    write_result,
)
from nervure.records import PlaytestResult

PRECISION_BOUND = 200_000
MOST_GAMES = 10_000_000
MOST_WORKERS = 256


@dataclass(frozen=True, slots=True)
class Options:
    """What a caller asks for; None: the default of docs/commands.md.

    ``more``: the games on top of those of the last playtest; ``go_on``: those of them that
    are asked for again are not played again, as after a stop. ``ladder``: every step of the
    ladder of styles is played, the searcher's too; ``recorded``: games of people, for the
    seconds that a turn takes.
    """

    seats: tuple[str, ...] | None = None
    players: int | None = None
    games: int | None = None
    precision: float | None = None
    more: bool = False
    go_on: bool = False
    ladder: bool = False
    recorded: tuple[TimedGame, ...] = ()
    seed: int = 1
    workers: int = 1


def run(
    game: Game,
    folder: Path,
    options: Options,
    *,
    progress: Progress | None = None,
    stop: Stop | None = None,
    on_prepare: Callable[[], None] | None = None,
    onlooker: Onlooker | None = None,
) -> PlaytestResult:
    """Play, measure and judge; leaves result.json and the games in a folder.

    The result of an earlier playtest of another design, seed or plan is kept beside it.

    Parameters
    ----------
    onlooker
        Says how large the pieces are, and when games and result so far are written, from
        which a playtest goes on whose process was ended.

    Raises
    ------
    BadUsage
        Options that do not fit; the message says what would be accepted.
    NotPlayedYet
        The game uses a rule that the engine does not play.
    """
    plan = plan_of(game, options)
    earlier: tuple[Played, ...] = ()
    if options.more or options.go_on:
        earlier = read_games(folder, game.version, plan, options.seed)
        if options.more and not earlier:
            raise BadUsage(words.say("playtest.nothing-more", folder=folder))
    if options.more:
        plan = _longer(plan, {part.experiment: len(part.games) for part in earlier})
    else:
        earlier = _no_longer(plan, earlier)
    evidence = evidence_of(game)
    precise = None if options.precision is None else enough(game, options.precision, evidence)
    wanted = sum(experiment.deals * experiment.rotations for experiment in plan)
    keep_earlier(folder, game.version, plan, options.seed)

    def write(played: Sequence[Played], *, is_whole: bool) -> PlaytestResult:
        short = sum(len(part.games) for part in played) < wanted
        result = summarize(
            game,
            played,
            plan,
            seed=options.seed,
            evidence=evidence,
            precision=options.precision,
            recorded=options.recorded,
            stopped=short and not (is_whole and precise is not None and precise(played)),
        )
        write_games(folder, played, game.version, plan, options.seed)
        write_result(folder, result)
        return result

    def look(desk: Desk) -> None:
        if onlooker is not None and onlooker.keep():
            write(desk.played(), is_whole=False)

    played = play_plan(
        game,
        plan,
        seed=options.seed,
        workers=options.workers,
        earlier=earlier,
        precise_enough=precise,
        progress=progress,
        stop=stop,
        on_prepare=on_prepare,
        pace=None if onlooker is None else onlooker.pace,
        on_piece=look,
    )
    return write(played, is_whole=True)


def plan_of(game: Game, options: Options) -> tuple[Experiment, ...]:
    """Give the plan that the options ask for, after checking them."""
    _check(options)
    fewest, most = game.rules.players
    default = DEFAULT_GAMES if options.precision is None else PRECISION_BOUND
    games = default if options.games is None else options.games
    if options.seats is not None:
        check_line_up(options.seats, fewest, most)
        if options.ladder:
            raise BadUsage(words.say("playtest.seats-and-ladder"))
        if options.players not in (None, len(options.seats)):
            raise BadUsage(
                words.say(
                    "playtest.seats-and-players",
                    seats=len(options.seats),
                    players=options.players,
                )
            )
        return line_up_plan(options.seats, games)
    sizes: Sequence[int] = game.goals.players or game.rules.table_sizes
    if options.players is not None:
        check_players(options.players, fewest, most)
        sizes = (options.players,)
    plan = (
        make_plan(sizes, games)
        + knowledge_plan(sizes, games, is_open=leaves_open(game))
        + restricted_plan(sizes, freedoms_of(game), games)
    )
    return plan + ladder_plan(sizes, fewest, most, games) if options.ladder else plan


def _check(options: Options) -> None:
    bounds = (
        ("games", options.games, 1, MOST_GAMES),
        ("precision", options.precision, 0.001, 10),
        ("seed", options.seed, 0, 2**64 - 1),
        ("workers", options.workers, 1, MOST_WORKERS),
    )
    for name, value, low, high in bounds:
        if value is not None and not low <= value <= high:
            raise BadUsage(
                words.say("playtest.out-of-range", name=name, value=value, low=low, high=high)
            )


def _longer(plan: Sequence[Experiment], games: Mapping[Experiment, int]) -> tuple[Experiment, ...]:
    """Give the plan with its deals on top of those played; some may have none, after a stop."""
    return tuple(replace(e, deals=games.get(e, 0) // e.rotations + e.deals) for e in plan)


def _no_longer(plan: Sequence[Experiment], earlier: Sequence[Played]) -> tuple[Played, ...]:
    """Give of games that are there already those that the plan asks for."""
    most = {e: e.deals * e.rotations for e in plan}
    return tuple(
        Played(part.experiment, first_games(part.games, most[part.experiment])) for part in earlier
    )
