"""A measure of two playtests as a row: said in the right units, drawn on one ruler."""

import re

import pytest

from nervure import maps
from nervure.game import read_game
from nervure.project import read_folder
from nervure.records import Measure
from nervure.report.playtest_beside import beside_line
from nervure.report.playtest_words import Talk


@pytest.fixture(scope="module")
def talk() -> Talk:
    return Talk(read_game(read_folder(maps.game_folder("lock-keepers"))))


def test_a_difference_of_shares_is_said_in_points_with_its_sign(talk: Talk) -> None:
    now = Measure("idle", 2, 0.35, (0.34, 0.36), "share", 100)
    before = Measure("idle", 2, 0.30, (0.29, 0.31), "share", 100)
    line = beside_line(now, before, 0.05, (0.036, 0.064), talk)

    assert (line.now, line.before) == ("35.0 %", "30.0 %")
    assert (line.difference, line.unit, line.is_sure) == ("+5.0", "percentage points", True)
    assert line.interval == "3.6 to 6.4"


def test_the_greater_figure_stands_further_right_and_nothing_is_styled(talk: Talk) -> None:
    now = Measure("turns", 2, 20.0, (19.0, 21.0), "turns", 100)
    before = Measure("turns", 2, 25.0, (24.0, 26.0), "turns", 100)
    line = beside_line(now, before, -5.0, (-6.4, -3.6), talk)
    dot = float(re.search(r'cx="([\d.]+)"', line.ruler).group(1))  # type: ignore[union-attr]
    square = float(re.search(r'<rect x="([\d.]+)"', line.ruler).group(1))  # type: ignore[union-attr]

    assert dot < square
    assert line.difference == "−5.0"
    assert "style=" not in line.ruler
