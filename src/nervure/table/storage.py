"""What the workbench keeps: tables with their moves, jobs, edits that could not be saved.

One SQLite file. What a call wrote is on the disk when it returns (write-ahead log,
``synchronous = FULL``): a crash loses nothing that was answered. One process holds a
database at a time; a second one is refused with a sentence. Time comes from the clock
that is passed in. What a move or a job means is not looked at here.
"""

from __future__ import annotations

import json
import secrets
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import RLock
from types import TracebackType
from typing import Any, Self

from nervure import words
from nervure.errors import BadUsage
from nervure.table._schema import VERSION, upgrade, version_of
from nervure.table.kept import Draft, Job, JobState, Kept, Move, Table

Clock = Callable[[], datetime]
JOBS_KEPT_DAYS = 90


def now() -> datetime:
    """Give the time of day, for those who pass a clock in."""
    return datetime.now(UTC)


def open_storage(path: Path, clock: Clock = now) -> Storage:
    """Open the database of a file, made or brought up to date as needed.

    Raises
    ------
    BadUsage
        Another process holds it, a newer Nervure wrote it, or it is no database.
    """
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    connection = sqlite3.connect(path, isolation_level=None, check_same_thread=False, timeout=0.5)
    try:
        connection.execute("PRAGMA locking_mode = EXCLUSIVE")
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("BEGIN IMMEDIATE")  # takes the lock, which then stays
        connection.execute("COMMIT")
        if version_of(connection) > VERSION:
            raise BadUsage(words.say("storage.newer", file=path.name))
        upgrade(connection, path)
    except sqlite3.OperationalError as problem:
        connection.close()
        raise BadUsage(words.say("storage.in-use", file=path.name)) from problem
    except sqlite3.DatabaseError as problem:
        connection.close()
        raise BadUsage(words.say("storage.damaged", file=path.name)) from problem
    except BadUsage:
        connection.close()
        raise
    return Storage(connection, path, clock)


