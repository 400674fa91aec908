"""A playtest from end to end: play the plan in blocks, measure, judge.

Long work is done in blocks; between blocks progress is told, and the playtest can be
stopped without losing what is done. The result depends on design, seed and plan only,
never on the number of workers.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial

from nervure.engine import Games, digest, joined_blocks, play
from nervure.engine.weight_sets import Weights, weights_for
from nervure.game import Game
from nervure.game.compile import compile_game
from nervure.game.tables import Tables
from nervure.playtest.freedoms import freedom_rows, tables_without
from nervure.playtest.knowledge import fact_rows, knowledge_measures, refusal_rows
from nervure.playtest.measures import game_measures, seat_shares, turn_histogram
from nervure.playtest.pace import TimedGame, seconds_per_turn
from nervure.playtest.plan import STYLES, Experiment
from nervure.playtest.rows import card_rows, target_rows
from nervure.playtest.skill import luck, skill_ladder
from nervure.playtest.styles import style_edge, style_pairs
from nervure.playtest.verdicts import judge
from nervure.records import Histogram, Measure, PlaytestResult

BLOCK_DEALS = 2_000
PRECISION_BLOCK_DEALS = 1_000
FIRST_ROUNDS = (125, 250, 500)
SHARED_DEALS = 500
SLOW, SLOW_DEALS = "searcher", 5
DEFAULT_PRECISION = 0.25

Progress = Callable[[str, int, int], None]
Stop = Callable[[], bool]


@dataclass(frozen=True)
class Played:
    """An experiment with the games that were played of it, whole deals in deal order."""

    experiment: Experiment
    games: Games


@dataclass(frozen=True)
class Evidence:
    """What the game's own proofs contribute to the judgement.

    ``difficulty``: points that rarity asks by target and strand length; ``certain``:
    measures whose value is proved.
    """

    difficulty: Mapping[str, Sequence[float]]
    certain: Mapping[str, float]


@dataclass(frozen=True)
class Onlooker:
    """Who looks on while games are played.

    ``pace``: asked before each piece of an experiment, gives the most deals that it may
    have; ``keep``: asked after each piece, True has what is done written down.
    """

    pace: Callable[[Experiment], int]
    keep: Callable[[], bool]


def play_plan(
    game: Game,
    plan: Sequence[Experiment],
    *,
    seed: int,
    workers: int = 1,
    earlier: Sequence[Played] = (),
    precise_enough: Callable[[Sequence[Played]], bool] | None = None,
    progress: Progress | None = None,
    stop: Stop | None = None,
    on_prepare: Callable[[], None] | None = None,
    pace: Callable[[Experiment], int] | None = None,
    on_piece: Callable[[Desk], None] | None = None,
) -> tuple[Played, ...]:
    """Play the games of a plan, going on after those played earlier.

    Parameters
    ----------
    earlier
        Games of the same plan, design and seed; each experiment goes on after its last deal.
    precise_enough
        Asked whenever all experiments have the same thousands of deals, or all of theirs;
        True ends the playtest early. What was stopped and goes on ends where it would have
        ended without the stop.
    progress
        Told (step, done games, all games) after each piece.
    stop
        Asked before each piece; True ends with what is done.
    on_prepare
        Called once if the engine has to be compiled first, which takes some seconds.
    pace
        Gives the most deals of the next piece; without it a piece is a whole round.
    on_piece
        Given all that is done, after each piece.
    """
    tables: dict[tuple[int, str], Tables] = {}
    desk = Desk(plan, earlier)
    block = PRECISION_BLOCK_DEALS if precise_enough else BLOCK_DEALS
    total = sum(experiment.deals * experiment.rotations for experiment in plan)
    # Rounds through the plan, so that a stop leaves every experiment with some games.
    while desk.open_ones:
        end = round_end(min(map(desk.deals, desk.open_ones)), block)
        for experiment in desk.open_ones:
            last = min(end, experiment.deals)
            while (first := desk.deals(experiment)) < last:
                if stop is not None and stop():
                    return desk.played()
                deals = min(last - first, _most_deals(experiment, workers))
                if pace is not None:
                    deals = max(1, min(deals, pace(experiment)))
                design = (experiment.players, experiment.without)
                if design not in tables:
                    tables[design] = _tables(game, tables, *design)
                playing = partial(
                    play,
                    tables[design],
                    experiment.line_up,
                    weights=_weights(tables, experiment),
                    facts=experiment.kind == "exposure",
                    seed=seed,
                    rotations="all" if experiment.is_mixed else "one",
                    on_prepare=on_prepare,
                )
                desk.add(experiment, _shared_out(playing, first, deals, workers))
                if progress is not None:
                    progress(experiment.kind, desk.finished, total)
                if on_piece is not None:
                    on_piece(desk)
        is_level = end % block == 0 or not desk.open_ones
        if precise_enough is not None and is_level and precise_enough(desk.played()):
            break
    return desk.played()


def _tables(game: Game, made: dict[tuple[int, str], Tables], players: int, without: str) -> Tables:
    whole = made.get((players, "")) or compile_game(game, players)
    made[players, ""] = whole
    return tables_without(whole, without) if without else whole


def _weights(
    made: Mapping[tuple[int, str], Tables], experiment: Experiment
) -> dict[int, Weights] | None:
    """Give a changed design the weights of the whole one: the same player plays both."""
    if not experiment.without:
        return None
    own = weights_for(made[experiment.players, ""])
    return dict.fromkeys(range(experiment.players), own)


def _shared_out(playing: Callable[..., Games], first: int, deals: int, workers: int) -> Games:
    """Play deals; a piece too small for the engine to share it out is shared out here.

    The engine hands its threads hundreds of games, which slow styles take minutes for. The
    first piece of an experiment is left to it, since it may have to be compiled first.
    """
    if first == 0 or workers < 2 or deals > SHARED_DEALS:
        return playing(first_deal=first, deals=deals, workers=workers)
    share = -(-deals // workers)
    starts = range(first, first + deals, share)
    with ThreadPoolExecutor(workers) as pool:
        parts = pool.map(
            lambda start: playing(first_deal=start, deals=min(share, first + deals - start)),
            starts,
        )
        return joined_blocks(list(parts))


def _most_deals(experiment: Experiment, workers: int) -> int:
    """Give how many deals may be played in one go, so that stopping never takes long."""
    slow = any(style.startswith(SLOW) for style in experiment.line_up)
    return SLOW_DEALS * workers if slow else BLOCK_DEALS


def round_end(deals: int, block: int) -> int:
    """Give the deal up to which the next round goes: short ones first, then whole blocks.

    >>> [round_end(deals, 2000) for deals in (0, 125, 300, 500, 2000, 2500)]
    [125, 250, 500, 2000, 4000, 4000]
    """
    return next((end for end in FIRST_ROUNDS if deals < end), (deals // block + 1) * block)


class Desk:
    """What is played of a plan so far."""

    def __init__(self, plan: Sequence[Experiment], earlier: Sequence[Played] = ()) -> None:
        self._plan = tuple(plan)
        self._blocks: dict[str, list[Games]] = {
            _key(part.experiment): [part.games] for part in earlier
        }
        self.finished = sum(len(part.games) for part in earlier)

    def add(self, experiment: Experiment, games: Games) -> None:
        """Add the games that come next of an experiment."""
        self._blocks.setdefault(_key(experiment), []).append(games)
        self.finished += len(games)

    def deals(self, experiment: Experiment) -> int:
        """Give how many deals of an experiment are played."""
        games = sum(map(len, self._blocks.get(_key(experiment), ())))
        return games // experiment.rotations

    @property
    def open_ones(self) -> list[Experiment]:
        """The experiments that have deals left."""
        return [e for e in self._plan if self.deals(e) < e.deals]

    def played(self) -> tuple[Played, ...]:
        """Give the games by experiment, those without any left out."""
        found = []
        for experiment in self._plan:
            blocks = self._blocks.get(_key(experiment))
            if blocks:
                blocks[:] = [joined_blocks(blocks)]
                found.append(Played(experiment, blocks[0]))
        return tuple(found)


def _key(experiment: Experiment) -> str:
    return experiment.name + str(experiment.players)


def plan_text(plan: Sequence[Experiment], seed: int) -> str:
    """Give the plan as canonical text, for the digest and for going on with it."""
    line_ups = [
        [experiment.kind, list(experiment.line_up), *filter(None, [experiment.without])]
        for experiment in plan
    ]
    return json.dumps([seed, line_ups], separators=(",", ":"))


def plan_key(plan: Sequence[Experiment], seed: int) -> str:
    """Give a short name of a plan."""
    return hashlib.sha256(plan_text(plan, seed).encode()).hexdigest()[:12]


def summarize(
    game: Game,
    played: Sequence[Played],
    plan: Sequence[Experiment],
    *,
    seed: int,
    evidence: Evidence,
    precision: float | None = None,
    stopped: bool = False,
    recorded: Sequence[TimedGame] = (),
) -> PlaytestResult:
    """Measure and judge what was played.

    ``recorded``: games of people, for the seconds that a turn takes.
    """
    equal = [part for part in played if not part.experiment.is_mixed and _is_reference(part)]
    means = {part.experiment.players: float(part.games.turns.mean()) for part in equal}
    seconds = seconds_per_turn(game, means, recorded)
    by_experiment = {part.experiment: part.games for part in played}
    measures = _measures(game, played, seconds)
    verdicts = judge(game.goals.ranges, measures, evidence.certain)
    blocks = [part.games for part in equal]
    return PlaytestResult(
        title=game.title,
        design=game.version,
        games=sum(len(part.games) for part in played),
        seed=seed,
        plan=tuple(
            experiment.to_dict() | {"name": experiment.name, "played": _count(played, experiment)}
            for experiment in plan
        ),
        measures=tuple(measures),
        verdicts=verdicts,
        styles=tuple(pair for size in _sizes(played) for pair in style_pairs(by_experiment, size)),
        targets=target_rows(
            blocks, game.targets, game.rules.claim_minimum, game.points_of, evidence.difficulty
        )
        if blocks
        else (),
        cards=card_rows(blocks, game.hand_kinds) if blocks else (),
        lengths=_histograms(equal),
        seats={
            str(part.experiment.players): seat_shares(part.games)
            for part in equal
            if part.experiment.players > 1
        },
        seconds_per_turn=seconds,
        open=_too_wide(_to_play(game, evidence), measures, precision or DEFAULT_PRECISION),
        digest=digest([part.games for part in played], game.version, plan_text(plan, seed)),
        stopped=stopped,
        facts=fact_rows(game, by_experiment),
        refusals=refusal_rows(by_experiment),
        restricted=freedom_rows([(part.experiment, part.games) for part in played]),
    )


def _is_reference(part: Played) -> bool:
    return part.experiment.kind in ("seats", "line-up")


def _measures(game: Game, played: Sequence[Played], seconds: float) -> list[Measure]:
    found = [
        measure
        for part in played
        if _is_reference(part)
        for measure in game_measures(part.games, part.experiment.rotations, seconds)
    ]
    by_experiment = {part.experiment: part.games for part in played}
    able = [style for style in STYLES if style != "chance"]
    for size in _sizes(played):
        compared = (
            style_edge(by_experiment, size, able),
            skill_ladder(by_experiment, size),
            luck(by_experiment, size),
        )
        found += [measure for measure in compared if measure is not None]
        found += knowledge_measures(game, by_experiment, size)
    return found


def _sizes(played: Sequence[Played]) -> list[int]:
    return sorted({part.experiment.players for part in played})


def _to_play(game: Game, evidence: Evidence) -> dict[str, tuple[float, float]]:
    """Give the goals that games must settle: those that are not proved already."""
    return {goal: ends for goal, ends in game.goals.ranges.items() if goal not in evidence.certain}


def _histograms(parts: Sequence[Played]) -> tuple[Histogram, ...]:
    return tuple(turn_histogram([part.games]) for part in parts)


def _count(played: Sequence[Played], experiment: Experiment) -> int:
    return sum(len(part.games) for part in played if part.experiment == experiment)


def _too_wide(
    goals: Mapping[str, tuple[float, float]], measures: Sequence[Measure], precision: float
) -> tuple[str, ...]:
    """Name the goals whose interval is wider than a share of the goal's width."""
    return tuple(
        goal
        for goal, (low, high) in goals.items()
        if any(
            measure.name == goal
            and measure.interval[1] - measure.interval[0] > precision * (high - low)
            for measure in measures
        )
    )


def enough(game: Game, precision: float, evidence: Evidence) -> Callable[[Sequence[Played]], bool]:
    """Give the test for sequential stopping: every goal's interval narrower than a share.

    Goals that are proved already need no games.

    References
    ----------
    After Chow YS, Robbins H. On the asymptotic theory of fixed-width sequential
    confidence intervals for the mean. Ann Math Stat 1965;36:457-462: stop on width,
    never on significance; coverage is approximate.
    """
    goals = _to_play(game, evidence)

    def is_enough(played: Sequence[Played]) -> bool:
        measures = _measures(game, played, float(game.goals.seconds_per_turn))
        return not _too_wide(goals, measures, precision)

    return is_enough
