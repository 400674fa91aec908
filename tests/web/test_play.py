"""Tables over the routes and the line: what is laid, joined, moved, refused, and never sent."""

from __future__ import annotations

import json
import random
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from nervure.table import TableGame

HOME = "/p/barges/play"
LINES = "ws://127.0.0.1:8731"


@pytest.fixture
def quick(open_bench: Callable[..., TestClient], project: Path) -> TestClient:
    """A workbench whose computer players do not wait."""
    return open_bench(project, pace=0.0)


def lay(client: TestClient, **options: Any) -> str:
    """Lay a table; give where its host is sent."""
    asked = {"seats": 2, "who": ["person", "builder"], "name": ["Ash", ""]} | options
    answer = client.post(f"{HOME}/new", data=asked, follow_redirects=False)
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def game_of(client: TestClient, number: int = 1) -> TableGame:
    """Give a table as its log tells it now."""
    return TableGame(client.app.state.bench.storage, number)  # type: ignore[attr-defined]


def line_of(client: TestClient, path: str, **options: Any) -> Any:
    """Open a line as a page of this workbench does."""
    return client.websocket_connect(f"{LINES}{path}", **options)


def code_of_close(line: Any) -> int:
    """Read until the line is closed; give the code."""
    try:
        while True:
            line.receive_json()
    except WebSocketDisconnect as closed:
        return closed.code


def join_seat(client: TestClient, code: str, seat: int, name: str) -> str:
    asked = {"code": code, "table": 1, "seat": seat, "name": name}
    answer = client.post("/join/sit", data=asked, follow_redirects=False)
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def test_the_lobby_offers_a_table_and_lists_none(quick: TestClient) -> None:
    text = quick.get(HOME).text
    assert "Lay the table" in text
    assert "No table has been laid yet." in text


def test_a_faulty_game_says_why_it_cannot_be_played(quick: TestClient, project: Path) -> None:
    (project / "game.toml").write_text('title = "x"\n[map]\nname = "gut"\n[rules]\nhand = 99\n')
    text = quick.get(HOME).text
    assert "rules.hand" in text
    assert "Lay the table" not in text
    asked = {"seats": 2, "who": ["person", "builder"], "name": ["Ash", ""]}
    assert quick.post(f"{HOME}/new", data=asked).status_code == 422


def test_a_table_on_one_device_opens_at_once_and_is_listed(quick: TestClient) -> None:
    address = lay(quick)
    assert address.startswith("/seat/1/p-")
    assert quick.get(address).status_code == 200
    assert "Table 1" in quick.get(HOME).text


def test_a_deleted_table_is_gone_for_everybody(quick: TestClient) -> None:
    address = lay(quick)
    quick.post(f"{HOME}/1/delete")
    assert quick.get(address).status_code == 404
    assert "No table has been laid yet." in quick.get(HOME).text


@pytest.mark.parametrize("address", ["/seat/1/forged", "/seat/99/x", "/seat/1/p-forged"])
def test_a_forged_key_opens_no_page_and_no_line(quick: TestClient, address: str) -> None:
    lay(quick)
    assert quick.get(address).status_code == 404
    with line_of(quick, f"{address}/live") as line:
        with pytest.raises(WebSocketDisconnect) as closed:
            line.receive_json()
        assert closed.value.code == 4404


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://elsewhere.example"},
        {"host": "elsewhere.example"},
        {"sec-fetch-site": "cross-site"},
    ],
)
def test_the_line_opens_for_pages_of_this_workbench_only(
    quick: TestClient, headers: dict[str, str]
) -> None:
    address = lay(quick)
    with (
        pytest.raises(WebSocketDisconnect),
        line_of(quick, f"{address}/live", headers=headers) as line,
    ):
        line.receive_json()


def test_a_move_is_made_once_and_a_stale_or_double_one_is_refused(quick: TestClient) -> None:
    address = lay(quick)
    with line_of(quick, f"{address}/live") as line:
        first = line.receive_json()
        line.send_json({"position": first["position"], "move": "2"})
        second = line.receive_json()
        while "refused" in second or second["position"] == first["position"]:
            second = line.receive_json()
        line.send_json({"position": first["position"], "move": "2"})
        answer = line.receive_json()
        while "refused" not in answer:
            answer = line.receive_json()
        assert "position" in answer["refused"]
    assert game_of(quick).number == 1


def test_a_spectator_moves_nothing(quick: TestClient) -> None:
    lay(quick)
    watch = game_of(quick).watch()
    with line_of(quick, f"/seat/1/{watch}/live") as line:
        shown = line.receive_json()
        assert 'class="hand"' not in shown["html"]
        line.send_json({"position": 0, "move": "2"})
        assert "spectator" in line.receive_json()["refused"]
    assert game_of(quick).number == 0


