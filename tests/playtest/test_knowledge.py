"""Knowledge: edges from wins laid out by hand, facts counted by hand, and games in earnest."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from nervure.engine import Games, play
from nervure.game import Game, read_game
from nervure.game.compile import compile_game
from nervure.game.facts import facts_about, facts_of
from nervure.playtest import Experiment, evidence_of, judge
from nervure.playtest.freedoms import tables_without
from nervure.playtest.knowledge import (
    coverage,
    fact_rows,
    knowledge_edge,
    knowledge_measures,
    leaves_open,
    objectives,
    refusal_rows,
    sessions,
)
from nervure.playtest.plan import ALL_PRINTED, HALF, KNOWN, knowing, knowledge_plan
from nervure.playtest.store import part_name
from nervure.records import Measure

UNPRINTED = {"parts_show": "nothing", "targets_show": "nothing"}


@pytest.fixture(scope="module")
def by_heart(small_game: Game) -> Game:
    """The lock-keepers with cards that print nothing."""
    folder = small_game.folder
    rules = {**folder.settings.get("rules", {}), **UNPRINTED}
    return read_game(replace(folder, settings={**folder.settings, "rules": rules}))


def won(make_games: Any, wins: int, deals: int) -> Games:
    """Two seats, two rotations a deal: player 0 wins both games of the first deals."""
    first = [[[60, 0], [0, 60]] if deal < wins else [[0, 60], [60, 0]] for deal in range(deals)]
    return make_games(
        2 * deals,
        player=[[0, 1], [1, 0]] * deals,
        share=[seats for deal in first for seats in deal],
    )


def curve(make_games: Any, wins: dict[float, int]) -> dict[Experiment, Games]:
    return {
        Experiment("knowledge", (knowing(1), knowing(known)), 10): won(make_games, count, 10)
        for known, count in wins.items()
    }


def test_the_edge_is_what_is_won_above_an_even_share_among_those_who_know_half(
    make_games: Any,
) -> None:
    edge = knowledge_edge(curve(make_games, {0.0: 10, 0.5: 8, 0.75: 6}), 2)

    assert edge is not None
    assert edge.value == pytest.approx(8 / 10 - 1 / 2)


def test_the_curve_holds_every_step(make_games: Any) -> None:
    edge = knowledge_edge(curve(make_games, {0.75: 6, 0.0: 10, 0.5: 8}), 2)

    assert edge is not None
    steps = edge.details["curve"]
    assert [row["knows"] for row in steps] == [0.0, 0.5, 0.75]
    assert [row["edge"] for row in steps] == pytest.approx([0.5, 0.3, 0.1])


def test_the_control_is_no_step_of_the_curve(make_games: Any) -> None:
    played = curve(make_games, {0.5: 8})
    control = Experiment("knowledge", (knowing(1), knowing(HALF)), 10, ALL_PRINTED)
    played[control] = won(make_games, 5, 10)

    edge = knowledge_edge(played, 2)

    assert edge is not None
    assert edge.value == pytest.approx(0.3)
    assert edge.details["control"]["edge"] == pytest.approx(0)


def test_without_the_step_of_one_half_there_is_no_edge(make_games: Any) -> None:
    assert knowledge_edge(curve(make_games, {0.25: 8}), 2) is None


# Four games, two seats, five facts: which facts each seat enacts.
ENACTED = [
    [{0}, {0, 1}],
    [{1}, {2}],
    [set(), {0}],
    [{3}, {3, 4}],
]


def flags() -> Any:
    found = np.zeros((4, 2, 5), dtype=bool)
    for game, seats in enumerate(ENACTED):
        for seat, facts in enumerate(seats):
            found[game, seat, list(facts)] = True
    return found


def named(measures: Any) -> dict[str, Measure]:
    return {measure.name: measure for measure in measures}


def test_coverage_counts_what_anybody_at_the_table_enacts() -> None:
    # Tables: {0,1}, {1,2}, {0}, {3,4} of five facts: 2, 2, 1, 2.
    found = named(coverage(flags(), 4))

    assert found["coverage_1"].value == pytest.approx((2 + 2 + 1 + 2) / 5 / 4)


def test_coverage_of_three_games_joins_them() -> None:
    # The first three together: {0, 1, 2}; the fourth begins a session that is not whole.
    found = named(coverage(flags(), 4))

    assert found["coverage_3"].value == pytest.approx(3 / 5)


def test_an_objective_is_met_by_a_player_who_enacts_one_of_its_facts() -> None:
    # About facts {0}, and {2, 4}. Of eight players {0} is met by three, {2, 4} by two.
    found = named(objectives(flags(), [[0], [2, 4]], 4))

    assert found["objectives_1"].value == pytest.approx((3 + 2) / 2 / 8)


def test_objectives_in_three_games_are_met_by_the_same_player() -> None:
    # The first player enacts 0 and 1, the second 0, 1 and 2: {0} by both, {2, 4} by one.
    found = named(objectives(flags(), [[0], [2, 4]], 4))

    assert found["objectives_3"].value == pytest.approx((2 + 1) / 2 / 2)


def test_a_game_without_objectives_measures_none() -> None:
    assert named(objectives(flags(), [], 4)) == {}


def test_fewer_than_three_games_are_no_session() -> None:
    assert len(sessions(flags()[:2])) == 0


def test_nothing_is_left_to_know_where_all_is_printed(small_game: Game, by_heart: Game) -> None:
    assert (leaves_open(small_game), leaves_open(by_heart)) == (False, True)


def test_the_plan_of_a_printed_game_plays_no_curve() -> None:
    assert [e.kind for e in knowledge_plan((2,), 400, is_open=False)] == ["exposure"]


def test_the_plan_plays_every_step_and_the_control() -> None:
    plan = knowledge_plan((2, 3), 2400, is_open=True)

    two = [e for e in plan if e.players == 2 and e.kind == "knowledge"]
    assert [e.line_up[1] for e in two] == [*map(knowing, KNOWN), knowing(HALF)]
    assert [e.without for e in two] == [""] * 4 + [ALL_PRINTED]
    # 2400 / 4 games a step: 300 deals in two rotations, 200 in three.
    assert {e.deals * e.rotations for e in plan if e.kind == "knowledge"} == {600}
    assert len({part_name(e) for e in plan}) == len(plan)


def test_a_printed_game_needs_no_play_to_tell_what_knowledge_wins(small_game: Game) -> None:
    (verdict,) = judge({"knowledge_edge": (0.1, 0.4)}, [], evidence_of(small_game).certain)

    assert verdict.verdict == "fails"
    assert "print" in verdict.sentence


def test_where_all_is_printed_knowledge_wins_nought_without_a_game(
    small_game: Game, make_games: Any
) -> None:
    exposure = Experiment("exposure", (knowing(HALF),) * 2, 4)

    found = named(knowledge_measures(small_game, {exposure: make_games(4)}, 2))

    assert (found["knowledge_edge"].value, found["knowledge_edge"].games) == (0, 0)


@pytest.fixture(scope="module")
def earnest(by_heart: Game) -> dict[Experiment, Games]:
    """The knowledge experiments of two seats, played."""
    tables = compile_game(by_heart, 2)
    found = {}
    for experiment in knowledge_plan((2,), 480, is_open=True):
        design = tables_without(tables, experiment.without) if experiment.without else tables
        found[experiment] = play(
            design,
            experiment.line_up,
            seed=1,
            deals=experiment.deals,
            rotations="all" if experiment.is_mixed else "one",
            facts=experiment.kind == "exposure",
        )
    return found


def test_knowing_the_map_wins_the_more_the_less_the_others_know(
    earnest: dict[Experiment, Games],
) -> None:
    edge = knowledge_edge(earnest, 2)

    assert edge is not None
    steps = [row["edge"] for row in edge.details["curve"]]
    assert steps == sorted(steps, reverse=True)
    assert edge.interval[0] > 0


def test_with_everything_printed_knowledge_wins_nothing(earnest: dict[Experiment, Games]) -> None:
    edge = knowledge_edge(earnest, 2)

    assert edge is not None
    assert edge.details["control"]["edge"] == 0


def test_every_measure_of_knowledge_is_made(
    by_heart: Game, earnest: dict[Experiment, Games]
) -> None:
    found = named(knowledge_measures(by_heart, earnest, 2))

    assert set(found) == {
        "knowledge_edge",
        "coverage_1",
        "coverage_3",
        "refused",
        "untrue_claims",
    }
    assert 0 < found["coverage_1"].value < found["coverage_3"].value < 1
    assert found["untrue_claims"].value == 0  # the rules refuse them
    assert found["refused"].value > 0


def test_every_fact_has_its_row_and_is_seen_as_often_as_enacted_or_oftener(
    by_heart: Game, earnest: dict[Experiment, Games]
) -> None:
    rows = fact_rows(by_heart, earnest)

    assert [row.fact for row in rows] == [fact.text for fact in facts_of(by_heart)]
    assert all(row.enacted <= row.seen <= 2 * row.enacted + 1e-12 for row in rows)


def test_what_is_refused_is_false(by_heart: Game, earnest: dict[Experiment, Games]) -> None:
    rows = refusal_rows(earnest)

    true = {fact.text for fact in facts_of(by_heart)}
    assert rows
    assert not {row.fact for row in rows} & true
    (games,) = [games for experiment, games in earnest.items() if experiment.kind == "exposure"]
    # An attempt may rest on several false facts: no fewer counts than attempts.
    assert sum(row.count for row in rows) >= games.refused.sum()


def test_objectives_name_targets_by_their_pathways(by_heart: Game) -> None:
    facts = facts_of(by_heart)
    target = by_heart.targets[0]

    about = facts_about(facts, targets=[target])

    assert about
    assert all(target in facts[place].targets for place in about)


@pytest.mark.parametrize(
    "goal",
    [
        "knowledge_edge",
        "coverage_1",
        "coverage_3",
        "objectives_1",
        "objectives_3",
        "refused",
        "untrue_claims",
    ],
)
@pytest.mark.parametrize(
    ("value", "verdict"), [(0.5, "holds"), (0.4, "watch"), (0.9, "fails"), (0.1, "fails")]
)
def test_goals_on_knowledge_are_judged(goal: str, value: float, verdict: str) -> None:
    measure = Measure(goal, 2, value, (value - 0.01, value + 0.01), "share", 100)

    (judged,) = judge({goal: (0.4, 0.6)}, [measure])

    assert judged.verdict == verdict
    assert judged.sentence.count("{") == 0
