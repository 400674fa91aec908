"""Defaults against docs/rules.md, values by number of players, and what is documented."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from nervure import words
from nervure.game import ByPlayers, End, Points, Rules
from nervure.game.bonuses import EFFECTS, Bonus, Bonuses, parse_effect
from nervure.game.goals import GOAL_MEASURES
from nervure.game.look import Look
from nervure.game.objectives import Objective
from nervure.game.rules import parse_end

PAGE = (Path(__file__).parents[2] / "docs" / "rules.md").read_text("utf-8")
TABLES = {
    "rules": Rules,
    "points": Points,
    "bonuses": Bonuses,
    "bonus": Bonus,
    "look": Look,
    "objectives": Objective,
}


def documented_keys() -> dict[str, str]:
    """Key -> default as docs/rules.md prints it; a cell of several keys is split."""
    found: dict[str, str] = {}
    table = PAGE.split("## [rules]")[1].split("\n\n")[0]
    for line in table.splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        names = [name.strip() for name in cells[0].split(",")]
        if len(cells) < 3 or names[0] in ("key", "---", ""):
            continue
        defaults = (
            [cells[1]] if len(names) == 1 else [text.strip() for text in cells[1].split(",")]
        )
        if len(defaults) == 1:  # one default for several keys
            defaults *= len(names)
        found |= dict(zip(names, defaults, strict=True))
    return found


def test_every_key_of_the_rules_is_documented_and_no_other() -> None:
    assert set(documented_keys()) == set(Rules.model_fields)


@pytest.mark.parametrize(
    "key", [key for key in Rules.model_fields if key not in ("tiers", "targets")]
)
def test_the_default_is_the_documented_one(key: str) -> None:
    written = Rules().model_dump(mode="json")[key]

    # Lists and texts are printed on the page as TOML has them, which here is JSON too.
    assert json.loads(documented_keys()[key]) == written


@pytest.mark.parametrize(
    "key",
    [f"{table}.{name}" for table, model in TABLES.items() for name in model.model_fields],
)
def test_every_key_says_what_it_accepts(key: str) -> None:
    assert words.has(f"game.accepts.{key}")


@pytest.mark.parametrize(
    "key",
    [
        f"{table}.{name}"
        for table, model in TABLES.items()
        for name in model.model_fields
        if table != "rules"
    ],
)
def test_every_other_key_is_named_on_the_page(key: str) -> None:
    table, name = key.split(".")

    assert key in PAGE or f"[{table}] {name}" in PAGE or f"`[{table}] {name}`" in PAGE


def test_every_goal_is_named_on_the_page() -> None:
    section = PAGE.split("## [goals]")[1]

    assert [name for name in GOAL_MEASURES if not re.search(rf"\b{name}\b", section)] == []


@pytest.mark.parametrize("name", list(Rules.model_fields))
def test_every_value_that_a_key_may_have_stands_in_what_it_accepts(name: str) -> None:
    choices = re.findall(r"Literal\[(.*?)\]", str(Rules.model_fields[name]))
    text = words.say(f"game.accepts.rules.{name}")

    assert [
        value for value in re.findall(r"'([^']+)'", " ".join(choices)) if value not in text
    ] == []


def test_a_value_by_number_of_players_takes_the_largest_number_not_above(
    make_game: Any,
) -> None:
    game = make_game({"hand": {"2": 5, "4": 4}})

    assert [game.rules.hand.at(n) for n in range(1, 7)] == [5, 5, 5, 4, 4, 4]


def test_ends_may_differ_by_number_of_players(make_game: Any) -> None:
    rules = make_game({"end": {"2": ["claims: 1"], "3": "rounds: 9"}}).rules

    assert rules.end.at(2) == (End("claims", 1),)
    assert rules.end.at(4) == (End("rounds", 9),)


def test_a_value_for_all_does_not_vary() -> None:
    assert not ByPlayers.always(3).varies
    assert not ByPlayers(((2, 3), (4, 3))).varies
    assert ByPlayers(((2, 3), (4, 2))).varies


@pytest.mark.parametrize(
    "text", ["claims: 6", "points: 40", "rounds: 12", "stock-empty", "clock: 30", "all-passed"]
)
def test_every_end_of_the_page_is_read_and_written_back(text: str) -> None:
    assert str(parse_end(text)) == text


@pytest.mark.parametrize("text", ["stock-empty: 3", "claims", "claims: -1", "claims: x", 6])
def test_what_is_no_end_is_refused(text: object) -> None:
    with pytest.raises(ValueError, match=re.escape(str(text))):
        parse_end(text)


def test_every_effect_of_a_bonus_is_on_the_page() -> None:
    section = PAGE.split("one-time: `draw N`")[1].split("\n")[0]
    section = "one-time: `draw N`" + section

    for effects in EFFECTS.values():
        for name, shapes in effects.items():
            for shape in shapes:
                assert f"`{f'{name} {shape}'.strip()}`" in section


def test_points_of_a_kind_are_lasting_only() -> None:
    assert parse_effect("lasting", "points 2 muscle").kind == "muscle"
    with pytest.raises(ValueError, match="points 2 muscle"):
        parse_effect("one-time", "points 2 muscle")


def test_rules_cannot_be_changed() -> None:
    with pytest.raises(ValueError, match="frozen"):
        Rules().hand = ByPlayers.always(3)  # type: ignore[misc]


def test_opening_hands_add_the_extra_cards_of_a_seat(make_game: Any) -> None:
    rules = make_game({"hand": 3, "seat_cards": [0, 2]}).rules

    assert [rules.cards_for_seat(seat, 3) for seat in range(3)] == [3, 5, 3]
