"""Records: no name in them, played again to equality, and each damage told by file and line."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from typing import Any

import pytest

from nervure.engine import Games, play
from nervure.errors import BadUsage
from nervure.playtest.measures import game_measures
from nervure.table import (
    TableGame,
    debrief,
    measured_pace,
    parse_record,
    replay,
    turn_seconds,
    write_record,
    yardsticks,
)

Lay = Callable[..., tuple[TableGame, dict[int, str]]]
Lines = list[dict[str, Any]]


def finished(lab: Any, lay: Lay, name: str, *seats: str, seed: int = 11) -> TableGame:
    """Give a table that was played to its end, with some moves taken back."""
    table, tokens = lay(name, *seats, seed=seed)
    rng = random.Random(9)
    while table.over_by is None:
        lab.play_on(table, tokens, rng)
        for seat in tokens:
            if table.over_by is None and rng.random() < 0.2 and table.may_undo(seat):
                table.undo(tokens[seat], table.number)
    return table


@pytest.mark.parametrize(
    ("name", "seats"),
    [
        ("giants-leg", ("Ana Q", "=builder")),
        ("lock-keepers", ("Ana Q", "Bo Q", "=chance")),
        ("toolbox", ("Ana Q", "Bo Q")),
        ("thieves", ("Ana Q", "Bo Q", "=builder")),
        ("plain", ("Ana Q",)),
    ],
)
def test_a_record_is_played_again_to_the_same_end(
    lab: Any, lay: Lay, name: str, seats: tuple[str, ...]
) -> None:
    table = finished(lab, lay, name, *seats)
    text = write_record(table)

    course = replay(parse_record(text), lab.game(name))

    assert [course.position.points(s) for s in range(len(seats))] == [
        table.position.points(s) for s in range(len(seats))
    ]
    assert course.claims == table.claims
    assert [e.kind for e in course.entries] == [
        e.kind for e in table.entries if e.kind not in ("seat", "help")
    ]
    one, other = course.position.result().columns(), table.position.result().columns()
    assert all(one[key].tolist() == other[key].tolist() for key in one)


def test_no_name_and_no_token_is_in_a_record(lab: Any, lay: Lay) -> None:
    table, tokens = lay("lock-keepers", "Ana Q", "Bo Q")
    rng = random.Random(9)
    while table.over_by is None:
        lab.play_on(table, tokens, rng)
    text = write_record(table)

    assert json.loads(text.splitlines()[0])["players"] == ["person 1", "person 2"]
    assert [one for one in ("Ana Q", "Bo Q", *tokens.values()) if one in text] == []


def test_a_stopped_table_has_a_record_as_well(lab: Any, lay: Lay) -> None:
    table, tokens = lay("giants-leg", "Ana", "Bo")
    for _ in range(12):
        lab.play_on(table, tokens, random.Random(1))
    table.stop()

    course = replay(parse_record(write_record(table)), lab.game("giants-leg"))

    assert (course.over_by, len(course.entries)) == ("stopped", 13)


@pytest.mark.parametrize(
    ("name", "level"), [("giants-leg", 0), ("neighbours", 0), ("thieves", 1), ("jokers", 1)]
)
def test_a_game_with_attempts_is_played_again_from_log_and_record(
    lab: Any, lay: Lay, name: str, level: int
) -> None:
    table, tokens = lay(name, "Ana", "Bo", help_level=level)
    rng = random.Random(21)
    while table.over_by is None:
        lab.try_on(table, tokens, rng)

    again = TableGame(table._storage, table.id)
    course = replay(parse_record(write_record(table)), lab.game(name))

    assert len(table.attempts) > 3
    assert again.attempts == table.attempts == course.attempts
    assert again.position.stock == table.position.stock == course.position.stock
    refused = debrief([course])["refused"]
    assert sum(fact["count"] for fact in refused) == len(table.attempts)
    assert [fact["count"] for fact in refused] == sorted(
        (fact["count"] for fact in refused), reverse=True
    )


def test_a_running_table_gives_no_record(lay: Lay) -> None:
    table, _ = lay("giants-leg", "Ana", "Bo")
    with pytest.raises(BadUsage, match="still runs"):
        write_record(table)


def _first(key: str, value: Any) -> Callable[[Lines], None]:
    return lambda lines: lines[0].update({key: value})


def _without(key: str) -> Callable[[Lines], None]:
    def change(lines: Lines) -> None:
        del lines[0][key]

    return change


def _line(number: int, key: str, value: Any) -> Callable[[Lines], None]:
    return lambda lines: lines[number - 1].update({key: value})


def _last(key: str, value: Any) -> Callable[[Lines], None]:
    return lambda lines: lines[-1].update({key: value})


def _crowd(lines: Lines) -> None:
    lines[0]["players"] = ["person 1"] * 5
    lines[-1] |= {"points": [0] * 5, "claims": [0] * 5}


BAD: list[tuple[str, Callable[[Lines], Any], str]] = [
    ("another kind", _first("kind", "song"), 'line 1: .*"kind": "nervure-table-record"'),
    ("a later format", _first("format", 2), r"line 1: The format 2 .* Format 1 is\."),
    ("no seed", _without("seed"), "line 1: 'seed' is missing"),
    ("no players", _without("players"), "line 1: 'players' is missing"),
    ("another engine", _first("engine", 99), "line 1: It was played by version 99"),
    ("a title that is a number", _first("title", 3), "line 1: 'title' is no text"),
    ("a seed in words", _first("seed", "lucky"), "line 1: 'seed' is no seed.*20 digits"),
    ("help beyond three", _first("help", 7), "line 1: 7 is no level of help. It is 0, 1, 2 or 3"),
    ("a pace of nothing", _first("seconds_per_turn", 0), "line 1: .*from 1 to 3600"),
    ("nobody", _first("players", []), "line 1: 'players' is no list.*1 to 6"),
    ("a name", _first("players", ["Ana", "Bo"]), 'line 1: "Ana" is no player.*person 1'),
    (
        "no such style",
        _first("players", ["person 1", "computer: bold"]),
        'line 1: "computer: bold',
    ),
    ("too many", lambda lines: _crowd(lines), "line 1: .*for 2 to 4"),
    ("another design", _first("design", "00000000"), "line 1: It was played with design 00000000"),
    ("another seed", _first("seed", "5"), r"line \d+: "),
    ("an unknown line", _line(4, "move", "jump"), 'line 4: "jump" is nothing.*Accepted: move'),
    ("a seat too far", _line(3, "seat", 9), "line 3: 9 is no seat. Seats are 1 to 2"),
    (
        "another's turn",
        _line(2, "seat", 2),
        "line 2: Seat 2 is not to move here. Accepted: seat 1",
    ),
    ("arguments in words", _line(3, "args", ["l5"]), "line 3: .*arguments. They are whole"),
    ("a move out of range", _line(3, "args", [4000]), "line 3: .*not legal here"),
    ("another sentence", _line(2, "sentence", "It rains."), "line 2: .*Accepted: person 1"),
    ("no sentence", _line(2, "sentence", None), "line 2: The line has no sentence"),
    ("seconds before", _line(2, "seconds", -4), "line 2: -4 are no seconds"),
    ("a free claim", _line(2, "move", "attempt"), "line 2: .*no attempt"),
    ("undone too much", lambda lines: lines[1].update(move="undo", back=3), "line 2: .*at most 0"),
    ("no result", lambda lines: lines.pop(), r"line \d+: The record has no end"),
    ("points of another", _last("points", [99, 0]), r"line \d+: 'points' of the result is not"),
    ("points for one", _last("points", [1]), r"line \d+: 'points' .*one for each of 2"),
    ("after the end", lambda lines: lines.insert(-1, dict(lines[1])), r"line \d+: .*over before"),
]


@pytest.fixture(scope="module")
def written(lab: Any, tmp_path_factory: pytest.TempPathFactory) -> str:
    from nervure.table import SeatPlan, open_storage

    with open_storage(tmp_path_factory.mktemp("record") / "w.sqlite3") as storage:
        table, tokens = TableGame.lay(
            storage,
            "leg",
            lab.design("giants-leg"),
            [SeatPlan("person", "Ana"), SeatPlan("person", "Bo")],
            code="BCDF",
            seed=4,
        )
        rng = random.Random(3)
        while table.over_by is None:
            lab.play_on(table, tokens, rng)
        return write_record(table)


@pytest.mark.parametrize(("change", "told"), [row[1:] for row in BAD], ids=[row[0] for row in BAD])
def test_a_damaged_record_is_told_by_file_and_line(
    lab: Any, written: str, change: Callable[[Lines], Any], told: str
) -> None:
    lines = [json.loads(line) for line in written.splitlines()]
    change(lines)
    text = "\n".join(json.dumps(line) for line in lines)

    with pytest.raises(BadUsage, match=rf"^tuesday\.jsonl, {told}") as found:
        replay(parse_record(text, "tuesday.jsonl"), lab.game("giants-leg"))
    assert "\n" not in str(found.value)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "line 1: The record is empty"),
        ("{}\n[1]", "line 2: .*no JSON"),
        ("{", "line 1: .*no JSON"),
    ],
)
def test_what_is_no_record_at_all_is_told(text: str, told: str) -> None:
    with pytest.raises(BadUsage, match=told):
        parse_record(text)


# Yardsticks


def test_a_game_of_computer_players_has_the_measures_of_the_same_game_simulated(
    lab: Any, lay: Lay
) -> None:
    """`play` is the engine's own way through whole games; the table goes move by move."""
    table, _ = lay("lock-keepers", "=builder", "=builder", seed=77)
    while table.over_by is None:
        table.step(table.number)
    simulated: Games = play(table.tables, ["builder", "builder"], seed=77, deals=1)

    found = yardsticks([table], 40.0)[2]

    wanted = game_measures(simulated, 1, 40.0)
    assert [(m.name, m.value) for m in found] == [(m.name, m.value) for m in wanted]


