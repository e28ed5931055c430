"""Events in a SQLite file: every append is one durable transaction, idempotent by event id."""

import json
import sqlite3
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Final, Self, TypeAlias

from catchpan.calls.errors import EventClashError
from catchpan.calls.event import Event, from_record, utc_text
from catchpan.calls.json_value import canonical_text
from catchpan.calls.ports import CallSummary
from catchpan.store.errors import BrokenDatabaseError, StorageError
from catchpan.store.migration import MIGRATIONS, Migration, migrate
from catchpan.store.set_aside import SetAside, set_aside
from catchpan.units.errors import BadValue

BUSY_SECONDS: Final = 10.0
"""How long to wait for another process that is writing; assumed: longer than any append takes."""

WAL_RETRY_SECONDS: Final = 0.02

_MAGIC: Final = b"SQLite format 3\x00"
_BROKEN: Final = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)
_TAILS: Final = ("-wal", "-shm", "-journal")
_COLUMNS: Final = ("id", "call_id", "device_id", "seq", "lamport", "at_utc", "kind", "body")
_INSERT: Final = """
INSERT INTO event (id, call_id, device_id, seq, lamport, at_utc, kind, body)
VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING
"""
_BY_ID: Final = """
SELECT id, call_id, device_id, seq, lamport, at_utc, kind, body FROM event WHERE id = ?
"""
_BY_CALL: Final = """
SELECT id, call_id, device_id, seq, lamport, at_utc, kind, body FROM event
WHERE call_id = ? ORDER BY lamport, device_id, seq, id
"""
_SUMMARIES: Final = """
SELECT call_id, count(*), min(at_utc), max(at_utc) FROM event
GROUP BY call_id ORDER BY max(arrival) DESC LIMIT ?
"""

_Row: TypeAlias = tuple[str, str, str, int, int, str, str, str]


class SqliteEventStore:
    """An event store in one SQLite file.

    Use `open_store`, which also deals with a broken file. Usable from any thread, though from one
    at a time (`SharedEventStore` sees to that); any number of processes may have the file open.

    Parameters
    ----------
    path : Path
        The database file; begun when absent. Its folder must exist and be writable.
    migrations : sequence of Migration, optional
        The schema's history.

    Raises
    ------
    BrokenDatabaseError
        When the file is not a sound database.
    NewerSchemaError, NotOurDatabaseError
        When the file was written by a newer version, or by another program.
    StorageError
        When the file cannot be opened or written.
    """

    def __init__(self, path: Path, migrations: Sequence[Migration] = MIGRATIONS) -> None:
        self.path = path
        with _told(path):
            _check_start(path)
            self._connection = sqlite3.connect(
                path, timeout=BUSY_SECONDS, isolation_level=None, check_same_thread=False
            )
        try:
            with _told(path):
                self._prepare(migrations)
        except BaseException:
            self.close()
            raise

    def append(self, events: Iterable[Event]) -> int:
        """Keep all these events or none; see `catchpan.calls.ports.EventStore.append`."""
        rows = [_row(event) for event in events]
        with self._transaction() as connection:
            return sum(_insert(connection, row) for row in rows)

    def events_of(self, call_id: str) -> tuple[Event, ...]:
        """Return the events of a call, causes before effects; empty for an unknown call."""
        with _told(self.path):
            return tuple(map(_event, self._connection.execute(_BY_CALL, (call_id,))))

    def calls(self, limit: int | None = None) -> tuple[CallSummary, ...]:
        """Return the calls, the one that arrived last first."""
        with _told(self.path):
            rows = self._connection.execute(_SUMMARIES, (-1 if limit is None else limit,))
            return tuple(_summary(*row) for row in rows)

    def close(self) -> None:
        """Let go of the file; closing twice is harmless."""
        self._connection.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _prepare(self, migrations: Sequence[Migration]) -> None:
        self._connection.execute("PRAGMA synchronous = FULL")
        _check_sound(self._connection, self.path)
        migrate(self._connection, self.path, migrations)
        _enter_wal(self._connection)

    @contextmanager
    def _transaction(self) -> Iterator[sqlite3.Connection]:
        with _told(self.path):
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield self._connection
                self._connection.execute("COMMIT")
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise


def open_store(
    path: Path, migrations: Sequence[Migration] = MIGRATIONS
) -> tuple[SqliteEventStore, SetAside | None]:
    """Open the store, setting a broken file aside and beginning a new one in its place.

    Returns
    -------
    tuple of SqliteEventStore and SetAside or None
        The store, and a notice when a broken file was set aside.

    Raises
    ------
    StorageError
        When the file cannot be opened, is newer, belongs to another program, or cannot be renamed.
    """
    seen = _identity(path)
    try:
        return SqliteEventStore(path, migrations), None
    except BrokenDatabaseError as error:
        if _identity(path) != seen:  # another process has set it aside meanwhile
            return SqliteEventStore(path, migrations), None
        with _told(path):
            notice = set_aside(path, error.problem, datetime.now(UTC), _TAILS)
        return SqliteEventStore(path, migrations), notice


def _identity(path: Path) -> tuple[int, int] | None:
    if not path.exists():
        return None
    status = path.stat()
    return (status.st_dev, status.st_ino)


def _check_start(path: Path) -> None:
    """Look before SQLite does, because SQLite deletes the log of a file it cannot read."""
    log = path.with_name(f"{path.name}-wal")
    start = b""
    if path.exists():
        with path.open("rb") as file:
            start = file.read(len(_MAGIC))
    if start and start != _MAGIC:
        raise BrokenDatabaseError(path, f"it starts with {start!r}")
    if not start and log.exists() and log.stat().st_size > 0:
        raise BrokenDatabaseError(path, "it is empty but its log is not")


def _check_sound(connection: sqlite3.Connection, path: Path) -> None:
    said = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if said != "ok":
        raise BrokenDatabaseError(path, str(said))


def _enter_wal(connection: sqlite3.Connection) -> None:
    """Switch to write-ahead logging; SQLite does not wait by itself while others do the same."""
    end = time.monotonic() + BUSY_SECONDS
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > end:
                raise
            time.sleep(WAL_RETRY_SECONDS)
        else:
            return


@contextmanager
def _told(path: Path) -> Iterator[None]:
    try:
        yield
    except (sqlite3.Error, OSError) as error:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        if code in _BROKEN:
            raise BrokenDatabaseError(path, str(error)) from error
        hint = "free some space, close other programs that use the file, or check who may write it"
        raise StorageError(path, f"the storage refused: {error}", hint) from error
    except (ValueError, BadValue) as error:
        hint = "somebody changed the file by hand; put an older copy in its place"
        raise StorageError(path, f"an event in the file is damaged: {error}", hint) from error


def _insert(connection: sqlite3.Connection, row: _Row) -> bool:
    if connection.execute(_INSERT, row).rowcount == 1:
        return True
    if _event(connection.execute(_BY_ID, (row[0],)).fetchone()) != _event(row):
        raise EventClashError(row[0])
    return False


def _row(event: Event) -> _Row:
    return (
        event.id,
        event.call_id,
        event.device_id,
        event.seq,
        event.lamport,
        utc_text(event.at_utc),
        event.kind,
        canonical_text(event.body),
    )


def _event(row: _Row) -> Event:
    record = dict(zip(_COLUMNS, row, strict=True))
    return from_record(record | {"body": json.loads(row[-1])})


def _summary(call_id: str, count: int, first: str, last: str) -> CallSummary:
    return CallSummary(call_id, count, datetime.fromisoformat(first), datetime.fromisoformat(last))
