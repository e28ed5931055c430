import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.calls.errors import EventClashError
from catchpan.calls.event import Event
from catchpan.calls.json_value import Json
from catchpan.calls.trail import Trail
from catchpan.store.errors import NewerTrailFileError, NotATrailFileError, StorageError
from catchpan.store.sqlite import SqliteEventStore
from catchpan.store.trail_file import (
    export_calls,
    export_trails,
    import_trails,
    read_trails,
    write_file,
)
from catchpan.units.errors import UnknownName

MakeEvent = Callable[..., Event]
EPOCH = datetime(2025, 1, 1, tzinfo=UTC)
WORDS = st.text(st.characters(codec="utf-8"), max_size=12)


@st.composite
def trail_lists(draw: st.DrawFn) -> tuple[Trail, ...]:
    """Up to three calls with any events, of any kind, from wild clocks."""
    return tuple(
        Trail(call_id, tuple(_event(draw, call_id, n) for n in range(draw(st.integers(0, 4)))))
        for call_id in draw(st.lists(st.sampled_from("abc"), unique=True))
    )


def _event(draw: st.DrawFn, call_id: str, n: int) -> Event:
    at_utc = EPOCH + timedelta(hours=draw(st.integers(-90000, 90000)))
    kind = draw(st.sampled_from(("noted", "drone_flown")))
    lamport = draw(st.integers(1, 99))
    return Event(f"{call_id}-{n}", call_id, "van", n + 1, lamport, at_utc, kind, _body(draw))


def _body(draw: st.DrawFn) -> dict[str, Json]:
    return {"text": draw(WORDS), draw(WORDS): draw(st.floats(-1e9, 1e9))}


@pytest.fixture
def trail(event: MakeEvent) -> Trail:
    return Trail("c1", tuple(event(n) for n in range(1, 5)))


@pytest.fixture
def lines(trail: Trail) -> list[bytes]:
    return export_trails([trail]).splitlines(keepends=True)


@given(trail_lists())
def test_what_was_exported_is_imported_equal(trails: tuple[Trail, ...]) -> None:
    if not trails:
        return
    found = read_trails(export_trails(trails))
    assert found.trails == trails
    assert found.problems == ()
    assert export_trails(found.trails) == export_trails(trails)


@given(trail_lists().filter(bool), st.data())
def test_a_file_cut_anywhere_keeps_its_good_lines_and_tells_the_cut(
    trails: tuple[Trail, ...], data: st.DataObject
) -> None:
    whole = export_trails(trails[:1])
    cut = whole[: data.draw(st.integers(whole.index(b"\n"), len(whole)))]
    wanted, got = whole.split(b"\n")[:-1], cut.split(b"\n")
    good = [line for line, full in zip(got, wanted, strict=False) if line == full]
    found = read_trails(cut)
    assert found.trails == (Trail(trails[0].call_id, trails[0].events[: len(good) - 1]),)
    assert bool(found.problems) == (len(good) < len(wanted))
    assert {one.line for one in found.problems} <= {len(got)}


@given(trail_lists().filter(bool))
def test_joined_files_and_repeated_lines_change_nothing(trails: tuple[Trail, ...]) -> None:
    data = export_trails(trails)
    found = read_trails(data + data)
    assert found.trails == trails
    assert found.problems == ()


def test_a_file_cut_in_the_middle_of_a_line_is_told_with_its_number(
    lines: list[bytes], trail: Trail
) -> None:
    found = read_trails(b"".join(lines[:3]) + lines[3][:25])
    assert found.trails[0].events == trail.events[:2]
    assert [str(one) for one in found.problems] == [
        "line 4: the line is cut off",
        "line 4: events missing before this line: 1",
    ]


def test_a_file_cut_between_two_lines_is_told_too(lines: list[bytes]) -> None:
    found = read_trails(b"".join(lines[:3]))
    assert len(found.trails[0].events) == 2
    assert [str(one) for one in found.problems] == ["line 4: events missing before this line: 2"]


def test_a_last_line_that_lacks_only_its_end_counts(lines: list[bytes], trail: Trail) -> None:
    found = read_trails(b"".join(lines).rstrip(b"\n"))
    assert found.trails == (trail,)
    assert found.problems == ()


@pytest.mark.parametrize(
    "damaged",
    [
        b"{oops",
        b"\xff\xfe",
        b"[1, 2]",
        b'{"id": "x"}',
        b"[" * 100_000,
        b"9" * 5000,
        b'{"seq": NaN}',
    ],
    ids=range(7),
)
def test_a_damaged_line_in_the_middle_costs_only_itself(
    lines: list[bytes], trail: Trail, damaged: bytes
) -> None:
    found = read_trails(b"".join([*lines[:2], damaged + b"\n", *lines[3:]]))
    assert found.trails[0].events == (trail.events[0], *trail.events[2:])
    assert [one.line for one in found.problems] == [3]