def test_the_passed_device_is_covered_until_its_player_says_so(quick: TestClient) -> None:
    address = lay(quick, seats=2, who=["person", "person"], name=["Ash", "Birch"])
    with line_of(quick, f"{address}/live") as line:
        covered = line.receive_json()
        assert "Give the device to Ash." in covered["html"]
        assert "hand:" not in covered["html"]
        line.send_json({"position": 0, "move": "2"})
        assert line.receive_json()["refused"]
        line.receive_json()
        line.send_json({"position": 0, "move": "show"})
        assert "hand:" in line.receive_json()["html"]


def test_a_person_joins_with_four_letters(quick: TestClient) -> None:
    lay(quick, devices="several")
    code = game_of(quick).code
    assert code in quick.get(f"{HOME}/1").text
    assert "Which seat is yours?" in quick.post("/join", data={"code": code.lower()}).text
    address = join_seat(quick, code, 0, "Cedar")
    assert quick.get(address).status_code == 200
    again = quick.post("/join/sit", data={"code": code, "table": 1, "seat": 0, "name": "Dill"})
    assert again.status_code == 400


def test_codes_cannot_be_tried_at_will(quick: TestClient) -> None:
    answers = [quick.post("/join", data={"code": "BBBB"}).text for _ in range(12)]
    assert "Too many codes" in answers[-1]
    assert "Too many codes" not in answers[0]


def test_players_need_no_host_key_and_the_lobby_does(
    open_bench: Callable[..., TestClient], project: Path
) -> None:
    client = open_bench(project, host="0.0.0.0", host_key="K" * 8, join_code="WXYZ")
    assert client.get("/join").status_code == 200
    assert client.get(HOME, follow_redirects=False).headers["location"] == "/key"
    assert "Take a seat" in client.post("/join", data={"code": "wxyz"}).text


def test_random_messages_change_nothing(quick: TestClient) -> None:
    address = lay(quick)
    chance = random.Random(3)
    odd = ["8.0.0", "99.1", "x", "", "-1", "2.2", None, 7, [], {"number": 2}, "2" * 500]
    with line_of(quick, f"{address}/live") as line:
        line.receive_json()
        for _ in range(12):
            move, position = chance.choice(odd), chance.choice([0, 0, 1, 2**30])
            line.send_json({"position": position, "move": move})
            while "refused" not in line.receive_json():
                pass
    assert game_of(quick).number == 0


@pytest.mark.parametrize(("text", "code"), [("x" * 2001, 1009)])
def test_an_oversized_message_ends_the_line(quick: TestClient, text: str, code: int) -> None:
    address = lay(quick)
    with line_of(quick, f"{address}/live") as line:
        line.receive_json()
        line.send_text(text)
        assert code_of_close(line) == code


def test_too_many_messages_end_the_line(quick: TestClient) -> None:
    address = lay(quick)
    with line_of(quick, f"{address}/live") as line:
        for _ in range(60):
            line.send_text("{}")
        assert code_of_close(line) == 1008


def test_what_is_sent_names_the_own_hand_and_no_other(quick: TestClient) -> None:
    """Every card button of a hand, turn by turn, is a card of the seat that is shown."""
    address = lay(quick, help=2)
    played = 0
    with line_of(quick, f"{address}/live") as line:
        shown = line.receive_json()
        for _ in range(400):
            if "refused" in shown:
                shown = line.receive_json()
                continue
            html = shown["html"]
            game = game_of(quick)
            if game.number == shown["position"]:
                held = re.findall(r'data-source="hand:([^"]+)" data-key', html)
                own = game.position.hand(0)
                assert sorted(held) == sorted(
                    kind for kind, count in own.items() for _ in range(count)
                )
                assert str(game.seed) not in json.dumps(shown)
                moves = re.findall(r'data-move="([\d.]+|&#34;[\d.]+&#34;)" data-from', html)
                if moves:
                    wire = moves[0].replace("&#34;", "")
                    line.send_json({"position": shown["position"], "move": wire})
                    played += 1
            if played >= 25 or game.over_by is not None:
                break
            shown = line.receive_json()
    assert played >= 10


def test_the_bell_of_the_class_rings_at_every_table(quick: TestClient) -> None:
    lay(quick)
    lay(quick)
    assert "Table 2" in quick.get(f"{HOME}/class").text
    quick.post(f"{HOME}/class/ring")
    assert game_of(quick, 1).bell_round == 1
    assert game_of(quick, 2).bell_round == 1


def test_a_stopped_table_shows_its_result_and_its_record(quick: TestClient) -> None:
    address = lay(quick)
    quick.post(f"{HOME}/1/stop")
    for page in (f"{HOME}/1/after", f"{address}/after"):
        text = quick.get(page).text
        assert "Pseudonymous codes only" in text
    lines = quick.get(f"{HOME}/1/record.jsonl").text.splitlines()
    assert all(isinstance(json.loads(line), dict) for line in lines)
