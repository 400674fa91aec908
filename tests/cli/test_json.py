"""With --json every command prints one object, with the keys that docs/commands.md lists."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from nervure import words
from nervure.api import Project

PAGE = (Path(__file__).resolve().parents[2] / "docs/commands.md").read_text("utf-8")
COMMANDS = ("new", "check", "pathways", "cut", "localize", "playtest", "print", "all")
LESIONS = ("check", "cut", "localize", "all")


def documented_keys(command: str) -> set[str]:
    """Give the keys of a command's row in the table; what stands in brackets is theirs."""
    row = re.search(rf"^\| `{command}\b.*$", PAGE, re.M)
    assert row is not None
    cell = re.split(r"(?<!\\)\|", row[0])[3]
    return set(re.findall(r"`(\w+)`", re.sub(r"\(.*?\)", "", cell)))


def arguments_of(command: str, folder: Path) -> list[object]:
    return {
        "new": ["new", folder.parent / "fresh", "--map", "gut"],
        "check": ["check", folder],
        "pathways": ["pathways", folder, "herb-bed"],
        "cut": ["cut", folder, "north-pipe"],
        "localize": ["localize", folder, "--affected", "rose-bed", "--spared", "herb-bed"],
        "playtest": ["playtest", folder, "--games", "40"],
        "print": ["print", folder, "--what", "backs"],
        "all": ["all", folder],
    }[command]


@pytest.fixture
def few_games(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let `all` play forty games instead of ten thousand."""
    play = Project.playtest
    monkeypatch.setattr(
        Project, "playtest", lambda self, **options: play(self, **{**options, "games": 40})
    )


@pytest.mark.usefixtures("few_games")
@pytest.mark.parametrize("command", COMMANDS)
def test_json_has_the_keys_of_the_commands_page(command: str, run: Any, garden: Any) -> None:
    ran = run(*arguments_of(command, garden()), "--json")

    assert ran.code == 0
    assert documented_keys(command) > set()
    assert documented_keys(command) <= set(ran.data)
    assert ran.out.endswith("}\n")
    assert len(ran.out.splitlines()) == 1


@pytest.mark.usefixtures("few_games")
@pytest.mark.parametrize("command", LESIONS)
def test_what_speaks_of_lesions_carries_the_caution(command: str, run: Any, garden: Any) -> None:
    arguments = arguments_of(command, garden())

    text = run(*arguments)
    data = run(*arguments, "--json").data

    assert words.say("caution.lesions") in text.out.splitlines()
    assert data["caution"] == words.say("caution.lesions")


def test_faults_carry_level_code_file_row_column_and_message(run: Any, garden: Any) -> None:
    ran = run("check", garden({"deck.csv": "card,copies\nw9,2\n"}), "--json")

    assert ran.data["faults"][0] == {
        "level": "error",
        "code": "unknown-card",
        "file": "deck.csv",
        "row": 2,
        "column": "card",
        "message": ran.data["faults"][0]["message"],
    }


def test_pathways_name_structures_from_the_origin_and_whether_main(run: Any, garden: Any) -> None:
    ran = run("pathways", garden(), "herb-bed", "--json")

    # By hand from the garden's links: w1 by the north pipe, w2, the main one, by the south.
    assert ran.data["pathways"] == [
        {"structures": ["w1", "north-pipe", "shed-tap"], "main": False},
        {"structures": ["w2", "south-pipe", "shed-tap"], "main": True},
    ]


def test_cut_gives_the_share_of_supply_lost(run: Any, garden: Any) -> None:
    ran = run("cut", garden(), "north-pipe", "--json")

    # The rose bed has w1 alone; the herb bed w1 with weight 1 and w2, main, with weight 2.
    assert ran.data["affected"] == {
        "rose-bed": pytest.approx(1.0),
        "herb-bed": pytest.approx(1 / 3),
    }
    assert ran.data["spared"] == []


def test_a_measure_has_value_interval_unit_and_games(run: Any, garden: Any) -> None:
    ran = run("playtest", garden(), "--seats", "chance,builder", "--games", "40", "--json")

    turns = ran.data["measures"]["turns"]
    low, high = turns["interval"]
    assert low <= turns["value"] <= high
    assert (turns["unit"], turns["games"]) == ("turns", 40)
    assert ran.data["games"] == 40


def test_equal_seeds_give_equal_digests_whatever_the_workers(run: Any, garden: Any) -> None:
    folder = garden()
    given = ["playtest", folder, "--seats", "builder,chance", "--games", "60", "--json"]

    alone = run(*given, "--seed", "7", "--workers", "1").data
    together = run(*given, "--seed", "7", "--workers", "3").data
    other = run(*given, "--seed", "8").data

    assert alone["digest"] == together["digest"]
    assert alone["digest"] != other["digest"]


def test_printed_files_are_there_with_pages_and_size(run: Any, garden: Any) -> None:
    ran = run("print", garden(), "--what", "backs", "--json")

    (file,) = ran.data["files"]
    assert Path(file["path"]).is_file()
    assert (file["kind"], file["pages"]) == ("backs", 2)
    assert (file["width_mm"], file["height_mm"]) == (63, 88)  # docs/print.md, the default card


def test_json_says_nothing_on_standard_error_where_all_is_well(run: Any, garden: Any) -> None:
    ran = run("check", garden(), "--json")

    assert ran.err == ""
    assert json.loads(ran.out)["ok"] is True
