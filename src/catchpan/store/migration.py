"""Numbered changes of the database's schema, each in one transaction with its own record."""

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from catchpan.store.errors import NewerSchemaError, NotOurDatabaseError

APPLICATION_ID: Final = 0x63617463
"""What the header of our files says ("catc"), so that no other program's database is touched."""


@dataclass(frozen=True)
class Migration:
    """One step from schema ``number - 1`` to schema ``number``."""

    number: int
    title: str
    statements: tuple[str, ...]


MIGRATIONS: Final[tuple[Migration, ...]] = (
    Migration(
        1,
        "events",
        (
            f"PRAGMA application_id = {APPLICATION_ID}",
            """
            CREATE TABLE event (
                arrival INTEGER PRIMARY KEY,
                id TEXT NOT NULL UNIQUE,
                call_id TEXT NOT NULL,
                device_id TEXT NOT NULL,
                seq INTEGER NOT NULL,
                lamport INTEGER NOT NULL,
                at_utc TEXT NOT NULL,
                kind TEXT NOT NULL,
                body TEXT NOT NULL
            ) STRICT
            """,
            "CREATE INDEX event_by_call ON event (call_id, lamport, device_id, seq, id)",
        ),
    ),
)

_RECORD: Final = """
CREATE TABLE IF NOT EXISTS migration (
    number INTEGER PRIMARY KEY,
    title TEXT NOT NULL,
    applied_at_utc TEXT NOT NULL
) STRICT
"""


def applied(connection: sqlite3.Connection) -> int:
    """Return the number of the last migration applied; 0 for an empty database."""
    if not _has_table(connection, "migration"):
        return 0
    return int(connection.execute("SELECT ifnull(max(number), 0) FROM migration").fetchone()[0])


def migrate(
    connection: sqlite3.Connection, path: Path, migrations: Sequence[Migration] = MIGRATIONS
) -> int:
    """Bring the schema up to date, and return how many migrations that took.

    Parameters
    ----------
    connection : sqlite3.Connection
        In autocommit mode.
    path : Path
        The database's file, for errors and for the copy that is made before a filled database is
        changed (``NAME.before-NUMBER``; never overwritten).
    migrations : sequence of Migration, optional
        All of them, numbered 1, 2, 3 ...

    Raises
    ------
    NewerSchemaError
        When the database is ahead of this version.
    NotOurDatabaseError
        When the database belongs to another program.
    sqlite3.Error
        When a migration fails; it and the later ones are still to be done, the earlier ones stand.
    """
    _refuse_foreign(connection, path)
    start = applied(connection)
    last = migrations[-1].number
    if start > last:
        raise NewerSchemaError(path, start, last)
    if 0 < start < last:
        _copy_once(connection, path.with_name(f"{path.name}.before-{start + 1}"))
    return sum(_apply(connection, migration) for migration in migrations[start:])


def _apply(connection: sqlite3.Connection, migration: Migration) -> bool:
    connection.execute("BEGIN IMMEDIATE")
    try:
        if applied(connection) >= migration.number:  # another process was faster
            connection.execute("ROLLBACK")
            return False
        for statement in (_RECORD, *migration.statements):
            connection.execute(statement)
        now = datetime.now(UTC).isoformat(timespec="seconds")
        row = (migration.number, migration.title, now)
        connection.execute("INSERT INTO migration VALUES (?, ?, ?)", row)
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
    return True


def _refuse_foreign(connection: sqlite3.Connection, path: Path) -> None:
    # tables first: another process that begins the file meanwhile makes both in one transaction
    tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    claimed = connection.execute("PRAGMA application_id").fetchone()[0]
    if claimed not in (0, APPLICATION_ID) or (claimed == 0 and tables):
        raise NotOurDatabaseError(path)


def _copy_once(connection: sqlite3.Connection, target: Path) -> None:
    if not target.exists():
        connection.execute("VACUUM INTO ?", (str(target),))


def _has_table(connection: sqlite3.Connection, name: str) -> bool:
    query = "SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = ?"
    return connection.execute(query, (name,)).fetchone() is not None
