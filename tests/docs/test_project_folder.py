"""docs/project-folder.md names every table, column, key and choice, and shows true messages."""

import re
from pathlib import Path

import pytest

from nervure.project._settings import MAP_KEYS, TOP_KEYS
from nervure.project.columns import CREDITS, DECK, MAP_TABLES, PLAYS, TableSpec
from nervure.project.records import DEFAULT_WORDS

PAGE = (Path(__file__).resolve().parents[2] / "docs/project-folder.md").read_text("utf-8")
TABLES = [*MAP_TABLES.values(), DECK, PLAYS, CREDITS]


def _section(title: str) -> str:
    match = re.search(rf"^## (?:art/)?{re.escape(title)}\n(.*?)(?=^## |\Z)", PAGE, re.M | re.S)
    assert match, title
    return match[1]


@pytest.mark.parametrize("spec", TABLES, ids=lambda spec: spec.name)
def test_every_column_is_documented_and_no_other(spec: TableSpec) -> None:
    rows = re.findall(r"^\| `(\w+)` \| (yes)? ?\|", _section(f"{spec.name}.csv"), re.M)

    assert rows == [(column.name, "yes" if column.required else "") for column in spec.columns]


@pytest.mark.parametrize("spec", TABLES, ids=lambda spec: spec.name)
def test_every_choice_of_a_column_is_documented(spec: TableSpec) -> None:
    section = _section(f"{spec.name}.csv")

    for column in spec.columns:
        for choice in column.choices:
            assert re.search(rf"\b{choice}\b", section), (column.name, choice)


def test_every_key_of_the_game_file_is_documented_and_no_other() -> None:
    keys = re.findall(r"^\| ((?:`\w+`(?:, )?)+) \|", _section("game.toml"), re.M)

    assert set(re.findall(r"\w+", " ".join(keys))) == set(TOP_KEYS)
    for key in (*MAP_KEYS, *DEFAULT_WORDS):
        assert f"`{key}`" in _section("game.toml")
