import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from catchpan.store.errors import NewerSchemaError, NotOurDatabaseError
from catchpan.store.migration import MIGRATIONS, Migration, applied, migrate

COLOUR = Migration(2, "colour", ("ALTER TABLE event ADD COLUMN colour TEXT",))
BAD = Migration(3, "bad", ("CREATE TABLE half (a)", "CREATE NONSENSE"))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "calls.sqlite3"


@pytest.fixture
def connection(path: Path) -> Iterator[sqlite3.Connection]:
    opened = sqlite3.connect(path, isolation_level=None)
    yield opened
    opened.close()


def columns(connection: sqlite3.Connection) -> list[str]:
    return [row[1] for row in connection.execute("PRAGMA table_info(event)")]


def tables(connection: sqlite3.Connection) -> list[str]:
    rows = connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name")
    return [row[0] for row in rows]


def test_migrations_are_numbered_from_one_without_gaps() -> None:
    assert [one.number for one in MIGRATIONS] == list(range(1, len(MIGRATIONS) + 1))


def test_an_empty_database_is_brought_up_to_date_once(
    connection: sqlite3.Connection, path: Path
) -> None:
    assert applied(connection) == 0
    assert migrate(connection, path) == len(MIGRATIONS)
    assert applied(connection) == len(MIGRATIONS)
    assert migrate(connection, path) == 0
    recorded = connection.execute("SELECT number, title FROM migration").fetchall()
    assert recorded == [(one.number, one.title) for one in MIGRATIONS]


def test_only_the_new_migrations_run_and_the_old_file_is_copied_first(
    connection: sqlite3.Connection, path: Path
) -> None:
    migrate(connection, path, MIGRATIONS[:1])
    assert migrate(connection, path, (*MIGRATIONS[:1], COLOUR)) == 1
    assert "colour" in columns(connection)
    copy = sqlite3.connect(path.with_name("calls.sqlite3.before-2"))
    assert "colour" not in columns(copy)
    assert applied(copy) == 1
    copy.close()


def test_a_failing_migration_leaves_no_trace_and_the_earlier_ones_stand(
    connection: sqlite3.Connection, path: Path
) -> None:
    with pytest.raises(sqlite3.OperationalError, match="NONSENSE"):
        migrate(connection, path, (*MIGRATIONS[:1], COLOUR, BAD))
    assert applied(connection) == 2
    assert tables(connection) == ["event", "migration"]
    assert not connection.in_transaction


def test_a_migration_done_meanwhile_by_another_process_is_not_done_twice(
    connection: sqlite3.Connection, path: Path
) -> None:
    class Late(list[Migration]):
        """Lets another process go first, once the work to do has been chosen."""

        def __getitem__(self, key: slice) -> list[Migration]:  # type: ignore[override]
            chosen = list(self)[key]
            if isinstance(chosen, list):
                other = sqlite3.connect(path, isolation_level=None)
                migrate(other, path)
                other.close()
            return chosen

    assert migrate(connection, path, Late(MIGRATIONS[:1])) == 0
    assert applied(connection) == 1


def test_a_newer_schema_is_refused(connection: sqlite3.Connection, path: Path) -> None:
    migrate(connection, path, (*MIGRATIONS[:1], COLOUR))
    with pytest.raises(NewerSchemaError, match="schema 2, this version knows only up to 1"):
        migrate(connection, path, MIGRATIONS[:1])


def test_another_programs_database_is_refused_by_its_number(
    connection: sqlite3.Connection, path: Path
) -> None:
    connection.execute("PRAGMA application_id = 12345")
    with pytest.raises(NotOurDatabaseError):
        migrate(connection, path)
    assert tables(connection) == []