def test_games_that_were_stopped_are_left_out(lay: Lay) -> None:
    table, _ = lay("giants-leg", "Ana", "Bo")
    table.stop()

    assert yardsticks([table], 40.0) == {}


def test_seconds_add_up_to_the_time_from_the_start(written: str, lab: Any) -> None:
    lines = [json.loads(line) for line in written.splitlines()]
    for number, line in enumerate(lines[1:-1], start=1):
        line["seconds"] = 10 * number
    record = parse_record("\n".join(json.dumps(line) for line in lines))
    course = replay(record, lab.game("giants-leg"))

    seconds = turn_seconds(record, course)

    assert sum(seconds.values()) == 10 * (len(lines) - 2)
    assert sorted(seconds) == list(range(1, course.position.turn + 1))
    assert measured_pace([seconds]) == sum(seconds.values()) / len(seconds)


def test_a_pathway_is_met_by_a_claim_with_all_its_deck_structures(lab: Any, lay: Lay) -> None:
    table = finished(lab, lay, "giants-leg", "=builder", "=builder", seed=3)
    deck = set(table.game.structures)

    told = debrief([table])

    for player in told["players"]:
        claims = [claim for claim in table.claims if claim.seat == player["seat"]]
        for pathway in player["pathways"]:
            on_deck = [name for name in pathway["structures"] if name in deck]
            assert any(
                claim.target == pathway["target"] and set(on_deck) <= set(claim.slots)
                for claim in claims
            )
    whole = [claim for claim in table.claims if claim.full and "wild" not in str(claim.slots)]
    assert bool(whole) == (told["met"] > 0)
    assert told["met"] + len(told["unmet"]) == told["pathways"]
