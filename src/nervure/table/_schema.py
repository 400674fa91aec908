"""The tables of the database, version by version, and how an older one becomes a newer one.

A database carries its version (``PRAGMA user_version``). Each step below takes it one
version further; before the first of them the file is copied to ``NAME.version-N.bak``.
Steps are never changed once released: a change is a new step.

Moves are only ever appended: triggers refuse to change one, and to delete one whose table
is still there.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

STEPS: tuple[str, ...] = (
    """
    CREATE TABLE secrets (name TEXT PRIMARY KEY, value BLOB NOT NULL) STRICT;

    CREATE TABLE tables (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        project TEXT NOT NULL,
        design TEXT NOT NULL,
        seed TEXT NOT NULL,
        settings TEXT NOT NULL,
        made TEXT NOT NULL,
        ended TEXT
    ) STRICT;

    CREATE TABLE moves (
        table_id INTEGER NOT NULL REFERENCES tables (id),
        position INTEGER NOT NULL CHECK (position >= 0),
        seat INTEGER NOT NULL,
        move TEXT NOT NULL,
        made TEXT NOT NULL,
        PRIMARY KEY (table_id, position)
    ) STRICT, WITHOUT ROWID;

    CREATE TRIGGER moves_stay BEFORE UPDATE ON moves
    BEGIN SELECT RAISE(ABORT, 'a move is never changed'); END;

    CREATE TRIGGER moves_go_with_their_table BEFORE DELETE ON moves
    WHEN EXISTS (SELECT 1 FROM tables WHERE id = OLD.table_id AND project != '')
    BEGIN SELECT RAISE(ABORT, 'a move goes only with its table'); END;

    CREATE TABLE jobs (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        project TEXT NOT NULL,
        kind TEXT NOT NULL,
        options TEXT NOT NULL,
        state TEXT NOT NULL CHECK (
            state IN ('queued', 'running', 'stopping', 'stopped', 'done', 'failed')
        ),
        label TEXT NOT NULL DEFAULT '',
        done INTEGER NOT NULL DEFAULT 0,
        total INTEGER NOT NULL DEFAULT 0,
        interrupted INTEGER NOT NULL DEFAULT 0,
        goes_on INTEGER NOT NULL DEFAULT 0,
        result TEXT NOT NULL DEFAULT '{}',
        message TEXT NOT NULL DEFAULT '',
        made TEXT NOT NULL,
        ended TEXT
    ) STRICT;

    CREATE TABLE drafts (
        project TEXT NOT NULL,
        file TEXT NOT NULL,
        content TEXT NOT NULL,
        made TEXT NOT NULL,
        PRIMARY KEY (project, file)
    ) STRICT;
    """,
)
VERSION = len(STEPS)


def version_of(connection: sqlite3.Connection) -> int:
    """Give the version that a database carries; 0 for a new one."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def upgrade(connection: sqlite3.Connection, path: Path) -> None:
    """Take a database to the newest version, step by step, each step whole or not at all."""
    version = version_of(connection)
    if 0 < version < VERSION:
        _copy(connection, path.with_name(f"{path.name}.version-{version}.bak"))
    for step in range(version, VERSION):
        script = f"BEGIN IMMEDIATE; {STEPS[step]} PRAGMA user_version = {step + 1}; COMMIT;"
        try:
            connection.executescript(script)
        except sqlite3.Error:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise


def _copy(connection: sqlite3.Connection, to: Path) -> None:
    copy = sqlite3.connect(to)
    try:
        connection.backup(copy)
    finally:
        copy.close()
