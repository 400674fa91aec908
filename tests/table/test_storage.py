"""What the storage promises: nothing answered is lost, a log only grows, one process at a time."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from nervure.errors import BadUsage
from nervure.table import Storage, open_storage
from nervure.table import _schema as schema

START = datetime(2026, 5, 1, 9, 30, tzinfo=UTC)

WRITER = """
import sys
from pathlib import Path
from nervure.table import open_storage
storage = open_storage(Path(sys.argv[1]))
table = storage.add_table("barges", "{}", "secret")
position = 0
while True:
    storage.append_move(table.id, position, position % 4, {"play": position})
    print(position, flush=True)
    position += 1
"""

HOLDER = """
import sys
from pathlib import Path
from nervure.table import open_storage
storage = open_storage(Path(sys.argv[1]))
print("open", flush=True)
sys.stdin.read()
"""

WORKER = """
import sys, time
from pathlib import Path
from nervure.table import Jobs, open_storage
storage = open_storage(Path(sys.argv[1]))
def work(job, progress, stop):
    for block in range(1000):
        progress("blocks", block, 1000)
        print(block, flush=True)
        time.sleep(0.02)
    return {}
jobs = Jobs(storage, {"count": work})
jobs.start()
jobs.add("barges", "count")
time.sleep(60)
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "workbench.sqlite3"


@pytest.fixture
def storage(file: Path) -> Iterator[Storage]:
    with open_storage(file, lambda: START) as opened:
        yield opened


