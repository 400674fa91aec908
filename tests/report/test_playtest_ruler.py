"""Rulers of verdicts: what must be seen lies on the axis, at its place."""

import re
from itertools import pairwise

import pytest

from nervure.records import Verdict
from nervure.report.playtest_ruler import axis_limits, ruler
from nervure.report.type_widths import SANS, SANS_BOLD, width


def made(
    low: float,
    high: float,
    value: float,
    half: float,
    unit: str = "share",
    goal: str = "idle",
    word: str = "holds",
) -> Verdict:
    return Verdict(goal, word, "", low, high, 2, value, (value - half, value + half), unit)


VERDICTS = [
    made(0, 0.35, 0.66, 0.003),
    made(0.99, 1, 0.998, 0.002),
    made(0, 0.005, 0.0, 0.0),
    made(20, 45, 28.6, 0.1, "minutes"),
    made(20, 45, 17.7, 0.3, "minutes"),
    made(0.1, 0.5, -0.05, 0.07, goal="skill_ladder"),
    made(0, 0.05, 0.06, 0.06, goal="seat_gap"),
    made(3, 3, 7, 0.5, "moves"),
    made(0, 0, 0.0, 0.0),
]


@pytest.mark.parametrize("verdict", VERDICTS)
def test_goal_figure_and_interval_lie_on_the_axis(verdict: Verdict) -> None:
    low, high = axis_limits(verdict)
    factor = 100 if verdict.unit == "share" else 1
    assert verdict.value is not None
    assert verdict.interval is not None
    seen = [verdict.low, verdict.high, verdict.value, *verdict.interval]

    assert low < high
    assert all(low - 1e-9 <= factor * value <= high + 1e-9 for value in seen)


@pytest.mark.parametrize(
    ("verdict", "bounds"),
    [
        # A share has no place below 0 or above 100.
        (made(0, 0.35, 0.3, 0.01), (0, None)),
        (made(0.9, 1, 0.95, 0.01), (None, 100)),
    ],
)
def test_an_axis_ends_where_the_measure_ends(
    verdict: Verdict, bounds: tuple[float | None, float | None]
) -> None:
    for end, bound in zip(axis_limits(verdict), bounds, strict=True):
        assert bound is None or end == bound


def test_an_interval_without_limits_does_not_stretch_the_axis() -> None:
    verdict = Verdict("turns", "watch", "", 20, 40, 2, 30.0, (-1e9, 1e9), "turns")

    low, high = axis_limits(verdict)

    assert high - low < 100


@pytest.mark.parametrize(("value", "side"), [(0.2, "inside"), (0.05, "left"), (0.6, "right")])
def test_the_dot_stands_on_its_side_of_the_brackets(value: float, side: str) -> None:
    drawn = ruler(made(0.1, 0.5, value, 0.001), "key", "told", "%")

    bracket = re.search(r'd="M[\d.]+ 5H([\d.]+)V28M[\d.]+ 5H([\d.]+)V28" class="bracket"', drawn)
    dot = re.search(r'<circle cx="([\d.]+)"', drawn)
    assert bracket is not None
    assert dot is not None
    low, high, place = float(bracket[1]), float(bracket[2]), float(dot[1])
    assert {"inside": low < place < high, "left": place < low, "right": place > high}[side]


def test_a_watch_has_an_open_dot_and_a_proof_a_square() -> None:
    watched = ruler(made(0.1, 0.3, 0.3, 0.05, word="watch"), "key", "told", "%")
    proved = ruler(made(0.1, 0.3, 0.2, 0.0, word="certain"), "key", "told", "%")

    assert 'class="dot open"' in watched
    assert 'class="dot exact"' in proved
    assert "<circle" not in proved


def test_an_interval_past_the_axis_ends_in_an_arrow() -> None:
    verdict = Verdict("turns", "watch", "", 20, 40, 2, 30.0, (-1e9, 1e9), "turns")
    (path,) = re.findall(r'<path d="([^"]*)" class="interval"', ruler(verdict, "k", "t", "turns"))

    assert path.count("L") == 4  # two strokes a head, no cap
    assert "V" not in path


@pytest.mark.parametrize("verdict", VERDICTS)
def test_labels_of_an_axis_do_not_overlap(verdict: Verdict) -> None:
    drawn = ruler(verdict, "key", "told", "minutes")
    boxes = []
    for x, rest, said in re.findall(r'<text x="([\d.]+)" y="48" ([^>]*)>([^<]*)<', drawn):
        wide = width(said, 13, SANS_BOLD if "goal" in rest else SANS)
        left = float(x) - (wide if "end" in rest else 0)
        boxes.append((left, left + wide))

    boxes.sort()
    assert len(boxes) >= 2
    assert all(a[1] < b[0] for a, b in pairwise(boxes))
