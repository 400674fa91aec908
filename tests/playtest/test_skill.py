"""The ladder and luck, from results laid out by hand and against scipy."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import scipy.stats

from nervure.engine import Games
from nervure.errors import BadUsage
from nervure.playtest import Experiment
from nervure.playtest.plan import STRONGEST, ladder_plan, make_plan
from nervure.playtest.skill import luck, skill_ladder
from nervure.playtest.statistics import correlation
from nervure.playtest.verdicts import judge
from nervure.records import Measure, say_ladder


def duel(make_games: Any, wins: int, losses: int) -> Games:
    """Games of two players, two rotations a deal: player 0 wins both or loses both."""
    deals = wins + losses
    first = [deal < wins for deal in range(deals)]
    return make_games(
        2 * deals,
        player=[[0, 1], [1, 0]] * deals,
        share=[
            seats for won in first for seats in ([[60, 0], [0, 60]] if won else [[0, 60], [60, 0]])
        ],
    )


def climbed(make_games: Any, top: tuple[int, int] = (6, 4)) -> Measure:
    """A ladder of three steps: 9 of 10, 17 of 20, and the given wins and losses of the top."""
    ladder = skill_ladder(
        {
            Experiment("styles", ("chance", "sprinter"), 10): duel(make_games, 1, 9),
            Experiment("styles", ("chance", "builder"), 20): duel(make_games, 3, 17),
            Experiment("ladder", ("weigher", STRONGEST), 10): duel(make_games, *top[::-1]),
        },
        2,
    )
    assert ladder is not None
    return ladder


def test_the_ladder_tells_its_smallest_step(make_games: Any) -> None:
    # Edges: 9/10 - 1/2 = 0.4; 17/20 - 1/2 = 0.35; 6/10 - 1/2 = 0.1.
    assert climbed(make_games).value == pytest.approx(0.1)


def test_each_step_of_the_ladder_has_its_share_of_the_wins(make_games: Any) -> None:
    steps = climbed(make_games).details["steps"]

    assert {(s["style"], s["below"]): s["share"] for s in steps} == pytest.approx(
        {("sprinter", "chance"): 0.9, ("builder", "chance"): 0.85, (STRONGEST, "weigher"): 0.6}
    )


def test_the_ends_of_a_step_are_those_of_its_share_corrected_for_the_steps(
    make_games: Any,
) -> None:
    # Wilson's interval at z of 1 - 0.05/6 two-sided, with p(1-p)/SE^2 cases: the standard
    # error is over 10 deals, s^2 = 0.09 * 10/9, so 0.09 / (0.1/10) = 9 cases.
    z = scipy.stats.norm.ppf(1 - 0.05 / 6)
    centre = (0.9 + z * z / 18) / (1 + z * z / 9)
    half = z * (0.9 * 0.1 / 9 + z * z / 324) ** 0.5 / (1 + z * z / 9)

    (step,) = [s for s in climbed(make_games).details["steps"] if s["style"] == "sprinter"]

    assert step["interval"] == pytest.approx([centre - half, centre + half])


def test_a_step_is_clear_when_its_interval_leaves_one_half_out(make_games: Any) -> None:
    steps = climbed(make_games).details["steps"]

    assert {s["style"]: s["clear"] for s in steps} == {
        "sprinter": True,
        "builder": True,
        STRONGEST: False,
    }


def test_the_verdict_names_the_steps_that_are_clear_and_those_that_are_not(
    make_games: Any,
) -> None:
    (verdict,) = judge({"skill_ladder": (0.05, 0.5)}, [climbed(make_games)])

    clear, _, unclear = verdict.sentence.partition("not clear of it: ")
    assert "builder over chance" in clear
    assert f"{STRONGEST} over weigher" in unclear
    assert "builder over chance" not in unclear


def test_a_flat_ladder_is_said_to_be_flat(make_games: Any) -> None:
    flat = skill_ladder(
        {Experiment("ladder", ("weigher", STRONGEST), 20): duel(make_games, 10, 10)}, 2
    )

    assert flat is not None
    assert "flat" in say_ladder(flat)


def test_at_two_seats_the_plan_lacks_only_the_step_of_the_searcher() -> None:
    (step,) = ladder_plan((2, 3), 2, 4, 10_000)

    # 200 games: 100 deals in both rotations.
    assert step == Experiment("ladder", ("weigher", STRONGEST), 100)


def test_where_two_seats_are_not_in_the_plan_every_step_is_played() -> None:
    steps = ladder_plan((4,), 2, 4, 10_000)

    assert [step.line_up for step in steps] == [
        ("chance", "sprinter"),
        ("chance", "builder"),
        ("sprinter", "weigher"),
        ("builder", "weigher"),
        ("weigher", STRONGEST),
    ]


def test_the_plan_and_the_ladder_have_names_of_their_own() -> None:
    plan = make_plan((2, 3, 4), 1000) + ladder_plan((2, 3, 4), 2, 4, 1000)

    names = [(experiment.name, experiment.players) for experiment in plan]
    assert len(set(names)) == len(names)


def test_a_game_for_one_has_no_ladder() -> None:
    with pytest.raises(BadUsage, match="one player"):
        ladder_plan((1,), 1, 1, 100)


def swapped(make_games: Any, margins: list[tuple[int, int]]) -> dict[Experiment, Games]:
    """Deals by the first seat's margin: with builder in it, then with weigher in it."""
    points = [[30 + margin, 30] for deal in margins for margin in deal]
    games = make_games(len(points), player=[[0, 1], [1, 0]] * len(margins), points=points)
    return {Experiment("styles", ("builder", "weigher"), len(margins)): games}


