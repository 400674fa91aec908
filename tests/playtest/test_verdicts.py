"""Goals against measures."""

import pytest

from nervure import words
from nervure.game.goals import GOAL_MEASURES
from nervure.playtest import judge
from nervure.playtest.verdicts import more_games, state
from nervure.records import Measure, say_figure, say_range

NOT_MEASURED_YET = {
    "knowledge_edge",
    "coverage_1",
    "coverage_3",
    "objectives_1",
    "objectives_3",
    "refused",
    "untrue_claims",
    "luck",
    "comeback",
    "suspense",
    "surprise",
}


def made(name: str, value: float, half: float, players: int = 2, unit: str = "share") -> Measure:
    return Measure(name, players, value, (value - half, value + half), unit, 1000)


@pytest.mark.parametrize(
    ("value", "half", "verdict"),
    [(0.02, 0.005, "holds"), (0.02, 0.02, "watch"), (0.05, 0.01, "fails"), (0.04, 0.02, "watch")],
)
def test_a_verdict_compares_the_whole_interval(value: float, half: float, verdict: str) -> None:
    (found,) = judge({"idle": (0, 0.03)}, [made("idle", value, half)])

    assert found.verdict == verdict


def test_the_worst_table_size_decides() -> None:
    measures = [made("idle", 0.01, 0.001, players=2), made("idle", 0.2, 0.001, players=4)]

    (found,) = judge({"idle": (0, 0.03)}, measures)

    assert (found.verdict, found.players) == ("fails", 4)


def test_a_proof_of_check_needs_no_games() -> None:
    (found,) = judge({"untrue_claims": (0, 0.005)}, [], {"untrue_claims": 0.0})

    assert (found.verdict, found.value) == ("certain", 0.0)


def test_a_goal_that_nothing_measures_stays_open() -> None:
    (found,) = judge({"luck": (0, 1)}, [])

    assert found.verdict == "open"


def test_failing_goals_come_first() -> None:
    goals = {"idle": (0.0, 0.03), "stuck": (0.0, 0.03), "forced": (0.0, 0.03)}
    measures = [made("idle", 0.01, 0.001), made("stuck", 0.5, 0.001), made("forced", 0.03, 0.01)]

    found = [verdict.verdict for verdict in judge(goals, measures)]

    assert found == ["fails", "watch", "holds"]


def test_more_games_by_hand() -> None:
    # Half-width 0.02 at 1000 games must shrink below the distance 0.01: four times the games.
    assert more_games(made("idle", 0.02, 0.02), 0, 0.03) == 3000


def test_a_figure_on_the_edge_is_never_settled() -> None:
    assert more_games(made("idle", 0.03, 0.02), 0, 0.03) is None


def test_a_whole_interval_on_the_edge_holds() -> None:
    assert state((0, 0.03), 0, 0.03) == "holds"


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.5, "share", "50 %"),
        (0, "share", "0 %"),
        (123.4, "turns", "123"),
        (0.05, "turns", "0.05"),
    ],
)
def test_figures_are_said_as_people_read_them(value: float, unit: str, text: str) -> None:
    assert say_figure(value, unit) == text


def test_a_range_is_said_by_its_open_end() -> None:
    assert say_range(0, 0.03, "share") == "at most 3 %"
    assert say_range(0.99, 1, "share") == "at least 99 %"
    assert say_range(25, 40, "minutes") == "25 to 40"


@pytest.mark.parametrize("goal", sorted(set(GOAL_MEASURES) - NOT_MEASURED_YET))
@pytest.mark.parametrize("side", ["within", "watch", "above", "below"])
def test_every_measured_goal_has_a_sentence_for_each_side(goal: str, side: str) -> None:
    assert words.has(f"playtest.goal.{goal}.{side}")
