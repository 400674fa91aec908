"""A table keeps what it answered, refuses what is stale or not one's own, takes back fairly."""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from threading import Thread
from typing import Any

import pytest

from nervure.engine import Move, MoveNumber
from nervure.errors import BadUsage
from nervure.maps import game_folder
from nervure.project import read_folder
from nervure.table import (
    SeatPlan,
    Storage,
    TableGame,
    Tables,
    copy_design,
    open_storage,
    seat_view,
)
from nervure.table.course import Course
from nervure.table.design import game_of
from nervure.table.moves import move_id, parse_move
from nervure.table.seats import LETTERS

Lay = Callable[..., tuple[TableGame, dict[int, str]]]

PLAYER = """
import random, sys
from pathlib import Path
from threading import Thread
from nervure.table import TableGame, open_storage
storage = open_storage(Path(sys.argv[1]))
table = TableGame(storage, 1)
rng = random.Random(4)
while table.over_by is None:
    print(table.step(table.number).number, flush=True)
"""


def views(table: TableGame) -> list[str]:
    return [json.dumps(seat_view(table, seat)) for seat in (None, *range(table.tables.seats))]


def legal(table: TableGame, number: MoveNumber) -> str:
    return next(move_id(one) for one in table.position.legal_moves() if one.number == number)


def test_a_table_is_the_same_again_from_its_log(lab: Any, lay: Lay, kept: Storage) -> None:
    table, tokens = lay("toolbox", "Ana", "=searcher:20", help_level=3)
    rng = random.Random(6)
    while table.over_by is None:
        lab.play_on(table, tokens, rng)
        if table.number % 10 == 0 and table.may_undo(0):
            table.undo(tokens[0], table.number)

    again = TableGame(kept, table.id)

    assert views(again) == views(table)
    assert again.position.stock == table.position.stock
    assert again.position.result().points.tolist() == table.position.result().points.tolist()


def test_computer_players_go_on_alike_after_a_restart(lab: Any, lay: Lay, kept: Storage) -> None:
    """Chance and searcher draw from a stream: playing a log again uses it up just as far."""
    table, _ = lay("jokers", "=chance", "=searcher:20")
    other, _ = lay("jokers", "=chance", "=searcher:20")
    while table.over_by is None:
        if table.number % 7 == 3:
            other = TableGame(kept, other.id)
        assert table.step(table.number).move == other.step(other.number).move


