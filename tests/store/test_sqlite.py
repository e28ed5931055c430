import sqlite3
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.calls.errors import EventClashError
from catchpan.calls.event import Event
from catchpan.calls.json_value import MAX_INTEGER
from catchpan.calls.trail import Trail
from catchpan.store import sqlite
from catchpan.store.errors import (
    BrokenDatabaseError,
    NewerSchemaError,
    NotOurDatabaseError,
    StorageError,
)
from catchpan.store.sqlite import SqliteEventStore, open_store

MakeEvent = Callable[..., Event]
UTF8 = st.text(st.characters(codec="utf-8"), max_size=20)
SCALARS = st.none() | st.booleans() | st.floats(allow_nan=False, allow_infinity=False) | UTF8
BODIES = st.dictionaries(UTF8, SCALARS | st.lists(SCALARS, max_size=3), max_size=5)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "calls.sqlite3"


@pytest.fixture
def store(path: Path) -> Iterator[SqliteEventStore]:
    with SqliteEventStore(path) as opened:
        yield opened


def test_events_come_back_in_the_order_of_their_causes(
    store: SqliteEventStore, event: MakeEvent
) -> None:
    assert store.append([event(2), event(3), event(1)]) == 3
    assert store.events_of("c1") == (event(1), event(2), event(3))
    assert store.events_of("nobody") == ()


def test_events_outlive_the_store(path: Path, event: MakeEvent) -> None:
    with SqliteEventStore(path) as first:
        first.append([event(1)])
    with SqliteEventStore(path) as second:
        assert second.events_of("c1") == (event(1),)


@given(bodies=st.lists(BODIES, max_size=5), counts=st.integers(1, MAX_INTEGER))
def test_any_event_comes_back_equal(bodies: list[dict[str, object]], counts: int) -> None:
    at_utc = datetime(2025, 7, 4, tzinfo=UTC)
    events = tuple(
        Event(f"e{n}", "c1", "van", counts, counts, at_utc, "drone_flown", body)  # type: ignore[arg-type]
        for n, body in enumerate(bodies)
    )
    with SqliteEventStore(Path(":memory:")) as store:
        store.append(events)
        assert Trail("c1", store.events_of("c1")) == Trail("c1", events)


@given(sends=st.lists(st.lists(st.integers(1, 9), max_size=6), max_size=6))
def test_resending_in_any_portions_changes_nothing(
    event: MakeEvent, sends: list[list[int]]
) -> None:
    with SqliteEventStore(Path(":memory:")) as store:
        added = sum(store.append([event(n) for n in numbers]) for numbers in sends)
        wanted = {n for numbers in sends for n in numbers}
        assert added == len(wanted)
        assert [one.seq for one in store.events_of("c1")] == sorted(wanted)


def test_another_event_under_a_known_id_is_refused_with_its_whole_batch(
    store: SqliteEventStore, event: MakeEvent
) -> None:
    store.append([event(1)])
    with pytest.raises(EventClashError, match="c1-1"):
        store.append([event(2), event(1, text="cold")])
    assert store.events_of("c1") == (event(1),)
    assert store.append([event(2)]) == 1


def test_calls_are_listed_with_the_one_that_arrived_last_first(
    store: SqliteEventStore, event: MakeEvent
) -> None:
    store.append([event(1, "a"), event(5, "a"), event(2, "b")])
    store.append([event(3, "a")])
    first, second = store.calls()
    assert (first.call_id, first.event_count) == ("a", 3)
    assert (first.first_at_utc, first.last_at_utc) == (event(1).at_utc, event(5).at_utc)
    assert second.call_id == "b"
    assert [one.call_id for one in store.calls(1)] == ["a"]


def test_every_append_is_flushed_to_the_disk_before_it_returns(store: SqliteEventStore) -> None:
    """FULL is 2: https://sqlite.org/pragma.html#pragma_synchronous (from memory)."""
    assert store._connection.execute("PRAGMA synchronous").fetchone() == (2,)
    assert store._connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_a_full_disk_is_told_and_leaves_the_store_usable(
    store: SqliteEventStore, event: MakeEvent
) -> None:
    pages = store._connection.execute("PRAGMA page_count").fetchone()[0]
    store._connection.execute(f"PRAGMA max_page_count = {pages + 1}")
    with pytest.raises(StorageError, match="full") as caught:
        store.append([event(n, text="x" * 4000) for n in range(1, 9)])
    assert caught.value.exit_code == 6
    assert store.events_of("c1") == ()
    store._connection.execute("PRAGMA max_page_count = 100000")
    assert store.append([event(1)]) == 1


def test_many_processes_may_begin_the_same_file_at_once(path: Path, event: MakeEvent) -> None:
    def write(n: int) -> int:
        with SqliteEventStore(path) as one:
            return one.append([event(n), event(99)])

    with ThreadPoolExecutor(8) as pool:
        added = sum(pool.map(write, range(1, 17)))
    with SqliteEventStore(path) as after:
        assert added == len(after.events_of("c1")) == 17


