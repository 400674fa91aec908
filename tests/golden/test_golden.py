"""Whole games, written down as text, are played again from their headers, line by line.

The text comes from `tools/make_golden.py`. What it guards is that nothing changes unnoticed;
that the games follow docs/rules.md is the oracle's matter (docs/oracle.md).
"""

from __future__ import annotations

import importlib.util
import sys
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from nervure.game import Rules

HERE = Path(__file__).resolve().parent
FILES = sorted(HERE.glob("*.txt"))
NUMBERS_AND_LISTS = (
    *("players", "tiers", "targets", "hand", "seat_cards", "open_targets", "secret_targets"),
    *("display", "draw_count", "play_count", "claim_minimum", "claim_real", "late_lifts"),
    *("end", "tie_breaks"),
)
ONLY_PRINTED = ("parts_show", "targets_show")


def _tool() -> ModuleType:
    path = HERE.parent.parent / "tools" / "make_golden.py"
    spec = importlib.util.spec_from_file_location("make_golden", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


TOOL = _tool()


@cache
def played(path: Path) -> Any:
    return TOOL.Playthrough(TOOL.plan_of(path))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_game_is_played_as_it_is_written_down(path: Path) -> None:
    written, now = path.read_text("utf-8").splitlines(), played(path).lines
    for number, (old, new) in enumerate(zip(written, now, strict=False), start=1):
        assert new == old, f"{path.name}, line {number}; remake with tools/make_golden.py --same"
    assert len(now) == len(written), path.name


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_written_game_is_short_enough_to_read(path: Path) -> None:
    assert len(path.read_text("utf-8").splitlines()) <= TOOL.MOST_LINES


def test_between_them_the_games_show_every_rule_and_move() -> None:
    shown = set().union(*(played(path).shows for path in FILES))
    assert sorted(TOOL.wanted() - shown - set(TOOL.NOT_REACHED)) == []


def test_what_is_listed_as_not_reached_is_wanted_and_not_reached() -> None:
    shown = set().union(*(played(path).shows for path in FILES))
    listed = set(TOOL.NOT_REACHED)
    assert (listed - TOOL.wanted(), listed & shown) == (set(), set())


@pytest.mark.parametrize("key", NUMBERS_AND_LISTS)
def test_some_played_design_departs_from_the_default(key: str) -> None:
    rules = [played(path).game.rules for path in FILES]
    assert any(getattr(held, key) != getattr(Rules(), key) for held in rules)


def test_every_key_of_the_rules_is_looked_at() -> None:
    assert set(Rules.model_fields) == {*TOOL.KEYS, *NUMBERS_AND_LISTS, *ONLY_PRINTED}


def test_every_design_is_played() -> None:
    folders = {path.name for path in (HERE / "designs").iterdir()}
    assert folders == {played(path).plan.design for path in FILES}
