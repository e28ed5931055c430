"""One event of a call's trail: what happened, on which device, and after what."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from enum import StrEnum
from typing import Final

from catchpan.calls.json_value import MAX_INTEGER, Json, freeze, thaw
from catchpan.units.errors import BadValue

_ID: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
_KIND: Final = re.compile(r"[a-z][a-z0-9_]{0,39}")
_RECORD_KEYS: Final = ("id", "call_id", "device_id", "seq", "lamport", "at_utc", "kind", "body")


class EventKind(StrEnum):
    """The kinds of event this version understands; others are kept and passed over."""

    CALL_OPENED = "call_opened"
    SYSTEM_DESCRIBED = "system_described"
    READING_TAKEN = "reading_taken"
    WITHDRAWN = "withdrawn"
    STEP_DEFERRED = "step_deferred"
    WENT_TO = "went_to"
    POWER_SET = "power_set"
    REPAIR_DONE = "repair_done"
    PROOF_DONE = "proof_done"
    LATENT_FOUND = "latent_found"
    PHOTO_TAKEN = "photo_taken"
    NOTED = "noted"
    CLOSED = "closed"


@dataclass(frozen=True, order=False)
class Event:
    """One thing that happened during a call; never changed once made.

    Parameters
    ----------
    id, call_id, device_id : str
        1 to 64 letters, digits, dots, dashes or underscores; the event's id is made by the device.
    seq : int
        Counts the device's own events in this call, from 1 to 2^53 - 1.
    lamport : int
        One more than the largest the device had seen in this call, from 1 to 2^53 - 1, so that a
        cause is always smaller than its effect whatever the clocks say (Lamport 1978, "Time,
        clocks, and the ordering of events in a distributed system", implementation rule IR2;
        from memory).
    at_utc : datetime
        The device's own clock, with a time zone; kept in UTC, cut to milliseconds. For people to
        read: nothing is ordered by it.
    kind : str
        An `EventKind` or the kind of a newer version.
    body : mapping
        JSON values; frozen here.

    Raises
    ------
    BadValue
        When a field is outside what is said above.
    """

    id: str
    call_id: str
    device_id: str
    seq: int
    lamport: int
    at_utc: datetime
    kind: str
    body: Mapping[str, Json] = field(hash=False)

    def __post_init__(self) -> None:
        for name in ("id", "call_id", "device_id"):
            _check_pattern(name, getattr(self, name), _ID, "1 to 64 letters, digits, '.', '-', '_'")
        _check_pattern("kind", self.kind, _KIND, "a word such as 'noted'")
        _check_count("seq", self.seq)
        _check_count("lamport", self.lamport)
        object.__setattr__(self, "kind", str(self.kind))
        object.__setattr__(self, "at_utc", as_utc(self.at_utc))
        object.__setattr__(self, "body", _frozen_body(self.body))

    @property
    def order_key(self) -> tuple[int, str, int, str]:
        """Sort events by this: causes come before their effects, and no two events are equal."""
        return (self.lamport, self.device_id, self.seq, self.id)


def as_utc(moment: datetime) -> datetime:
    """Return a moment in UTC, cut to the millisecond.

    Raises
    ------
    BadValue
        When the moment has no time zone or leaves the years 1 to 9999.
    """
    if moment.tzinfo is None:
        raise BadValue("at_utc", f"{moment} has no time zone", "a time with its zone")
    try:
        moment = moment.astimezone(UTC)
    except OverflowError as error:
        raise BadValue("at_utc", f"{moment} cannot be told in UTC", "a year 2 to 9998") from error
    return moment.replace(microsecond=moment.microsecond // 1000 * 1000)


def utc_text(moment: datetime) -> str:
    """Return a moment as text such as ``2025-07-04T15:09:26.535Z``."""
    return as_utc(moment).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def to_record(event: Event) -> dict[str, Json]:
    """Return the event as a plain JSON object, keys as in `Event`."""
    return {
        "id": event.id,
        "call_id": event.call_id,
        "device_id": event.device_id,
        "seq": event.seq,
        "lamport": event.lamport,
        "at_utc": utc_text(event.at_utc),
        "kind": event.kind,
        "body": thaw(event.body),
    }


def from_record(record: object) -> Event:
    """Return the event that a plain JSON object describes.

    Raises
    ------
    BadValue
        When a field is missing or cannot be used.
    """
    if not isinstance(record, Mapping):
        problem = f"{str(record)[:40]!r} is not an object"
        raise BadValue("event", problem, "an object with the fields of an event")
    missing = [key for key in _RECORD_KEYS if key not in record]
    if missing:
        raise BadValue("event", f"missing {', '.join(missing)}", "all the fields of an event")
    fields = {key: record[key] for key in _RECORD_KEYS}
    return Event(**{**fields, "at_utc": _moment(fields["at_utc"])})


def _moment(text: object) -> datetime:
    try:
        return datetime.fromisoformat(str(text))
    except ValueError as error:
        problem = f"{str(text)[:40]!r} is not a time"
        raise BadValue("at_utc", problem, "a time such as '2025-07-04T15:09:26.535Z'") from error


def _check_pattern(name: str, value: object, pattern: re.Pattern[str], expected: str) -> None:
    if not isinstance(value, str) or not pattern.fullmatch(value):
        raise BadValue(name, f"{str(value)[:80]!a} cannot be used", expected)


def _check_count(name: str, value: object) -> None:
    expected = "a whole number from 1 to 2^53 - 1"
    if isinstance(value, bool) or not isinstance(value, int):
        raise BadValue(name, f"{str(value)[:40]!a} is no count", expected)
    if not 1 <= value <= MAX_INTEGER:
        side = "small" if value < 1 else "large"
        raise BadValue(name, f"the count is too {side}", expected)


def _frozen_body(body: object) -> Mapping[str, Json]:
    frozen = freeze(body)
    if not isinstance(frozen, Mapping):
        raise BadValue("body", f"{str(body)[:40]!a} is not an object", "an object")
    return frozen