class Storage:
    """An open database; every method may be called from any thread."""

    def __init__(self, connection: sqlite3.Connection, path: Path, clock: Clock) -> None:
        self._connection, self.path, self._clock = connection, path, clock
        self._lock = RLock()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Give the database free."""
        with self._lock:
            self._connection.close()

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        """Hold a transaction: all of it is on the disk afterwards, or nothing."""
        with self._lock:
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield self._connection
            except BaseException:
                self._connection.execute("ROLLBACK")
                raise
            self._connection.execute("COMMIT")

    def _rows(self, query: str, *values: object) -> list[tuple[Any, ...]]:
        with self._lock:
            return self._connection.execute(query, values).fetchall()

    def _time(self) -> str:
        return self._clock().isoformat(timespec="seconds")

    def secret(self, name: str) -> bytes:
        """Give 32 random bytes, made once and kept under a name."""
        with self._writing() as connection:
            connection.execute(
                "INSERT OR IGNORE INTO secrets VALUES (?, ?)", (name, secrets.token_bytes(32))
            )
        return bytes(self._rows("SELECT value FROM secrets WHERE name = ?", name)[0][0])

    # Tables and their moves

    def add_table(
        self, project: str, design: str, seed: str, settings: Mapping[str, Any] | None = None
    ) -> Table:
        """Lay a new table; editing the project later does not change its design."""
        table = Table(0, project, design, seed, dict(settings or {}), self._time(), None)
        with self._writing() as connection:
            found = connection.execute(
                "INSERT INTO tables (project, design, seed, settings, made) "
                "VALUES (?, ?, ?, ?, ?)",
                (project, design, seed, _text(table.settings), table.made),
            )
        return replace(table, id=int(found.lastrowid or 0))

    def table(self, table_id: int) -> Table | None:
        """Give a table, None if there is none."""
        return next(iter(self._tables("WHERE id = ? AND project != ''", table_id)), None)

    def tables(self, project: str) -> tuple[Table, ...]:
        """Give the tables of a project, newest first."""
        return self._tables("WHERE project = ? ORDER BY id DESC", project)

    def running_tables(self) -> tuple[Table, ...]:
        """Give the tables that have not ended, of every project, oldest first."""
        return self._tables("WHERE ended IS NULL AND project != '' ORDER BY id")

    def _tables(self, where: str, *values: object) -> tuple[Table, ...]:
        rows = self._rows(
            f"SELECT id, project, design, seed, settings, made, ended FROM tables {where}", *values
        )
        return tuple(
            Table(row[0], row[1], row[2], row[3], json.loads(row[4]), row[5], row[6])
            for row in rows
        )

    def append_move(
        self, table_id: int, position: int, seat: int, move: Mapping[str, Any]
    ) -> Move:
        """Append a move to a table's log; it is on the disk when this returns.

        Raises
        ------
        BadUsage
            The position is not the next one (a stale or double move), or the table is over
            or not there.
        """
        with self._writing() as connection:
            table = connection.execute(
                "SELECT ended FROM tables WHERE id = ? AND project != ''", (table_id,)
            ).fetchone()
            if table is None or table[0] is not None:
                raise BadUsage(words.say("storage.no-table", table=table_id))
            following = connection.execute(
                "SELECT COUNT(*) FROM moves WHERE table_id = ?", (table_id,)
            ).fetchone()[0]
            if position != following:
                raise BadUsage(words.say("storage.stale", position=position, following=following))
            made = self._time()
            connection.execute(
                "INSERT INTO moves VALUES (?, ?, ?, ?, ?)",
                (table_id, position, seat, _text(move), made),
            )
        return Move(position, seat, dict(move), made)

    def moves(self, table_id: int) -> tuple[Move, ...]:
        """Give a table's log from its first move on."""
        rows = self._rows(
            "SELECT position, seat, move, made FROM moves WHERE table_id = ? ORDER BY position",
            table_id,
        )
        return tuple(Move(row[0], row[1], json.loads(row[2]), row[3]) for row in rows)

    def end_table(self, table_id: int) -> None:
        """Close a table: its log takes no more moves."""
        with self._writing() as connection:
            connection.execute(
                "UPDATE tables SET ended = ? WHERE id = ? AND ended IS NULL",
                (self._time(), table_id),
            )

    def delete_table(self, table_id: int) -> None:
        """Forget a table with its whole log."""
        with self._writing() as connection:
            connection.execute("UPDATE tables SET project = '' WHERE id = ?", (table_id,))
            connection.execute("DELETE FROM moves WHERE table_id = ?", (table_id,))
            connection.execute("DELETE FROM tables WHERE id = ?", (table_id,))

    # Jobs

    def add_job(self, project: str, kind: str, options: Mapping[str, Any]) -> Job:
        """Queue a job."""
        with self._writing() as connection:
            found = connection.execute(
                "INSERT INTO jobs (project, kind, options, state, made) "
                "VALUES (?, ?, ?, 'queued', ?)",
                (project, kind, _text(options), self._time()),
            )
            job_id = int(found.lastrowid or 0)
        job = self.job(job_id)
        assert job is not None, "a job that was just written is there"
        return job

    def job(self, job_id: int) -> Job | None:
        """Give a job, None if there is none."""
        return next(iter(self._jobs("WHERE id = ?", job_id)), None)

    def jobs(self, project: str | None = None) -> tuple[Job, ...]:
        """Give the jobs of a project, or all, newest first."""
        if project is None:
            return self._jobs("ORDER BY id DESC")
        return self._jobs("WHERE project = ? ORDER BY id DESC", project)

    def next_job(self) -> Job | None:
        """Give the queued job that waits longest."""
        return next(iter(self._jobs("WHERE state = 'queued' ORDER BY id LIMIT 1")), None)

    def _jobs(self, where: str, *values: object) -> tuple[Job, ...]:
        rows = self._rows(
            "SELECT id, project, kind, options, state, label, done, total, interrupted, goes_on, "
            f"result, message, made, ended FROM jobs {where}",
            *values,
        )
        return tuple(
            Job(
                id=row[0],
                project=row[1],
                kind=row[2],
                options=json.loads(row[3]),
                state=row[4],
                label=row[5],
                done=row[6],
                total=row[7],
                interrupted=bool(row[8]),
                goes_on=bool(row[9]),
                result=json.loads(row[10]),
                message=row[11],
                made=row[12],
                ended=row[13],
            )
            for row in rows
        )

    def move_job(self, job_id: int, state: JobState, *, was: tuple[JobState, ...]) -> bool:
        """Take a job from one of the states ``was`` to another; tell whether it was in one."""
        marks = ", ".join("?" * len(was))
        with self._writing() as connection:
            found = connection.execute(
                f"UPDATE jobs SET state = ? WHERE id = ? AND state IN ({marks})",
                (state, job_id, *was),
            )
        return found.rowcount == 1

    def note_progress(self, job_id: int, label: str, done: int, total: int) -> None:
        """Note how far a job is."""
        with self._writing() as connection:
            connection.execute(
                "UPDATE jobs SET label = ?, done = ?, total = ? WHERE id = ?",
                (label, done, total, job_id),
            )

    def end_job(
        self,
        job_id: int,
        state: JobState,
        result: Mapping[str, Any] | None = None,
        message: str = "",
    ) -> None:
        """Note that a job is over, with what it gave or why it failed."""
        with self._writing() as connection:
            connection.execute(
                "UPDATE jobs SET state = ?, result = ?, message = ?, ended = ?, interrupted = 0 "
                "WHERE id = ?",
                (state, _text(result or {}), message, self._time(), job_id),
            )

    def queue_again(self, job_id: int) -> bool:
        """Queue a stopped job again, to go on; tell whether it was stopped."""
        with self._writing() as connection:
            found = connection.execute(
                "UPDATE jobs SET state = 'queued', goes_on = 1, interrupted = 0, ended = NULL "
                "WHERE id = ? AND state = 'stopped'",
                (job_id,),
            )
        return found.rowcount == 1

    def interrupt_jobs(self) -> int:
        """Stop what a process that is gone left running; those jobs can go on. Gives how many."""
        with self._writing() as connection:
            found = connection.execute(
                "UPDATE jobs SET state = 'stopped', interrupted = 1, ended = ? "
                "WHERE state IN ('running', 'stopping')",
                (self._time(),),
            )
        return found.rowcount

    def delete_old_jobs(self) -> int:
        """Forget jobs that have been over for `JOBS_KEPT_DAYS`. Gives how many."""
        limit = (self._clock() - timedelta(days=JOBS_KEPT_DAYS)).isoformat(timespec="seconds")
        with self._writing() as connection:
            found = connection.execute(
                "DELETE FROM jobs WHERE ended < ? AND state IN ('stopped', 'done', 'failed')",
                (limit,),
            )
        return found.rowcount

    # Edits that could not be saved

    def keep_draft(self, project: str, file: str, content: Mapping[str, Any]) -> None:
        """Keep an edit of a file; a newer one takes its place."""
        with self._writing() as connection:
            connection.execute(
                "INSERT OR REPLACE INTO drafts VALUES (?, ?, ?, ?)",
                (project, file, _text(content), self._time()),
            )

    def draft(self, project: str, file: str) -> Draft | None:
        """Give the edit that is kept of a file, None if there is none."""
        rows = self._rows(
            "SELECT project, file, content, made FROM drafts WHERE project = ? AND file = ?",
            project,
            file,
        )
        return next((Draft(row[0], row[1], json.loads(row[2]), row[3]) for row in rows), None)

    def drop_draft(self, project: str, file: str) -> None:
        """Forget the edit of a file."""
        with self._writing() as connection:
            connection.execute(
                "DELETE FROM drafts WHERE project = ? AND file = ?", (project, file)
            )

    # What is kept, deleting and exporting it

    def kept(self) -> tuple[Kept, ...]:
        """Tell how much is kept of every project."""
        rows = self._rows(
            "WITH names AS (SELECT project FROM tables WHERE project != '' UNION "
            "SELECT project FROM jobs UNION SELECT project FROM drafts) "
            "SELECT project, "
            "(SELECT COUNT(*) FROM tables t WHERE t.project = names.project), "
            "(SELECT COUNT(*) FROM moves m JOIN tables t ON t.id = m.table_id "
            " WHERE t.project = names.project), "
            "(SELECT COUNT(*) FROM jobs j WHERE j.project = names.project), "
            "(SELECT COUNT(*) FROM drafts d WHERE d.project = names.project) "
            "FROM names ORDER BY project"
        )
        return tuple(Kept(*row) for row in rows)

    def delete_project(self, project: str) -> None:
        """Forget everything kept of a project, save a job that runs; its files stay."""
        for table in self.tables(project):
            self.delete_table(table.id)
        with self._writing() as connection:
            connection.execute(
                "DELETE FROM jobs WHERE project = ? AND state NOT IN ('running', 'stopping')",
                (project,),
            )
            connection.execute("DELETE FROM drafts WHERE project = ?", (project,))

    def export(self, project: str) -> dict[str, Any]:
        """Give everything kept of a project as plain data; no secret is in it.

        The seed of a table that still runs is left out: it tells what lies face down.
        """
        with self._lock:
            tables = [
                {
                    **asdict(table),
                    "seed": table.seed if table.ended else "",
                    "moves": [asdict(move) for move in self.moves(table.id)],
                }
                for table in self.tables(project)
            ]
            jobs = [asdict(job) for job in self.jobs(project)]
            files = self._rows("SELECT file FROM drafts WHERE project = ?", project)
            drafts = [asdict(found) for (file,) in files if (found := self.draft(project, file))]
        return {"project": project, "tables": tables, "jobs": jobs, "drafts": drafts}


def _text(data: Mapping[str, Any]) -> str:
    return json.dumps(dict(data), sort_keys=True, ensure_ascii=False)
