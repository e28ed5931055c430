"""Trails as JSON Lines: an envelope line for each call, then one line for each event.

The files may be joined end to end, and a damaged file still gives its good lines.
"""

import json
import os
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from catchpan.calls.errors import EventClashError
from catchpan.calls.event import Event, from_record, to_record
from catchpan.calls.json_value import Json, canonical_text
from catchpan.calls.ports import EventStore
from catchpan.calls.trail import Trail
from catchpan.store.errors import NewerTrailFileError, NotATrailFileError, StorageError
from catchpan.units.errors import CatchpanError, UnknownName

FORMAT: Final = "catchpan-trail"
VERSION: Final = 1


@dataclass(frozen=True)
class LineProblem:
    """A line, counted from 1, that could not be used."""

    line: int
    problem: str

    def __str__(self) -> str:
        return f"line {self.line}: {self.problem}"


@dataclass(frozen=True)
class TrailFile:
    """What a trail file holds: the trails of its good lines, and what was wrong with the others."""

    trails: tuple[Trail, ...] = ()
    problems: tuple[LineProblem, ...] = ()


@dataclass(frozen=True)
class ImportReport:
    """What an import did."""

    added: int
    already_there: int
    problems: tuple[LineProblem, ...] = ()


@dataclass
class _Reader:
    """Collects events and problems while the lines go by."""

    events: dict[str, Event] = field(default_factory=dict)
    problems: list[LineProblem] = field(default_factory=list)
    call_ids: list[str] = field(default_factory=list)
    promised: int = 0

    def take(self, number: int, line: bytes) -> None:
        record = _record(line)
        if isinstance(record, Mapping) and "format" in record:
            self._take_envelope(number, record)
            return
        self.promised -= 1
        event = from_record(record)
        if self.events.setdefault(event.id, event) != event:
            raise EventClashError(event.id)

    def skip(self, number: int, problem: str) -> None:
        self.problems.append(LineProblem(number, problem))

    def end_part(self, number: int) -> None:
        if self.promised > 0:
            self.skip(number, f"events missing before this line: {self.promised}")
        self.promised = 0

    def trails(self) -> tuple[Trail, ...]:
        by_call: dict[str, list[Event]] = {call_id: [] for call_id in self.call_ids}
        for event in self.events.values():
            by_call.setdefault(event.call_id, []).append(event)
        return tuple(Trail(call_id, tuple(events)) for call_id, events in by_call.items())

    def _take_envelope(self, number: int, envelope: Mapping[str, object]) -> None:
        version, promised = envelope.get("version"), envelope.get("events")
        if not isinstance(version, int) or version > VERSION:
            raise NewerTrailFileError(number, version, VERSION)
        self.end_part(number)
        self.promised = promised if isinstance(promised, int) else 0
        self.call_ids.append(str(envelope.get("call_id")))


def trail_lines(trail: Trail) -> Iterator[str]:
    """Yield the lines of a trail, ASCII JSON without line ends; the same trail, the same lines."""
    envelope: dict[str, Json] = {
        "format": FORMAT,
        "version": VERSION,
        "call_id": trail.call_id,
        "events": len(trail.events),
    }
    yield canonical_text(envelope)
    for event in trail.events:
        yield canonical_text(to_record(event))


def export_trails(trails: Iterable[Trail]) -> bytes:
    """Return the bytes of a trail file."""
    lines = [line for trail in trails for line in trail_lines(trail)]
    return "".join(f"{line}\n" for line in lines).encode("ascii")


def read_trails(data: bytes) -> TrailFile:
    """Return the trails in the bytes of a trail file, keeping every good line.

    Parameters
    ----------
    data : bytes
        UTF-8 with any line ends; may be cut off anywhere or have damaged lines.

    Returns
    -------
    TrailFile
        The trails, and each line that could not be used, with its number.

    Raises
    ------
    NotATrailFileError
        When the first line is no envelope.
    NewerTrailFileError
        When any envelope is of a newer version.
    """
    lines = data.removeprefix(b"\xef\xbb\xbf").split(b"\n")
    _check_start(lines[0])
    reader = _Reader()
    for number, line in enumerate(lines, 1):
        if line.strip():
            _take_line(reader, number, line, last=number == len(lines))
    reader.end_part(len(lines))
    return TrailFile(reader.trails(), tuple(reader.problems))


def import_trails(store: EventStore, data: bytes) -> ImportReport:
    """Put the events of a trail file into a store; those already there change nothing.

    Each call is kept whole or not at all.

    Raises
    ------
    NotATrailFileError, NewerTrailFileError
        See `read_trails`; nothing was imported.
    EventClashError
        When the store holds another event under the same id; the calls before it were imported.
    CatchpanError
        When the storage refuses.
    """
    found = read_trails(data)
    added = sum(store.append(trail.events) for trail in found.trails)
    total = sum(len(trail.events) for trail in found.trails)
    return ImportReport(added, total - added, found.problems)


def export_calls(store: EventStore, call_ids: Iterable[str] | None = None) -> bytes:
    """Return the bytes of a trail file with these calls, or with every call of the store.

    Raises
    ------
    UnknownName
        When the store holds no such call.
    """
    known = sorted(summary.call_id for summary in store.calls())
    wanted = known if call_ids is None else list(call_ids)
    for call_id in wanted:
        if call_id not in known:
            raise UnknownName("call", call_id, known)
    return export_trails(Trail(call_id, store.events_of(call_id)) for call_id in wanted)


def write_file(path: Path, data: bytes) -> None:
    """Write a file so that at any moment it is there whole, old or new.

    Raises
    ------
    StorageError
        When the folder does not take the file.
    """
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        hint = "name a file in a folder that can be written"
        raise StorageError(path, f"cannot write the file: {error}", hint) from error


def _take_line(reader: _Reader, number: int, line: bytes, *, last: bool) -> None:
    try:
        reader.take(number, line)
    except NewerTrailFileError:
        raise
    except CatchpanError as problem:
        reader.skip(number, str(problem))
    except (ValueError, RecursionError) as error:
        reader.promised -= 1
        cut = "the line is cut off" if last else f"the line is not JSON ({error})"
        reader.skip(number, cut)


def _check_start(line: bytes) -> None:
    try:
        envelope = _record(line)
    except (ValueError, RecursionError):
        envelope = None
    if not isinstance(envelope, Mapping) or envelope.get("format") != FORMAT:
        raise NotATrailFileError(line[:40].decode("utf-8", "replace"))


def _record(line: bytes) -> object:
    return json.loads(line.decode("utf-8"))