def test_after_a_kill_nothing_that_was_answered_is_lost(
    lab: Any, lay: Lay, kept: Storage, file: Path
) -> None:
    table, _ = lay("charters", "=chance", "=builder", seed=5)
    kept.close()
    process = subprocess.Popen(
        [sys.executable, "-c", PLAYER, str(file)], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    told = [int(process.stdout.readline()) for _ in range(6)]
    os.kill(process.pid, signal.SIGKILL)
    told += [int(line) for line in process.stdout.read().split()]
    process.stdout.close()
    process.wait()

    with open_storage(file) as storage:
        again = TableGame(storage, table.id)
        assert again.number in (told[-1], told[-1] + 1)
        if again.over_by is None:
            assert again.step(again.number).number == again.number


def test_editing_the_project_changes_no_running_table(tmp_path: Path, kept: Storage) -> None:
    project = Path(shutil.copytree(game_folder("giants-leg"), tmp_path / "leg"))
    tables = Tables(kept)
    table, _ = tables.lay("leg", project, [SeatPlan("person", "Ana"), SeatPlan("person", "Bo")])
    before = views(table)
    (project / "game.toml").write_text('title = "Other"\n[map]\nname = "gut"\n')
    (project / "deck.csv").unlink()

    assert views(TableGame(kept, table.id)) == before


@pytest.mark.parametrize("name", ["giants-leg", "lock-keepers"])
def test_a_design_holds_its_bundled_map_itself(name: str) -> None:
    design = copy_design(game_folder(name))

    data = json.loads(design)
    assert "map/links.csv" in data["files"]
    assert game_of(design).folder.map_origin == "folder"
    assert game_of(design).words == read_folder(game_folder(name)).words


@pytest.mark.parametrize("asked", [-1, 1, 99])
def test_a_move_at_another_position_is_refused_and_changes_nothing(lay: Lay, asked: int) -> None:
    table, tokens = lay("giants-leg", "Ana", "Bo")
    before = views(table)

    with pytest.raises(BadUsage, match=f"position {asked}, but the table is at 0"):
        table.move(tokens[0], asked, legal(table, MoveNumber.DRAW_STOCK))

    assert views(table) == before


def test_a_double_move_is_refused(lay: Lay) -> None:
    table, tokens = lay("giants-leg", "Ana", "Bo")
    move = legal(table, MoveNumber.DRAW_STOCK)
    table.move(tokens[0], 0, move)

    with pytest.raises(BadUsage, match="the table is at 1"):
        table.move(tokens[0], 0, move)
    assert table.number == 1


def test_a_move_for_another_seat_is_refused_by_its_token(lay: Lay) -> None:
    table, tokens = lay("giants-leg", "Ana", "Bo")
    move = legal(table, MoveNumber.DRAW_STOCK)

    with pytest.raises(BadUsage, match="move of seat 1, and the token is for seat 2"):
        table.move(tokens[1], 0, move)
    with pytest.raises(BadUsage, match="opens no seat"):
        table.move("guessed", 0, move)
    with pytest.raises(BadUsage, match="moves nothing"):
        table.move(table.watch(), 0, move)
    assert table.number == 0


def test_no_token_is_kept_as_it_is(lay: Lay, kept: Storage, file: Path) -> None:
    _, tokens = lay("giants-leg", "Ana", "Bo")
    joined, _ = lay("plain", "Ana", "")
    tokens[9] = joined.sit("Cy")[1]
    kept.close()

    stored = b"".join(path.read_bytes() for path in file.parent.iterdir())

    assert [token for token in tokens.values() if token.encode() in stored] == []


@pytest.mark.parametrize(
    "text",
    ["", "8", "8.0", "8.0.x", "8.0.9999", "8.-1.0", "99", "3", "2.1", "8..1", "12"],
)
def test_what_is_no_move_is_refused_with_a_sentence(lab: Any, text: str) -> None:
    with pytest.raises(BadUsage, match="is no move"):
        parse_move(text, lab.tables("giants-leg", 2))


def test_a_move_that_the_table_itself_refuses_costs_nothing(lay: Lay) -> None:
    table, tokens = lay("giants-leg", "Ana", "Bo")

    with pytest.raises(BadUsage, match="First comes the draw"):
        table.move(tokens[0], 0, "7.0")
    assert (table.number, table.attempts) == (0, ())


# Undo


def test_a_laid_card_can_be_taken_back(lay: Lay) -> None:
    table, tokens = lay("insert", "Ana", "Bo", seed=3)
    while table.position.seat_to_move == 0 and MoveNumber.LAY not in {
        move.number for move in table.position.legal_moves()
    }:
        table.move(tokens[0], table.number, move_id(table.position.legal_moves()[0]))
    hand, turn = table.position.hand(0), table.position.turn
    barrier = table.number
    table.move(tokens[0], table.number, legal(table, MoveNumber.LAY))
    if table.position.turn != turn:
        pytest.skip("the turn closed with the card")

    table.undo(tokens[0], table.number)

    assert table.position.hand(0) == hand
    assert table.number == barrier + 2


def test_a_card_that_was_seen_is_not_unseen(lay: Lay) -> None:
    table, tokens = lay("giants-leg", "Ana", "Bo")
    table.move(tokens[0], 0, legal(table, MoveNumber.DRAW_STOCK))

    with pytest.raises(BadUsage, match="seen a hidden card"):
        table.undo(tokens[0], table.number)


def test_nothing_comes_back_that_a_stock_has_given_away(lab: Any, lay: Lay) -> None:
    """Whatever is undone, the stocks stay as they were: no undo crosses a hidden card."""
    undone = 0
    for name in ("toolbox", "giants-leg", "slow"):
        table, tokens = lay(name, "Ana", "Bo")
        rng = random.Random(1)
        while table.over_by is None:
            lab.play_on(table, tokens, rng)
            for seat in (0, 1):
                if table.over_by is None and table.may_undo(seat) and rng.random() < 0.3:
                    stocks = (table.position.stock, table.position.target_stock)
                    table.undo(tokens[seat], table.number)
                    undone += 1
                    assert (table.position.stock, table.position.target_stock) == stocks
                    assert table.position.seat_to_move == seat
    assert undone > 5


def test_with_nothing_decided_there_is_nothing_to_take_back(lay: Lay) -> None:
    table, tokens = lay("giants-leg", "Ana", "Bo")

    with pytest.raises(BadUsage, match="nothing of seat 1 to take back"):
        table.undo(tokens[0], 0)


# Attempts


def attempt_of(table: TableGame, seat: int, number: MoveNumber) -> Move | None:
    """Give an attach or a join that only the map refuses, None if there is none now."""
    strands = range(len(table.position.strands(seat)))
    kinds = range(len(table.tables.placed_kinds))
    for first in strands:
        seconds = kinds if number == MoveNumber.ATTACH else strands[first + 1 :]
        for second in seconds:
            move = Move(number, (first, second))
            if table.explain(seat, move).of_facts:
                return move
    return None


def play_to_attempt(lab: Any, lay: Lay, number: MoveNumber) -> tuple[TableGame, str, Move]:
    table, tokens = lay("giants-leg", "Ana", "Bo", help_level=0)
    rng = random.Random(2)
    while table.over_by is None:
        seat = table.position.seat_to_move
        move = attempt_of(table, seat, number)
        if move is not None:
            return table, tokens[seat], move
        lab.play_on(table, tokens, rng)
    raise AssertionError("no attempt came up")


def test_an_attempt_costs_the_play_and_the_card_comes_back(lab: Any, lay: Lay) -> None:
    """docs/rules.md, Knowledge: the card returns, the play is used."""
    table, token, move = play_to_attempt(lab, lay, MoveNumber.ATTACH)
    seat = table.position.seat_to_move
    hand, plays = table.position.hand(seat), seat_view(table, seat)["turn"]["plays"]
    strands, turn = table.position.strands(seat), table.position.turn

    entry = table.move(token, table.number, move_id(move))

    assert entry.kind == "attempt"
    assert table.position.strands(seat) == strands
    if table.position.turn == turn:
        assert table.position.hand(seat) == hand
        assert seat_view(table, seat)["turn"]["plays"] == plays - 1
    assert [one.move for one in table.attempts] == [move]
    assert "refused" in [event.kind for event in entry.events]


def test_a_free_action_that_was_refused_is_not_tried_again_in_this_turn(
    lab: Any, lay: Lay
) -> None:
    table, token, move = play_to_attempt(lab, lay, MoveNumber.JOIN)
    before = seat_view(table, table.position.seat_to_move)["turn"]
    table.move(token, table.number, move_id(move))

    after = seat_view(table, table.position.seat_to_move)["turn"]
    assert (after["plays"], after["draws"]) == (before["plays"], before["draws"])
    with pytest.raises(BadUsage, match="has been tried in this turn"):
        table.move(token, table.number, move_id(move))


def test_an_attempt_is_not_taken_back_and_is_there_after_a_restart(
    lab: Any, lay: Lay, kept: Storage
) -> None:
    table, token, move = play_to_attempt(lab, lay, MoveNumber.JOIN)
    table.move(token, table.number, move_id(move))

    with pytest.raises(BadUsage, match="the answer is known"):
        table.undo(token, table.number)
    assert TableGame(kept, table.id).attempts == table.attempts


def test_an_attempt_is_explained_whatever_the_engine_can(lab: Any, lay: Lay) -> None:
    table, _, move = play_to_attempt(lab, lay, MoveNumber.ATTACH)

    why = table.explain(table.position.seat_to_move, move)

    assert why.of_facts
    assert not why.holds


# Seats, bell, stop


def test_a_table_waits_until_everyone_has_sat_down(lay: Lay) -> None:
    table, tokens = lay("giants-leg", "Ana", "")

    with pytest.raises(BadUsage, match="waits for: Seat 2"):
        table.move(tokens[0], 0, legal(table, MoveNumber.DRAW_STOCK))
    assert seat_view(table, 0)["turn"]["stage"] == "waiting"

    seat, token = table.sit("Bo")
    assert (seat, table.token_seat(token)) == (1, 1)
    table.move(tokens[0], 0, legal(table, MoveNumber.DRAW_STOCK))


def test_a_seat_that_was_freed_is_opened_by_its_old_token_no_more(lay: Lay) -> None:
    table, tokens = lay("giants-leg", "Ana", "Bo")

    table.free_seat(0)

    with pytest.raises(BadUsage, match="opens no seat"):
        table.token_seat(tokens[0])


def test_a_computer_player_goes_on_for_someone_who_left(lay: Lay) -> None:
    table, _ = lay("giants-leg", "Ana", "Bo")

    table.seat_computer(0, "builder")

    assert table.turn_of_computer
    assert table.step(0).by == "computer"


@pytest.mark.parametrize("style", ["bold", "", "builder@0.5", "searcher:0"])
def test_a_style_that_no_computer_player_has_is_refused(lay: Lay, style: str) -> None:
    table, _ = lay("giants-leg", "Ana", "Bo")
    with pytest.raises(BadUsage, match="style"):
        table.seat_computer(0, style)
    assert table.seats[0].kind == "person"


@pytest.mark.parametrize("name", ["", "   ", "x" * 41, "\n\t"])
def test_a_name_is_wanted(lay: Lay, name: str) -> None:
    table, _ = lay("giants-leg", "Ana", "")
    with pytest.raises(BadUsage, match="A name is wanted"):
        table.sit(name)


def test_after_the_bell_the_round_is_finished_and_no_more(lab: Any, lay: Lay) -> None:
    table, tokens = lay("giants-leg", "Ana", "Bo")
    rng = random.Random(3)
    while table.position.seat_to_move == 0:
        lab.play_on(table, tokens, rng)
    first_round = seat_view(table, None)["turn"]["round"]
    assert table.ring_bell()
    assert not table.ring_bell()

    while table.over_by is None:
        assert table.position.seat_to_move == 1
        lab.play_on(table, tokens, rng)

    assert table.over_by == "bell"
    assert seat_view(table, None)["turn"]["round"] == first_round + 1
    with pytest.raises(BadUsage, match="is over"):
        table.move(tokens[0], table.number, "2")


def test_a_stopped_table_tells_points_and_takes_no_more(lay: Lay, kept: Storage) -> None:
    table, tokens = lay("giants-leg", "Ana", "Bo")
    table.stop()

    result = seat_view(table, 1)["result"]
    assert (result["by"], [seat["points"] for seat in result["seats"]]) == ("stopped", [0, 0])
    with pytest.raises(BadUsage, match="is over"):
        table.move(tokens[0], table.number, "2")
    assert TableGame(kept, table.id).over_by == "stopped"


# The tables of a workbench


def test_a_table_is_found_by_its_code_however_it_is_typed(tmp_path: Path, kept: Storage) -> None:
    tables = Tables(kept)
    laid, _ = tables.lay("leg", game_folder("giants-leg"), [SeatPlan("person", "Ana"), SeatPlan()])

    game, seat, token = Tables(kept).join(f" {laid.code.lower()} ", "Bo")

    assert set(laid.code) <= set(LETTERS)
    assert (game.id, seat, game.token_seat(token)) == (laid.id, 1, 1)
    with pytest.raises(BadUsage, match="No running table has the code"):
        tables.by_code("AAAA")


def test_one_bell_rings_in_one_room_only(kept: Storage) -> None:
    tables, plans = Tables(kept), [SeatPlan("person", "Ana"), SeatPlan("person", "Bo")]
    rooms = ["east", "east", "west"]
    games = [tables.lay("leg", game_folder("giants-leg"), plans, room=room)[0] for room in rooms]

    assert tables.ring_bell("east") == 2
    assert [game.bell_round is not None for game in games] == [True, True, False]
    assert [row["bell"] for row in tables.tables_at_a_glance("east")] == [True, True]
    assert "seed" not in json.dumps(tables.tables_at_a_glance())


def test_a_course_without_a_table_goes_the_same_way(lab: Any, lay: Lay, kept: Storage) -> None:
    table, tokens = lay("plain", "Ana", "Bo")
    rng = random.Random(2)
    while table.over_by is None:
        lab.play_on(table, tokens, rng)
    course = Course(table.game, table.tables, table.seed, table.seats, 2)
    for line in kept.moves(table.id):
        course.take_over(line, course.work_out(line.seat, line.move, again=True))

    assert course.position.result().points.tolist() == table.position.result().points.tolist()


def test_of_many_hands_on_one_button_one_move_counts(lay: Lay) -> None:
    table, tokens = lay("giants-leg", "Ana", "Bo")
    move, told = legal(table, MoveNumber.DRAW_STOCK), []

    def press() -> None:
        try:
            told.append(table.move(tokens[0], 0, move).number)
        except BadUsage as refused:
            told.append(str(refused))

    threads = [Thread(target=press) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert [answer for answer in told if answer == 1] == [1]
    assert sum("the table is at 1" in str(answer) for answer in told) == 7
    assert table.version == 3  # two sat down, one moved


def test_a_table_is_read_once_however_many_ask_for_it(lay: Lay, kept: Storage) -> None:
    table, _ = lay("giants-leg", "Ana", "Bo")
    tables, found = Tables(kept), []
    threads = [Thread(target=lambda: found.append(tables.by_id(table.id))) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(found) == 6
    assert len({id(game) for game in found}) == 1
