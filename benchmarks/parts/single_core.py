"""Decisions and games a second on one core: styles, hand-written C, a general library."""

from __future__ import annotations

import random
import time
from collections.abc import Sequence
from importlib import metadata
from pathlib import Path
from types import ModuleType
from typing import Any

from parts.clock import Contender, Count, one_core, take_turns
from parts.designs import DEMO
from parts.page import Section, ratio
from yardstick import build

from nervure.engine import STYLES, Games, Position, play
from nervure.game.tables import Rule, Tables

LEAST_OVER_STEPS = 40
LIBRARY_GAMES = ("hearts", "crazy_eights", "go_fish")
STEP_GAMES = 20


def count_of(games: Games, seconds: float) -> Count:
    """Give seconds, games, decisions and unforced decisions of played games."""
    decisions = int(games.decisions.sum())
    return seconds, len(games), decisions, decisions - int(games.forced.sum())


def engine(tables: Tables, style: str) -> Contender:
    """Give the engine playing a style in every seat."""

    def run(games: int) -> Count:
        begun = time.process_time()
        played = play(tables, [style] * tables.seats, seed=1, deals=games)
        return count_of(played, time.process_time() - begun)

    return Contender(style, run)


def in_c(program: Path, table_file: Path, name: str) -> Contender:
    """Give the yardstick playing the same games as the engine's style chance."""

    def run(games: int) -> Count:
        found = build.run(program, table_file, seed=1, deals=games)[0]
        return found.seconds, found.games, found.decisions, found.choices_made

    return Contender(name, run)


def by_steps(tables: Tables) -> Contender:
    """Give the engine stepped through from Python, as the table in the browser does it."""

    def run(games: int) -> Count:
        begun, total, free = time.process_time(), 0, 0
        games = min(games, STEP_GAMES)
        for deal in range(games):
            position = Position.start(tables, 1, deal)
            while not position.finished:
                position.apply(position.choose(["chance"] * tables.seats))
                total += 1
            free += total - int(position.result().forced.sum())
        return time.process_time() - begun, games, total, free

    return Contender("steps", run)


def library_bots(library: ModuleType, name: str) -> Contender:
    """Give whole games between the library's C++ bots; only they are in the time."""
    game = library.load_game(name)
    bots = [library.make_uniform_random_bot(p, p) for p in range(game.num_players())]

    def run(games: int) -> Count:
        states = [game.new_initial_state() for _ in range(games)]
        begun = time.process_time()
        for number, state in enumerate(states):
            library.evaluate_bots(state, bots, number)
        seconds = time.process_time() - begun
        sample = states[:50]
        made = sum(_decisions(state) for state in states)
        free = sum(_unforced(game, state) for state in sample)
        return seconds, games, made, round(made * free / sum(map(_decisions, sample)))

    return Contender(f"{name}, bots", run)


def library_rollouts(library: ModuleType, name: str) -> Contender:
    """Give the library's fastest path: random rollouts in C++ from just after a deal.

    Decisions are those of the rollouts of the same position by the library's bots.
    """
    game = library.load_game(name)
    state, chance = game.new_initial_state(), random.Random(1)
    while state.is_chance_node():
        state.apply_action(chance.choice([action for action, _ in state.chance_outcomes()]))
    bots = [library.make_uniform_random_bot(p, p) for p in range(game.num_players())]
    ends = [state.clone() for _ in range(300)]
    for number, end in enumerate(ends):
        library.evaluate_bots(end, bots, number)
    made = sum(map(_decisions, ends)) / len(ends)
    free = sum(_unforced(game, end) for end in ends[:50]) / 50

    def run(games: int) -> Count:
        evaluator = library.RandomRolloutEvaluator(games, 1)
        bot = library.MCTSBot(game, evaluator, 2.0, 1, 100, False, 1, False)
        begun = time.process_time()
        bot.step(state)
        return time.process_time() - begun, games, round(games * made), round(games * free)

    return Contender(f"{name}, rollouts", run)


def _decisions(state: Any) -> int:
    return sum(action.player >= 0 for action in state.full_history())


def _unforced(game: Any, state: Any) -> int:
    again, free = game.new_initial_state(), 0
    for action in state.full_history():
        free += action.player >= 0 and len(again.legal_actions()) > 1
        again.apply_action(action.action)
    return free


def library_contenders() -> tuple[str, list[Contender]]:
    """Give the library's name and version with its contenders, or why there are none."""
    try:
        import pyspiel  # late: not needed by anything else, and seldom installed
    except ImportError:
        return "not run: OpenSpiel is not installed (`pip install open_spiel`)", []
    found = [make(pyspiel, n) for n in LIBRARY_GAMES for make in (library_bots, library_rollouts)]
    return f"OpenSpiel {metadata.version('open_spiel')}", found


