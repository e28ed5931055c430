from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest

from catchpan.calls.event import Event, EventKind, from_record, to_record
from catchpan.units.errors import BadValue

NOON = datetime(2025, 7, 4, 12, 0, tzinfo=UTC)
EVENT = Event("e1", "c1", "van-1", 1, 1, NOON, EventKind.NOTED, {"text": "hot"})


def test_an_event_comes_back_from_its_record() -> None:
    assert from_record(to_record(EVENT)) == EVENT


def test_an_event_of_a_newer_kind_comes_back_from_its_record() -> None:
    newer = replace(EVENT, kind="drone_flown", body={"height_m": [1, 2.5]})
    assert from_record(to_record(newer)) == newer


def test_the_body_of_an_event_cannot_be_changed_from_outside() -> None:
    body = {"text": "hot"}
    event = replace(EVENT, body=body)
    body["text"] = "cold"
    assert event.body == {"text": "hot"}
    with pytest.raises(TypeError):
        event.body["text"] = "cold"  # type: ignore[index]


def test_times_are_kept_in_utc_to_the_millisecond() -> None:
    moment = datetime(2025, 7, 4, 8, 0, 0, 1999, tzinfo=timezone(timedelta(hours=-4)))
    event = replace(EVENT, at_utc=moment)
    assert to_record(event)["at_utc"] == "2025-07-04T12:00:00.001Z"


def test_causes_come_before_effects_whatever_the_clocks_say() -> None:
    cause = replace(EVENT, id="cause", lamport=1, at_utc=NOON + timedelta(days=400))
    effect = replace(EVENT, id="effect", device_id="a", lamport=2, at_utc=NOON)
    assert sorted([effect, cause], key=lambda event: event.order_key) == [cause, effect]


def test_events_made_at_the_same_lamport_time_have_a_fixed_order() -> None:
    events = [replace(EVENT, id=name, device_id=device) for name in "ab" for device in "xy"]
    keys = [event.order_key for event in events]
    assert len(set(keys)) == 4


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("id", ""),
        ("id", "a b"),
        ("id", "x" * 65),
        ("id", 7),
        ("call_id", "../etc"),
        ("device_id", "vän"),
        ("seq", 0),
        ("seq", True),
        ("lamport", 2**53),
        ("lamport", 1.0),
        ("lamport", -1),
        ("kind", "Noted"),
        ("at_utc", "yesterday"),
        ("at_utc", "2025-07-04T12:00:00"),
        ("at_utc", "0001-01-01T00:00:00+05:00"),
        ("body", ["text"]),
    ],
)
def test_a_bad_field_is_named(field: str, value: object) -> None:
    with pytest.raises(BadValue) as caught:
        from_record(to_record(EVENT) | {field: value})
    assert caught.value.where == field


def test_all_missing_fields_are_named_at_once() -> None:
    with pytest.raises(BadValue, match="missing seq, lamport"):
        from_record({k: v for k, v in to_record(EVENT).items() if k not in ("seq", "lamport")})


def test_a_record_that_is_no_object_is_refused() -> None:
    with pytest.raises(BadValue, match="not an object"):
        from_record([1])