def test_a_row_changed_by_hand_is_told(store: SqliteEventStore, event: MakeEvent) -> None:
    store.append([event(1)])
    store._connection.execute("UPDATE event SET body = '{' WHERE seq = 1")
    with pytest.raises(StorageError, match="damaged"):
        store.events_of("c1")


def test_a_file_that_cannot_be_opened_is_told(tmp_path: Path) -> None:
    with pytest.raises(StorageError, match="unable to open") as caught:
        open_store(tmp_path / "missing" / "calls.sqlite3")
    assert str(tmp_path) in caught.value.where


def test_a_store_that_was_closed_says_so(store: SqliteEventStore, event: MakeEvent) -> None:
    store.close()
    store.close()
    with pytest.raises(StorageError, match="closed"):
        store.append([event(1)])


def test_the_database_of_another_program_is_left_alone(path: Path) -> None:
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE recipe (name TEXT)")
    other.commit()
    other.close()
    before = path.read_bytes()
    with pytest.raises(NotOurDatabaseError):
        open_store(path)
    assert path.read_bytes() == before


def test_a_newer_schema_is_refused_and_left_alone(path: Path) -> None:
    with SqliteEventStore(path) as store:
        store._connection.execute("INSERT INTO migration VALUES (99, 'later', 'then')")
    before = path.read_bytes()
    with pytest.raises(NewerSchemaError, match=r"schema 99.*only up to 1") as caught:
        open_store(path)
    assert "update catchpan" in caught.value.hint
    assert path.read_bytes() == before


def overwritten(data: bytes) -> bytes:
    return b"these are not the bytes of a database" + data[37:]


def tiny(data: bytes) -> bytes:
    return data[3:7]


def stump(data: bytes) -> bytes:
    return data[:50]


def cut(data: bytes) -> bytes:
    return data[: len(data) // 2]


def holed(data: bytes) -> bytes:
    return data[:4096] + b"\xff" * 4096 + data[8192:]


def scrambled(data: bytes) -> bytes:
    """Spoil the list of cells of the last page, which SQLite notices only when it looks there."""
    last = len(data) - 4096
    return data[: last + 8] + b"\x0f\x00" * 8 + data[last + 24 :]


def beheaded(data: bytes) -> bytes:
    return b"\x00" * 100 + data[100:]


@pytest.mark.parametrize("damage", [overwritten, tiny, stump, cut, holed, scrambled, beheaded])
def test_a_broken_file_is_set_aside_whole_and_a_new_one_begun(
    path: Path, event: MakeEvent, damage: Callable[[bytes], bytes]
) -> None:
    with SqliteEventStore(path) as store:
        store.append([event(n, text="x" * 500) for n in range(1, 60)])
    broken = damage(path.read_bytes())
    path.write_bytes(broken)
    with pytest.raises(BrokenDatabaseError, match="broken"):
        SqliteEventStore(path)
    store, notice = open_store(path)
    with store:
        assert store.events_of("c1") == ()
        assert store.append([event(1)]) == 1
    assert notice is not None
    assert notice.aside.read_bytes() == broken
    assert notice.aside.name.startswith("calls.sqlite3.broken-20")
    assert str(notice.aside) in str(notice)
    again, quiet = open_store(path)
    with again:
        assert quiet is None
        assert again.events_of("c1") == (event(1),)


@pytest.mark.parametrize("start", [b"not a database" * 99, b"", None])
def test_the_log_of_a_broken_or_missing_file_is_kept_too(path: Path, start: bytes | None) -> None:
    if start is not None:
        path.write_bytes(start)
    path.with_name(path.name + "-wal").write_bytes(b"the log")
    store, notice = open_store(path)
    with store:
        assert store.calls() == ()
    assert notice is not None
    assert notice.aside.with_name(notice.aside.name + "-wal").read_bytes() == b"the log"
    assert notice.aside.exists() == (start is not None)


def test_a_file_another_process_has_set_aside_meanwhile_is_not_set_aside_again(
    path: Path, event: MakeEvent, monkeypatch: pytest.MonkeyPatch
) -> None:
    path.write_bytes(b"not a database" * 99)
    look = sqlite._check_start

    def look_slowly(file: Path) -> None:
        monkeypatch.setattr(sqlite, "_check_start", look)
        try:
            look(file)
        finally:  # another process comes first
            other, notice = open_store(file)
            assert notice is not None
            with other:
                other.append([event(1)])

    monkeypatch.setattr(sqlite, "_check_start", look_slowly)
    store, notice = open_store(path)
    with store:
        assert notice is None
        assert store.events_of("c1") == (event(1),)


def test_a_locked_file_is_not_taken_for_a_broken_one(
    path: Path, event: MakeEvent, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("catchpan.store.sqlite.BUSY_SECONDS", 0.05)
    with SqliteEventStore(path) as one, SqliteEventStore(path) as other:
        one._connection.execute("BEGIN IMMEDIATE")
        with pytest.raises(StorageError, match="locked"):
            other.append([event(1)])
        one._connection.execute("ROLLBACK")
        assert other.append([event(1)]) == 1
    assert [file.name for file in path.parent.iterdir()] == [path.name]