def measure(
    games: dict[str, Tables], folder: Path, repeats: int, seconds: float
) -> tuple[list[Section], bool]:
    """Play everything on one core, in turns; gives the sections, and whether all is well."""
    styles = {(n, style): engine(t, style) for n, t in games.items() for style in STYLES}
    c, notes = {}, []
    if build.compiler() is None:
        notes.append("C: not run, no C compiler on this machine.")
    else:
        whole = build.compile_yardstick(folder)
        lean = build.compile_yardstick(folder, lean=True)
        for name, tables in games.items():
            reason = build.why_not(tables)
            if reason:
                notes.append(f"C, {name}: not run, {reason}.")
                continue
            build.write_tables(tables, folder / f"{name}.tables")
            c[name] = [
                in_c(program, folder / f"{name}.tables", title)
                for program, title in ((whole, "C"), (lean, "C, results only"))
            ]
    steps = by_steps(games[DEMO])
    library_name, library = library_contenders()
    # Side by side, so that what disturbs one disturbs all.
    order = [*styles.values(), *(k for pair in c.values() for k in pair), steps, *library]
    with one_core() as pinned:
        take_turns(order, repeats, seconds)
    notes.append(f"Best of {repeats} turns of about {seconds:g} s, {SIDE[pinned]}.")
    chance = styles[DEMO, "chance"]
    over_steps = steps.decision / chance.decision
    sections = [
        _ratios(styles, c, library, library_name, over_steps),
        _styles(styles, c),
        _others(library, library_name),
    ]
    sections[1].notes.extend(notes)
    return sections, over_steps >= LEAST_OVER_STEPS


SIDE = {True: "all on one core", False: "not kept on one core, this system has no way to"}


def _ratios(
    styles: dict[tuple[str, str], Contender],
    c: dict[str, list[Contender]],
    library: Sequence[Contender],
    library_name: str,
    over_steps: float,
) -> Section:
    rows: list[tuple[str, Contender, float]] = []
    for name, (whole, lean) in c.items():
        own = styles[name, "chance"].decision
        rows.append((f"{name}: time of chance, C that leaves the same columns = 1", whole, own))
        rows.append((f"{name}: the same, C without the counts by card and target = 1", lean, own))
    chance = styles[DEMO, "chance"]
    lines = [[what, ratio(own / other.decision)] for what, other, own in rows]
    for kind in ("bots", "rollouts"):
        found = [contender for contender in library if contender.name.endswith(kind)]
        for column, word in ((2, "decisions/s"), (3, "decisions/s not forced")):
            if found:
                best = max(found, key=lambda contender: contender.rate(column))
                what = f"{DEMO}: {word} of chance, {library_name} {best.name} (its fastest) = 1"
                lines.append([what, ratio(chance.rate(column) / best.rate(column))])
    for style in STYLES[1:]:
        other = styles[DEMO, style].decision
        lines.append(
            [f"{DEMO}: time of a decision of {style}, chance = 1", ratio(other / chance.decision)]
        )
    what = f"{DEMO}: decisions/s of chance, `Position` = 1 (least {LEAST_OVER_STEPS})"
    lines.append([what, ratio(over_steps)])
    return Section("Ratios, one core", ["what", "ratio"], lines)


def _line(contender: Contender) -> list[str]:
    _, _, made, free = contender.best
    spread = sorted(contender.turns)[len(contender.turns) // 2] / contender.decision
    return [
        f"{contender.rate(2) / 1e6:.2f} M",
        f"{contender.rate(3) / 1e6:.2f} M",
        f"{contender.rate(1):,.0f}",
        f"{made / contender.best[1]:.0f}",
        f"{free / made:.0%}",
        f"{spread:.2f}",
    ]


COLUMNS = [
    "decisions/s",
    "not forced/s",
    "games/s",
    "decisions a game",
    "not forced",
    "median ÷ best",
]


def _styles(styles: dict[tuple[str, str], Contender], c: dict[str, list[Contender]]) -> Section:
    rows = []
    for (name, style), contender in styles.items():
        rows.append([name, style, *_line(contender)])
        if style == STYLES[-1]:
            rows += [[name, k.name, *_line(k)] for k in c.get(name, [])]
    return Section(
        "Decisions and games a second, one core, four seats (limits: six)",
        ["design", "player", *COLUMNS],
        rows,
        [],
    )


def _others(library: Sequence[Contender], name: str) -> Section:
    rows = [[k.name, *_line(k)] for k in library]
    return Section(f"A general library of games: {name}", ["game", *COLUMNS], rows, [])


def sizes(games: dict[str, Tables]) -> Section:
    """Tell how large the designs are."""
    header = ["design", "tiers", "structures", "placed kinds", "targets", "part cards", "strands"]
    rows = [
        [
            name,
            *(
                f"{n:,}"
                for n in (
                    len(tables.tiers),
                    int(tables.rules[Rule.STRUCTURES]),
                    len(tables.placed_kinds),
                    len(tables.targets),
                    len(tables.card_kinds),
                    len(tables.strands),
                )
            ),
        ]
        for name, tables in games.items()
    ]
    return Section("The designs", header, rows)
