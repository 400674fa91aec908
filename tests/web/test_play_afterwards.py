"""While a table is played nothing of the end is told; afterwards everything is, to its own."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from nervure.table import TableGame, parse_record, replay

HOME = "/p/barges/play"
AFTERWARDS = ["after", "replay?at=0", "record.jsonl"]


@pytest.fixture
def quick(open_bench: Callable[..., TestClient], project: Path) -> TestClient:
    """A workbench whose computer players do not wait."""
    return open_bench(project, pace=0.0)


def lay(client: TestClient, who: list[str]) -> int:
    """Lay a table for several devices; gives its number."""
    asked = {"seats": len(who), "who": who, "name": [""] * len(who), "devices": "several"}
    answer = client.post(f"{HOME}/new", data=asked, follow_redirects=False)
    assert answer.status_code == 303, answer.text
    return int(answer.headers["location"].rsplit("/", 1)[1])


def sit(client: TestClient, table: int, seat: int) -> str:
    """Sit down; gives the address of the seat."""
    code = re.search(r'class="code">([A-Z]{4})<', client.get(f"{HOME}/{table}").text)
    assert code is not None
    asked = {"code": code[1], "table": table, "seat": seat, "name": f"Hand {seat}"}
    answer = client.post("/join/sit", data=asked, follow_redirects=False)
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def game_of(client: TestClient, number: int) -> TableGame:
    """Give a table as its log tells it now."""
    return TableGame(client.app.state.bench.storage, number)  # type: ignore[attr-defined]


@pytest.mark.parametrize("page", AFTERWARDS)
def test_nothing_of_the_end_is_told_while_a_table_is_played(quick: TestClient, page: str) -> None:
    table = lay(quick, ["person", "person"])
    seat = sit(quick, table, 0)
    assert quick.get(f"{HOME}/{table}/{page}").status_code == 404
    assert quick.get(f"{seat}/{page}").status_code == 404


@pytest.mark.parametrize("page", AFTERWARDS)
def test_when_it_is_over_the_host_and_the_seats_are_told(quick: TestClient, page: str) -> None:
    table = lay(quick, ["person", "person"])
    seat = sit(quick, table, 0)
    quick.post(f"{HOME}/{table}/stop")
    assert quick.get(f"{HOME}/{table}/{page}").status_code == 200
    assert quick.get(f"{seat}/{page}").status_code == 200


def test_a_key_opens_no_other_table(quick: TestClient) -> None:
    first, second = lay(quick, ["person", "person"]), lay(quick, ["person", "person"])
    key = sit(quick, first, 0).rsplit("/", 1)[1]
    assert quick.get(f"/seat/{first}/{key}").status_code == 200
    assert quick.get(f"/seat/{second}/{key}").status_code == 404


def test_a_freed_seat_opens_no_more_with_its_old_key(quick: TestClient) -> None:
    table = lay(quick, ["person", "person"])
    seat = sit(quick, table, 0)
    quick.post(f"{HOME}/{table}/free", data={"seat": 0})
    assert quick.get(seat).status_code == 404


def test_a_table_of_another_project_is_not_reached_through_this_one(
    open_bench: Callable[..., TestClient], project: Path, tmp_path: Path
) -> None:
    other = tmp_path / "home" / "other"
    other.mkdir()
    (other / "game.toml").write_text('title = "Other"\n[map]\nname = "gut"\n')
    client = open_bench(project, other)
    table = lay(client, ["person", "person"])
    assert client.get(f"{HOME}/{table}").status_code == 200
    assert client.get(f"/p/other/play/{table}").status_code == 404
    assert client.post(f"/p/other/play/{table}/stop").status_code == 404


def test_editing_the_project_does_not_change_a_table(quick: TestClient, project: Path) -> None:
    table = lay(quick, ["person", "person"])
    before = game_of(quick, table).design_digest
    text = (project / "game.toml").read_text("utf-8")
    (project / "game.toml").write_text(f"{text}\n[goals]\nidle = [0, 0.5]\n", "utf-8")
    assert game_of(quick, table).design_digest == before
    assert quick.get(f"{HOME}/{table}").status_code == 200


@pytest.fixture
def played(quick: TestClient, monkeypatch: pytest.MonkeyPatch) -> int:
    """A table of two computer players that has come to its own end, always the same game."""
    monkeypatch.setattr("nervure.table.table_game.secrets.randbits", lambda bits: 3)
    table = lay(quick, ["builder", "builder"])
    for _ in range(3000):
        if game_of(quick, table).over_by is not None:
            break
    assert game_of(quick, table).over_by is not None
    return table


def test_the_record_that_is_taken_away_is_played_again_to_the_same_end(
    quick: TestClient, played: int
) -> None:
    text = quick.get(f"{HOME}/{played}/record.jsonl").text
    record = parse_record(text, "record.jsonl")
    game = game_of(quick, played)
    again = replay(record, game.game)
    assert [again.position.points(seat) for seat in (0, 1)] == [
        game.position.points(seat) for seat in (0, 1)
    ]


def test_every_step_of_the_game_can_be_looked_at_again(quick: TestClient, played: int) -> None:
    lines = len(quick.get(f"{HOME}/{played}/record.jsonl").text.splitlines()) - 2
    told = []
    for at in (lines, 0, lines // 2, lines):  # also backwards
        answer = quick.get(f"{HOME}/{played}/replay?at={at}")
        assert answer.status_code == 200
        told.append(answer.json())
    assert told[0] == told[3]
    assert told[0]["html"] != told[1]["html"] != told[2]["html"]
    assert quick.get(f"{HOME}/{played}/replay?at={lines + 1}").status_code == 404
    assert quick.get(f"{HOME}/{played}/replay?at=-1").status_code == 404


def test_the_debrief_of_a_class_counts_what_was_met(quick: TestClient, played: int) -> None:
    text = quick.get(f"{HOME}/class/debrief").text
    claims = game_of(quick, played).claims
    assert claims
    assert "pathways were met at least once" in text
    lit = json.loads(re.search(r"data-light='([^']*)'", text)[1])  # type: ignore[index]
    assert {claim.target for claim in claims} >= set(lit["parts"]) & {
        target for target in game_of(quick, played).game.targets
    }
