"""Records of people's games as a playtest takes them."""

from __future__ import annotations

import json
import random
import shutil
from pathlib import Path
from typing import Any

import pytest

import nervure
from nervure.api.recorded import people_seconds, read_records
from nervure.errors import BadUsage
from nervure.maps import game_folder
from nervure.table import SeatPlan, TableGame, open_storage, write_record
from nervure.table.design import copy_design
from nervure.table.moves import move_id

STEP = 3


def recorded(folder: Path, code: str, *, seed: int, rival: SeatPlan) -> str:
    """Give the record of a random game of one person against a rival, STEP seconds a line."""
    rng = random.Random(seed)
    with open_storage(folder / f"{code}.sqlite3") as kept:
        plans = [SeatPlan("person", "Ana Q"), rival]
        design = copy_design(game_folder("lock-keepers"))
        table, tokens = TableGame.lay(kept, "locks", design, plans, code=code, seed=seed)
        while table.over_by is None:
            if table.turn_of_computer:
                table.step(table.number)
                continue
            seat = table.position.seat_to_move
            move = rng.choice(table.position.legal_moves())
            table.move(tokens[seat], table.number, move_id(move))
        rows = [json.loads(line) for line in write_record(table).splitlines()]
    for number, row in enumerate(rows[1:-1], start=1):
        row["seconds"] = STEP * number
    return "".join(json.dumps(row) + "\n" for row in rows)


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """Two games of two people, three of a person and a computer player."""
    folder = tmp_path_factory.mktemp("kept")
    person, computer = SeatPlan("person", "Bo Q"), SeatPlan("computer", style="sprinter")
    rivals = (person, person, computer, computer, computer)
    codes = ("BCDF", "GHJK", "MNPR", "STWX", "ZBCD")
    return [
        recorded(folder, code, seed=seed, rival=rival)
        for seed, (code, rival) in enumerate(zip(codes, rivals, strict=True), start=1)
    ]


@pytest.fixture
def file(records: list[str], tmp_path: Path) -> Path:
    place = tmp_path / "games.jsonl"
    place.write_text("".join(records), "utf-8")
    return place


@pytest.fixture
def project(tmp_path: Path) -> Any:
    shutil.copytree(game_folder("lock-keepers"), tmp_path / "locks")
    return nervure.open(tmp_path / "locks")


def test_one_file_may_hold_several_records(file: Path, project: Any) -> None:
    assert len(read_records([file], project.game)) == 5


def test_the_seconds_of_two_people_are_those_of_all_lines(
    records: list[str], file: Path, project: Any
) -> None:
    lines = len(records[0].splitlines()) - 2

    played = read_records([file], project.game)

    assert sum(people_seconds(*played[0]).values()) == STEP * lines


def test_turns_of_a_computer_player_say_nothing_of_peoples_pace(file: Path, project: Any) -> None:
    against_computer = read_records([file], project.game)[2]

    turns = people_seconds(*against_computer)

    assert turns
    assert all(turn % 2 == 1 for turn in turns)  # the person sits in the first of two seats


def test_five_games_set_the_pace_of_the_playtest(file: Path, project: Any) -> None:
    seconds = turns = 0.0
    for one in read_records([file], project.game):
        found = people_seconds(*one)
        seconds, turns = seconds + sum(found.values()), turns + len(found)

    result = project.playtest(seats=["builder", "builder"], games=20, records=[file])

    assert result["seconds_per_turn"] == pytest.approx(seconds / turns)
    assert result["recorded"]["games"] == 5


def test_recorded_games_are_measured_by_the_same_names(file: Path, project: Any) -> None:
    result = project.playtest(seats=["builder", "builder"], games=20, records=[file])

    people = result["recorded"]["tables"]["2"]
    assert people["turns"]["games"] == 5
    assert set(people) <= set(result["tables"]["2"])


def test_a_damaged_record_is_named_with_its_place(
    records: list[str], project: Any, tmp_path: Path
) -> None:
    place = tmp_path / "two.jsonl"
    place.write_text(records[0] + records[1].replace('"result"', '"rest"'), "utf-8")

    with pytest.raises(BadUsage, match=r"two\.jsonl \(2\)"):
        project.playtest(records=[place])


def test_what_is_no_record_is_refused(project: Any, tmp_path: Path) -> None:
    place = tmp_path / "blank.jsonl"
    place.write_text("", "utf-8")

    with pytest.raises(BadUsage, match=r"blank\.jsonl"):
        project.playtest(records=[place])