def start(script: str, file: Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", script, str(file)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def read_lines(process: subprocess.Popen[str], count: int) -> list[str]:
    assert process.stdout is not None
    return [process.stdout.readline().strip() for _ in range(count)]


def kill(process: subprocess.Popen[str]) -> list[str]:
    """Kill at once, as a power cut would; give what was still told before."""
    os.kill(process.pid, signal.SIGKILL)
    assert process.stdin is not None
    process.stdin.close()
    process.wait()
    assert process.stdout is not None
    rest = process.stdout.read().split()
    process.stdout.close()
    return rest


@pytest.mark.parametrize("after", [1, 7, 40])
def test_every_move_that_was_answered_is_there_after_a_kill(file: Path, after: int) -> None:
    process = start(WRITER, file)
    told = read_lines(process, after) + kill(process)

    with open_storage(file) as storage:
        moves = storage.moves(storage.tables("barges")[0].id)
    assert [move.position for move in moves] == list(range(len(moves)))
    assert len(moves) >= len(told)
    assert all(move.move == {"play": move.position} for move in moves)


def test_a_table_goes_on_after_a_kill(file: Path) -> None:
    process = start(WRITER, file)
    read_lines(process, 3)
    kill(process)

    with open_storage(file) as storage:
        table = storage.tables("barges")[0]
        following = len(storage.moves(table.id))
        storage.append_move(table.id, following, 0, {"play": "on"})
        assert storage.moves(table.id)[-1].move == {"play": "on"}


def test_a_second_process_is_refused_with_a_sentence(file: Path) -> None:
    process = start(HOLDER, file)
    read_lines(process, 1)
    try:
        with pytest.raises(BadUsage, match=r"workbench\.sqlite3 is in use"):
            open_storage(file)
    finally:
        kill(process)

    open_storage(file).close()  # the lock went with the process


def test_a_job_of_a_killed_process_is_stopped_and_can_go_on(file: Path) -> None:
    process = start(WORKER, file)
    read_lines(process, 30)
    kill(process)

    with open_storage(file) as storage:
        assert storage.interrupt_jobs() == 1
        job = storage.jobs()[0]
        assert (job.state, job.interrupted) == ("stopped", True)
        assert storage.queue_again(job.id)
        following = storage.next_job()
        assert following is not None
        assert following.goes_on


@pytest.mark.parametrize("position", [0, 2, 7])
def test_a_move_at_another_position_than_the_next_is_refused(
    storage: Storage, position: int
) -> None:
    table = storage.add_table("barges", "{}", "seed")
    storage.append_move(table.id, 0, 1, {"play": "lay"})

    with pytest.raises(BadUsage, match=f"position {position}, but the table is at 1"):
        storage.append_move(table.id, position, 1, {"play": "lay"})


@pytest.mark.parametrize(
    "statement", ["UPDATE moves SET move = '{}'", "DELETE FROM moves", "UPDATE moves SET seat = 3"]
)
def test_a_log_refuses_to_be_changed(storage: Storage, file: Path, statement: str) -> None:
    table = storage.add_table("barges", "{}", "seed")
    storage.append_move(table.id, 0, 1, {"play": "lay"})
    storage.close()

    with sqlite3.connect(file) as connection, pytest.raises(sqlite3.IntegrityError):
        connection.execute(statement)
    connection.close()


def test_a_deleted_table_takes_its_log_along(storage: Storage) -> None:
    table = storage.add_table("barges", "{}", "seed")
    storage.append_move(table.id, 0, 1, {"play": "lay"})

    storage.delete_table(table.id)

    assert storage.table(table.id) is None
    assert storage.moves(table.id) == ()


def test_a_table_that_has_ended_takes_no_more_moves(storage: Storage) -> None:
    table = storage.add_table("barges", "{}", "seed")
    storage.end_table(table.id)

    with pytest.raises(BadUsage, match="no open table"):
        storage.append_move(table.id, 0, 1, {})


def test_an_older_database_is_copied_before_it_is_brought_up_to_date(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with open_storage(file) as storage:
        storage.add_table("barges", "{}", "seed")
    monkeypatch.setattr(schema, "STEPS", (*schema.STEPS, "CREATE TABLE later (a INTEGER);"))
    monkeypatch.setattr(schema, "VERSION", 2)

    with open_storage(file) as storage:
        assert len(storage.tables("barges")) == 1

    copy = sqlite3.connect(file.with_name("workbench.sqlite3.version-1.bak"))
    assert copy.execute("PRAGMA user_version").fetchone() == (1,)
    assert copy.execute("SELECT COUNT(*) FROM tables").fetchone() == (1,)
    copy.close()


def test_an_upgrade_that_fails_changes_nothing(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    open_storage(file).close()
    monkeypatch.setattr(schema, "STEPS", (*schema.STEPS, "CREATE TABLE later (a); BROKEN;"))

    monkeypatch.setattr(schema, "VERSION", 2)
    with pytest.raises(BadUsage):
        open_storage(file)

    connection = sqlite3.connect(file)
    assert connection.execute("PRAGMA user_version").fetchone() == (1,)
    found = connection.execute("SELECT COUNT(*) FROM sqlite_master WHERE name = 'later'")
    assert found.fetchone() == (0,)
    connection.close()


def test_a_newer_database_is_left_alone(file: Path) -> None:
    open_storage(file).close()
    connection = sqlite3.connect(file)
    connection.execute(f"PRAGMA user_version = {schema.VERSION + 1}")
    connection.close()

    with pytest.raises(BadUsage, match="newer Nervure"):
        open_storage(file)


def test_a_file_that_is_no_database_is_named(file: Path) -> None:
    file.write_text("tiers, structures, links\n" * 200)

    with pytest.raises(BadUsage, match="no database of Nervure"):
        open_storage(file)


def test_what_is_written_waits_for_the_disk(storage: Storage) -> None:
    rows = storage._rows("PRAGMA synchronous") + storage._rows("PRAGMA journal_mode")

    assert rows == [(2,), ("wal",)]  # 2 is FULL: sqlite.org/pragma.html#pragma_synchronous


def test_jobs_are_forgotten_ninety_days_after_they_ended(file: Path) -> None:
    day = START
    with open_storage(file, lambda: day) as storage:
        storage.end_job(storage.add_job("barges", "check", {}).id, "done")
        storage.add_job("barges", "check", {})
        day = START + timedelta(days=89)
        assert storage.delete_old_jobs() == 0
        day = START + timedelta(days=91)
        assert storage.delete_old_jobs() == 1
        assert [job.state for job in storage.jobs()] == ["queued"]


def test_deleting_a_project_leaves_the_others(storage: Storage) -> None:
    for project in ("barges", "leg"):
        table = storage.add_table(project, "{}", "seed")
        storage.append_move(table.id, 0, 0, {})
        storage.add_job(project, "check", {})
        storage.keep_draft(project, "map/links.csv", {"changes": []})

    storage.delete_project("barges")

    assert [
        (row.project, row.tables, row.moves, row.jobs, row.drafts) for row in storage.kept()
    ] == [("leg", 1, 1, 1, 1)]


def test_an_export_holds_everything_but_secrets(storage: Storage) -> None:
    secret = storage.secret("cookies")
    table = storage.add_table("barges", '{"title": "Barges"}', "seed")
    storage.append_move(table.id, 0, 2, {"play": "lay"})
    storage.keep_draft("barges", "map/links.csv", {"changes": [1]})

    data = storage.export("barges")

    assert data["tables"][0]["moves"] == [
        {"position": 0, "seat": 2, "move": {"play": "lay"}, "made": START.isoformat()}
    ]
    assert data["drafts"][0]["content"] == {"changes": [1]}
    assert secret.hex() not in str(data)
    assert str(secret) not in str(data)


def test_the_seed_of_a_table_is_exported_once_it_is_over(storage: Storage) -> None:
    table = storage.add_table("barges", "{}", "8675309")

    running = storage.export("barges")["tables"][0]["seed"]
    storage.end_table(table.id)

    assert (running, storage.export("barges")["tables"][0]["seed"]) == ("", "8675309")


def test_tables_that_run_are_found_whatever_their_project(storage: Storage) -> None:
    tables = [storage.add_table(project, "{}", "1") for project in ("barges", "leg", "leg")]
    storage.end_table(tables[1].id)

    assert [table.id for table in storage.running_tables()] == [tables[0].id, tables[2].id]


def test_a_secret_stays_the_same(file: Path) -> None:
    with open_storage(file) as storage:
        first = storage.secret("cookies")
    with open_storage(file) as storage:
        assert storage.secret("cookies") == first
        assert storage.secret("other") != first
