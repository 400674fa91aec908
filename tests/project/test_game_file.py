"""game.toml edited key by key: what is asked for changes, and no other byte of the file."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import nervure
from nervure.errors import BadUsage, FaultyProject
from nervure.project import GameFile, read_game_file

GIANTS = Path(nervure.__file__).parent / "maps" / "games" / "giants-leg" / "game.toml"

TEXT = """\
# A game.
title = "Barges"

[map]
name = "gut"   # bundled

[rules]
hand = 4          # few
targets = [
  "muscle", "ileum",   # these two
  "caecum",
]

# The bell.
[rules.end]
2 = ["claims: 6"]
4 = ["claims: 4"]

[[bonus]]
id = "spare"   # a spare
does = ["draw 2"]

[[bonus]]
id = "more"
when = "lasting"
does = ["hand 1"]

[goals]
minutes = [20, 30]
"""


def file_of(text: str) -> GameFile:
    return GameFile(text, tomllib.loads(text))


def lines_changed(before: str, after: str) -> tuple[list[str], list[str]]:
    old, new = before.splitlines(), after.splitlines()
    return [x for x in old if x not in new], [x for x in new if x not in old]


@pytest.mark.parametrize(
    ("changes", "gone", "come"),
    [
        ({"rules.hand": 5}, ["hand = 4          # few"], ["hand = 5          # few"]),
        ({"rules.insert": True}, [], ["insert = true"]),
        (
            {"rules.targets": ["muscle", "caecum", "skin"]},
            ['  "muscle", "ileum",   # these two'],
            ['  "muscle",   # these two', '  "skin",'],
        ),
        (
            {"rules.end": {"2": ["claims: 5"], "4": ["claims: 4"]}},
            ['2 = ["claims: 6"]'],
            ['2 = ["claims: 5"]'],
        ),
        ({"points.method": "difficulty"}, [], ["[points]", 'method = "difficulty"']),
        (
            {"bonus.spare": {"id": "spare", "does": ["draw 3"]}},
            ['does = ["draw 2"]'],
            ['does = ["draw 3"]'],
        ),
        (
            {"bonus.spare": {"id": "kept", "does": ["draw 2"]}},
            ['id = "spare"   # a spare'],
            ['id = "kept"   # a spare'],
        ),
        (
            {"bonus.more": None},
            ['id = "more"', 'when = "lasting"', 'does = ["hand 1"]'],
            [],
        ),
        (
            {"bonus.new": {"id": "new", "does": ["play 1"]}},
            [],
            ['id = "new"', 'does = ["play 1"]'],
        ),
        ({"rules.hand": None}, ["hand = 4          # few"], []),
    ],
)
def test_a_change_touches_its_own_lines_only(
    changes: dict[str, object], gone: list[str], come: list[str]
) -> None:
    assert lines_changed(TEXT, file_of(TEXT).edited(changes).text) == (gone, come)


def test_a_new_key_stands_before_the_note_of_the_next_table() -> None:
    text = file_of(TEXT).edited({"rules.insert": True}).text

    assert text.index("insert = true") < text.index("# The bell.")


def test_an_end_by_players_becomes_one_for_all() -> None:
    edited = file_of(TEXT).edited({"rules.end": ["rounds: 9"]})

    assert tomllib.loads(edited.text)["rules"]["end"] == ["rounds: 9"]
    assert "# The bell." in edited.text


def test_one_end_for_all_becomes_one_by_players() -> None:
    text = '[rules]\nend = ["claims: 6"]   # soon\n'

    edited = file_of(text).edited({"rules.end": {"2": ["claims: 6"], "4": ["claims: 4"]}})

    wanted = 'end = {"2" = ["claims: 6"], "4" = ["claims: 4"]}   # soon'
    assert tomllib.loads(edited.text)["rules"]["end"] == {"2": ["claims: 6"], "4": ["claims: 4"]}
    assert (
        edited.text.replace('"2"', "2").replace('"4"', "4")
        == "[rules]\n" + wanted.replace('"2"', "2").replace('"4"', "4") + "\n"
    )


def test_line_ends_of_another_system_stay() -> None:
    edited = file_of(TEXT.replace("\n", "\r\n")).edited(
        {"rules.insert": True, "points.range": [1, 5]}
    )

    assert edited.text.count("\n") == edited.text.count("\r\n")


@pytest.mark.parametrize(
    "text",
    [
        "rules.hand = 4\nrules.display = 3\n",
        "rules = { hand = 4 }\n",
        '[rules]\nhand = 4\n[map]\nname = ""\n[rules.end]\n2 = ["claims: 4"]\n',
        "",
    ],
)
def test_however_a_table_is_written_its_key_is_set(text: str) -> None:
    edited = file_of(text).edited({"rules.hand": 7})

    assert tomllib.loads(edited.text)["rules"]["hand"] == 7


@pytest.mark.parametrize("text", ["rules = 3\n", "bonus = 3\n"])
def test_what_cannot_be_edited_is_refused(text: str) -> None:
    with pytest.raises(BadUsage, match="Nothing was written"):
        file_of(text).edited({"rules.hand": 7, "bonus.a": {"id": "a"}})


@given(st.text(st.characters(exclude_categories=["Cs"])), st.text(max_size=20))
def test_a_text_never_becomes_anything_but_a_text(says: str, more: str) -> None:
    hostile = f'{says}"\n[rules]\nhand = 12\n{more}'

    edited = file_of(TEXT).edited({"bonus.spare": {"id": "spare", "says": hostile}})

    found = tomllib.loads(edited.text)
    assert found["bonus"][0]["says"] == hostile
    assert found["rules"]["hand"] == 4


def test_every_note_of_the_bundled_game_stays_when_every_rule_changes() -> None:
    text = GIANTS.read_text("utf-8")
    changes = {"rules.hand": 5, "rules.draws": ["stock"], "rules.end": ["rounds: 8"]}

    edited = file_of(text).edited(changes | {"rules.targets_show": "way", "points.range": [2, 4]})

    notes = [line.partition("#")[2] for line in text.splitlines() if "#" in line]
    assert [line.partition("#")[2] for line in edited.text.splitlines() if "#" in line] == notes


def test_a_file_that_cannot_be_understood_is_told_with_its_line(tmp_path: Path) -> None:
    (tmp_path / "game.toml").write_text('title = "x"\nhand = = 3\n')

    with pytest.raises(FaultyProject, match=r"game\.toml, row 2"):
        read_game_file(tmp_path)


def test_writing_keeps_the_old_file_beside_it(tmp_path: Path) -> None:
    (tmp_path / "game.toml").write_text(TEXT)

    read_game_file(tmp_path).edited({"rules.hand": 5}).write(tmp_path)

    assert (tmp_path / "game.toml.bak").read_text() == TEXT
    assert read_game_file(tmp_path).value("rules.hand") == 5