def test_other_line_ends_a_byte_order_mark_and_empty_lines_do_not_matter(
    lines: list[bytes], trail: Trail
) -> None:
    data = b"\xef\xbb\xbf" + b"\n".join(lines).replace(b"\n", b"\r\n")
    found = read_trails(data)
    assert found.trails == (trail,)
    assert found.problems == ()


def test_two_different_events_under_one_id_are_told_and_the_first_is_kept(
    lines: list[bytes], trail: Trail
) -> None:
    other = lines[1].replace(b'"hot"', b'"cold"')
    found = read_trails(b"".join([*lines, other]))
    assert found.trails == (trail,)
    assert [one.line for one in found.problems] == [6]
    assert "c1-1" in found.problems[0].problem


@pytest.mark.parametrize(
    "data", [b"", b"\n", b"hello", b"{}", b"[]", b"\xff", b'{"format": "x"}', b'{"format": "catch']
)
def test_a_file_that_does_not_start_with_an_envelope_is_refused(data: bytes) -> None:
    with pytest.raises(NotATrailFileError, match="line 1") as caught:
        read_trails(data)
    assert caught.value.exit_code == 4


def test_a_newer_version_is_refused_before_anything_is_imported(lines: list[bytes]) -> None:
    newer = json.dumps({"format": "catchpan-trail", "version": 2, "call_id": "c2"}).encode()
    with SqliteEventStore(Path(":memory:")) as store:
        with pytest.raises(NewerTrailFileError, match=r"line 6: .* version 2.* up to 1"):
            import_trails(store, b"".join([*lines, newer]))
        assert store.calls() == ()


def test_importing_twice_changes_nothing(lines: list[bytes], trail: Trail) -> None:
    with SqliteEventStore(Path(":memory:")) as store:
        first = import_trails(store, b"".join(lines))
        second = import_trails(store, b"".join(lines))
        assert (first.added, first.already_there) == (4, 0)
        assert (second.added, second.already_there) == (0, 4)
        assert store.events_of("c1") == trail.events


def test_a_cut_file_is_completed_by_importing_the_whole_one(
    lines: list[bytes], trail: Trail
) -> None:
    with SqliteEventStore(Path(":memory:")) as store:
        cut = import_trails(store, b"".join(lines)[:-30])
        assert [one.line for one in cut.problems] == [5]
        assert import_trails(store, b"".join(lines)).added == 1
        assert store.events_of("c1") == trail.events


def test_an_event_that_clashes_with_the_store_stops_its_call(
    lines: list[bytes], event: MakeEvent
) -> None:
    with SqliteEventStore(Path(":memory:")) as store:
        store.append([event(3, text="cold")])
        with pytest.raises(EventClashError, match="c1-3"):
            import_trails(store, b"".join(lines))
        assert store.events_of("c1") == (event(3, text="cold"),)


def test_a_store_is_exported_whole_or_call_by_call(event: MakeEvent) -> None:
    with SqliteEventStore(Path(":memory:")) as store, SqliteEventStore(Path(":memory:")) as other:
        store.append([event(1, "b"), event(1, "a"), event(2, "b")])
        whole = export_calls(store)
        assert import_trails(other, whole).added == 3
        assert export_calls(other) == whole
        one = read_trails(export_calls(store, ["b"]))
        assert [trail.call_id for trail in one.trails] == ["b"]
        with pytest.raises(UnknownName, match="unknown call 'bb'"):
            export_calls(store, ["b", "bb"])


def test_a_file_is_replaced_whole(tmp_path: Path) -> None:
    path = tmp_path / "call.jsonl"
    write_file(path, b"one")
    write_file(path, b"two")
    assert path.read_bytes() == b"two"
    assert [file.name for file in tmp_path.iterdir()] == ["call.jsonl"]


def test_a_file_that_cannot_be_replaced_is_told_and_nothing_is_left_behind(tmp_path: Path) -> None:
    (tmp_path / "folder" / "inside").mkdir(parents=True)
    with pytest.raises(StorageError, match="cannot write"):
        write_file(tmp_path / "folder", b"one")
    assert [file.name for file in tmp_path.iterdir()] == ["folder"]
    with pytest.raises(StorageError, match="name a file in a folder"):
        write_file(tmp_path / "missing" / "file", b"one")
