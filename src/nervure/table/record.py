"""The record of a table: JSON lines without a name in them, that can be played again.

The first line says what was played (design, seed, seats as "person 1" or by style), then comes
one line a move with its sentence, and the last line is the result. The record of a project's
game can be played again by whoever has that project; every line is held against what comes out.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from nervure import words
from nervure.engine import RESULT_VERSION
from nervure.engine.line_up import style_of
from nervure.errors import BadUsage
from nervure.game import Game, Tables, compile_game
from nervure.game.tables import MOST_SEATS
from nervure.table.course import Course, Entry
from nervure.table.events import Event
from nervure.table.kept import Move as Line
from nervure.table.moves import is_well_formed, move_of
from nervure.table.outcome import SIXTIETHS, win_shares
from nervure.table.seats import Seated
from nervure.table.table_game import TableGame

KIND, FORMAT = "nervure-table-record", 1
MOST_BYTES = 4_000_000
IN_RECORD = ("move", "attempt", "undo", "bell", "stop")
FIRST_KEYS = ("kind", "format", "engine", "design", "title", "seed", "help", "players")
Data = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Record:
    """A record as read. ``lines``: the moves; ``file``: what it is called in faults."""

    file: str
    design: str
    title: str
    seed: int
    help_level: int
    seconds_per_turn: float
    players: tuple[Seated, ...]
    lines: tuple[Data, ...]
    result: Data


def write_record(table: TableGame) -> str:
    """Give the record of a table that is over.

    Raises
    ------
    BadUsage
        It still runs: its seed is secret.
    """
    with table.lock:
        if table.over_by is None:
            raise BadUsage(words.say("table.record.runs"))
        players = _pseudonyms(table)
        first = {
            "kind": KIND,
            "format": FORMAT,
            "engine": RESULT_VERSION,
            "design": table.game.version,
            "title": table.game.title,
            "seed": str(table.seed),
            "help": table.help_level,
            "seconds_per_turn": table.seconds_per_turn,
            "players": [_player(seated) for seated in players],
        }
        course = Course(table.game, table.tables, table.seed, players, table.help_level)
        lines = [first]
        start = datetime.fromisoformat(table.made)
        for entry in table.entries:
            if entry.kind in IN_RECORD:
                data = _entry_data(entry)
                told = _play(course, data)
                passed = (datetime.fromisoformat(entry.made) - start).total_seconds()
                lines.append({**data, "seconds": int(passed), "sentence": told})
        lines.append(_result(course))
        return "".join(json.dumps(line, ensure_ascii=False) + "\n" for line in lines)


def _pseudonyms(table: TableGame) -> list[Seated]:
    """Give who sat where, people by number: the seats as they were at the end."""
    found: list[Seated] = []
    people = 0
    for seated in table.seats:
        if seated.kind == "person":
            people += 1
            name = words.say("table.cannot.person", number=people)
            found.append(Seated("person", name=name))
        else:
            found.append(replace(seated, name="", token_hash=""))
    return found


def _player(seated: Seated) -> str:
    return seated.name if seated.kind == "person" else f"computer: {seated.style}"


def _entry_data(entry: Entry) -> Data:
    data: Data = {"move": entry.kind, "seat": 0 if entry.seat is None else entry.seat + 1}
    if entry.move is not None:
        data |= {"number": entry.move.number, "args": list(entry.move.args), "by": entry.by}
    if entry.kind == "undo":
        data["back"] = entry.back
    return data


def _play(course: Course, data: Mapping[str, Any]) -> str:
    """Take a line of a record in; gives its first sentence as all may hear it."""
    kind, seat = data["move"], int(data["seat"]) - 1
    entry: Data = {"kind": kind}
    if kind in ("move", "attempt"):
        # Whoever made it, the move is in the record: no player has to think again.
        entry |= {"number": data["number"], "args": data["args"], "by": "person"}
    elif kind == "undo":
        entry["back"] = data["back"]
    line = Line(len(course.entries), seat, entry, "")
    taken = course.take_over(line, course.work_out(seat, entry))
    return _first(taken.events)


def _first(events: Sequence[Event]) -> str:
    return events[0].text if events else ""


def _result(course: Course) -> Data:
    seats = range(course.tables.seats)
    shares = win_shares(course)
    return {
        "move": "result",
        "by": course.over_by,
        "points": [course.position.points(seat) for seat in seats],
        "claims": [course.position.claims(seat) for seat in seats],
        "share": None if shares is None else [round(share * SIXTIETHS) for share in shares],
    }


def parse_record(text: str, file: str = "record.jsonl") -> Record:
    """Read a record.

    Raises
    ------
    BadUsage
        It is none, or a line of it is damaged. One line: file, line, what would be accepted.
    """
    if len(text) > MOST_BYTES:
        raise BadUsage(words.say("table.record.too-long", file=file, most=MOST_BYTES))
    rows = [_row(file, number, line) for number, line in enumerate(text.splitlines(), start=1)]
    if not rows:
        raise _bad(file, 1, "empty")
    first = _checked_first(file, rows[0])
    if len(rows) < 2 or rows[-1].get("move") != "result":
        raise _bad(file, len(rows), "no-result")
    players = tuple(_checked_player(file, name) for name in first["players"])
    for number, row in enumerate(rows[1:-1], start=2):
        _check_line(file, number, row, len(players))
    _check_result(file, len(rows), rows[-1], len(players))
    return Record(
        file=file,
        design=first["design"],
        title=first["title"],
        seed=int(first["seed"]),
        help_level=first["help"],
        seconds_per_turn=float(first.get("seconds_per_turn", 35)),
        players=players,
        lines=tuple(rows[1:-1]),
        result=rows[-1],
    )


def _bad(file: str, line: int, code: str, **values: object) -> BadUsage:
    place = words.say("table.record.place", file=file, line=line)
    return BadUsage(f"{place}: {words.say(f'table.record.{code}', **values)}")


def _row(file: str, number: int, line: str) -> Data:
    try:
        row = json.loads(line)
    except (ValueError, RecursionError) as problem:
        raise _bad(file, number, "no-json") from problem
    if not isinstance(row, dict):
        raise _bad(file, number, "no-json")
    return row


def _is_whole(value: object, low: int, high: int) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and low <= value <= high


def _checked_first(file: str, row: Data) -> Data:
    if row.get("kind") != KIND:
        raise _bad(file, 1, "kind", kind=KIND)
    if row.get("format") != FORMAT:
        raise _bad(file, 1, "format", found=_shown(row.get("format")), format=FORMAT)
    for key in FIRST_KEYS:
        if key not in row:
            raise _bad(file, 1, "key-missing", key=key)
    if row["engine"] != RESULT_VERSION:
        raise _bad(file, 1, "engine", found=_shown(row["engine"]), played=RESULT_VERSION)
    for key in ("design", "title"):
        if not isinstance(row[key], str):
            raise _bad(file, 1, "text", key=key)
    seed = row["seed"]
    if not (isinstance(seed, str) and seed.isascii() and seed.isdecimal() and len(seed) < 21):
        raise _bad(file, 1, "seed")
    if not _is_whole(row["help"], 0, 3):
        raise _bad(file, 1, "help", found=_shown(row["help"]))
    seconds = row.get("seconds_per_turn", 35)
    if isinstance(seconds, bool) or not isinstance(seconds, (int, float)):
        raise _bad(file, 1, "pace")
    if not 1 <= seconds <= 3600:
        raise _bad(file, 1, "pace")
    players = row["players"]
    if not isinstance(players, list) or not 1 <= len(players) <= MOST_SEATS:
        raise _bad(file, 1, "players", most=MOST_SEATS)
    return row


def _checked_player(file: str, name: object) -> Seated:
    if isinstance(name, str):
        kind, _, rest = name.partition(" ")
        if kind == "person" and rest.isdecimal() and len(rest) < 3:
            return Seated("person", name=name)
        if kind == "computer:":
            try:
                style_of(rest)
            except BadUsage as problem:
                raise _bad(file, 1, "player", found=_shown(name)) from problem
            return Seated("computer", style=rest)
    raise _bad(file, 1, "player", found=_shown(name))


def _check_line(file: str, number: int, row: Data, seats: int) -> None:
    kind = row.get("move")
    if kind not in IN_RECORD:
        accepted = ", ".join(IN_RECORD)
        raise _bad(file, number, "move", found=_shown(kind), accepted=accepted)
    if not _is_whole(row.get("seat"), 0 if kind in ("bell", "stop") else 1, seats):
        raise _bad(file, number, "seat", found=_shown(row.get("seat")), seats=seats)
    if not _is_whole(row.get("seconds", 0), 0, 10**9):
        raise _bad(file, number, "seconds", found=_shown(row["seconds"]))
    if not isinstance(row.get("sentence"), str):
        raise _bad(file, number, "sentence")
    if kind in ("move", "attempt"):
        args = row.get("args")
        whole = isinstance(args, list) and all(_is_whole(value, 0, 10**6) for value in args)
        if not whole or not _is_whole(row.get("number"), 0, 14):
            raise _bad(file, number, "arguments")
    if kind == "undo" and not _is_whole(row.get("back"), 1, 10**6):
        raise _bad(file, number, "back", found=_shown(row.get("back")))


def _check_result(file: str, number: int, row: Data, seats: int) -> None:
    for key in ("points", "claims"):
        values = row.get(key)
        whole = isinstance(values, list) and all(_is_whole(v, -(10**6), 10**6) for v in values)
        if not whole or len(values or ()) != seats:
            raise _bad(file, number, "result-values", key=key, seats=seats)


def _shown(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)[:40]


def replay(record: Record, game: Game) -> Course:
    """Play a record again; every sentence and the result are held against it.

    ``game`` must be the design that was played (`Game.version`).

    Raises
    ------
    BadUsage
        Another design, or something else comes out; names file and line.
    """
    if game.version != record.design:
        raise _bad(record.file, 1, "design", found=record.design, game=game.version)
    seats = len(record.players)
    if seats not in game.rules.table_sizes:
        sizes = game.rules.table_sizes
        raise _bad(record.file, 1, "seats", seats=seats, low=sizes[0], high=sizes[-1])
    tables: Tables = compile_game(game, seats)
    course = Course(game, tables, record.seed, record.players, record.help_level)
    for number, row in enumerate(record.lines, start=2):
        _check_now(record.file, number, row, course)
        told = _play(course, row)
        if told != row["sentence"]:
            raise _bad(record.file, number, "differs", sentence=told)
    found = _result(course)
    for key, value in found.items():
        if record.result.get(key) != value:
            line = len(record.lines) + 2
            raise _bad(record.file, line, "result", key=key, value=_shown(value))
    return course


def _check_now(file: str, number: int, row: Data, course: Course) -> None:
    """Refuse a line that cannot come here."""
    if course.over_by is not None:
        raise _bad(file, number, "after-end")
    kind = row["move"]
    if kind == "undo":
        if row["back"] > course.undoable:
            raise _bad(file, number, "undo", most=course.undoable)
    elif kind in ("move", "attempt"):
        deciding = course.position.seat_to_move + 1
        if row["seat"] != deciding:
            raise _bad(file, number, "turn", found=row["seat"], seat=deciding)
        fits = is_well_formed(row["number"], row["args"], course.tables)
        legal = fits and move_of(row) in course.position.legal_moves()
        if kind == "move" and not legal:
            raise _bad(file, number, "illegal")
        if kind == "attempt" and (legal or not fits or not _is_attempt(course, row)):
            raise _bad(file, number, "no-attempt")


def _is_attempt(course: Course, row: Data) -> bool:
    seat = course.position.seat_to_move
    why = course.referee.explain(course.position, seat, move_of(row))
    return why.of_facts