MARGINS = [(3, 5), (-2, 1), (7, 4), (0, 2), (-6, -1), (4, -3), (1, 1), (2, 6)]


def test_luck_is_the_correlation_of_scipy(make_games: Any) -> None:
    found = luck(swapped(make_games, MARGINS), 2)

    assert found is not None
    assert found.value == pytest.approx(scipy.stats.pearsonr(*zip(*MARGINS, strict=True))[0])


def test_the_interval_of_luck_is_that_of_scipy(make_games: Any) -> None:
    found = luck(swapped(make_games, MARGINS), 2)

    ends = scipy.stats.pearsonr(*zip(*MARGINS, strict=True)).confidence_interval(0.95)
    assert found is not None
    assert found.interval == pytest.approx((ends.low, ends.high))


def test_a_better_style_alone_is_no_luck(make_games: Any) -> None:
    # Weigher is five points better in every deal, whatever the deal: the means drop out.
    better = [(first, second + 5) for first, second in MARGINS]

    plain, shifted = (luck(swapped(make_games, m), 2) for m in (MARGINS, better))

    assert plain is not None
    assert shifted is not None
    assert shifted.value == pytest.approx(plain.value)


def test_where_the_deal_decides_all_luck_is_one(make_games: Any) -> None:
    found = luck(swapped(make_games, [(m, m) for m, _ in MARGINS]), 2)

    assert found is not None
    assert found.value == pytest.approx(1)


def test_luck_is_asked_of_two_seats_only(make_games: Any) -> None:
    assert luck(swapped(make_games, MARGINS), 3) is None


def test_margins_that_never_differ_have_no_luck(make_games: Any) -> None:
    assert luck(swapped(make_games, [(1, 1)] * 5), 2) is None


def test_a_correlation_of_few_deals_by_hand() -> None:
    # x = 1 2 3 4, y = 1 3 2 4: sums of products about the means 4, of squares 5 and 5: r = 0.8;
    # Fisher: tanh(1.0986 +- 1.95996 / 1) with one degree left.
    value, interval = correlation(np.array([1.0, 2, 3, 4]), np.array([1.0, 3, 2, 4]))

    assert value == pytest.approx(0.8)
    assert interval == pytest.approx((-0.6970, 0.9956), abs=5e-4)
