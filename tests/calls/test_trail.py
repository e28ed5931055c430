"""The trail is a set that only grows: merging cannot lose, double or reorder anything."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.calls.body import BODIES, Body, Noted, ReadingTaken, WentTo, Withdrawn, body_fields
from catchpan.calls.errors import EventClashError, ForeignEventError
from catchpan.calls.event import Event, EventKind
from catchpan.calls.json_value import MAX_INTEGER, Json
from catchpan.calls.state import CallState
from catchpan.calls.trail import Trail, fold, merge

EPOCH = datetime(2025, 1, 1, tzinfo=UTC)


def made(trail: Trail, device: str, body: Body, *, skew: timedelta = timedelta()) -> Trail:
    """Add one event as a device that has seen this trail would, its clock off by ``skew``."""
    return made_raw(trail, device, body.kind, body_fields(body), EPOCH + skew)


def made_raw(
    trail: Trail, device: str, kind: str, body: dict[str, Json], at_utc: datetime = EPOCH
) -> Trail:
    seq = trail.next_seq(device)
    lamport = trail.next_lamport()
    event_id = f"{device}-{seq}"
    return trail.add([Event(event_id, trail.call_id, device, seq, lamport, at_utc, kind, body)])


@st.composite
def histories(draw: st.DrawFn) -> dict[str, Trail]:
    """Three devices with wild clocks that act, withdraw and sync at random; all they ever saw."""
    known = dict.fromkeys(("a", "b", "c"), Trail("c1"))
    for _ in range(draw(st.integers(0, 14))):
        device = draw(st.sampled_from("abc"))
        mine = known[device]
        act = draw(st.sampled_from(("read", "go", "newer", "broken", "withdraw", "sync")))
        skew = timedelta(hours=draw(st.integers(-9000, 9000)))
        if act == "sync":
            known[device] = merge(mine, known[draw(st.sampled_from("abc"))])
        elif act == "withdraw" and mine.events:
            target = draw(st.sampled_from(mine.events)).id
            known[device] = made(mine, device, Withdrawn(event_id=target), skew=skew)
        elif act == "read":
            reading = ReadingTaken(check_id=draw(st.sampled_from("xyz")), answer="yes")
            known[device] = made(mine, device, reading, skew=skew)
        elif act == "go":
            known[device] = made(mine, device, WentTo(place=draw(st.sampled_from("pq"))), skew=skew)
        else:
            kind = "drone_flown" if act == "newer" else "noted"
            known[device] = made_raw(mine, device, kind, {"words": act}, EPOCH + skew)
    return known


@given(histories())
def test_merging_is_commutative_associative_and_idempotent(known: dict[str, Trail]) -> None:
    a, b, c = known["a"], known["b"], known["c"]
    assert merge(a, b) == merge(b, a)
    assert merge(merge(a, b), c) == merge(a, merge(b, c))
    assert merge(a, a) == a
    assert merge(merge(a, b), b) == merge(a, b)


@given(histories())
def test_merging_loses_and_doubles_nothing(known: dict[str, Trail]) -> None:
    everything = merge(merge(known["a"], known["b"]), known["c"])
    wanted = {event.id for trail in known.values() for event in trail.events}
    ids = [event.id for event in everything.events]
    assert set(ids) == wanted
    assert len(ids) == len(wanted)


@given(histories(), st.data())
def test_the_state_does_not_depend_on_the_order_of_arrival(
    known: dict[str, Trail], data: st.DataObject
) -> None:
    whole = merge(merge(known["a"], known["b"]), known["c"])
    arrived = data.draw(st.permutations(whole.events + whole.events[:3]))
    one_by_one = Trail("c1")
    for event in arrived:
        one_by_one = one_by_one.add([event])
    assert one_by_one == whole
    assert fold(one_by_one) == fold(whole)


@given(histories())
def test_no_event_stands_before_one_its_device_had_seen(known: dict[str, Trail]) -> None:
    whole = [event.id for event in merge(merge(known["a"], known["b"]), known["c"]).events]
    for trail in known.values():
        seen = [event.id for event in trail.events]
        assert seen == [event_id for event_id in whole if event_id in set(seen)]


@given(histories(), st.data())
def test_withdrawing_and_restoring_any_event_gives_the_same_state_again(
    known: dict[str, Trail], data: st.DataObject
) -> None:
    trail = made(known["a"], "a", Noted(text="last"))
    target = data.draw(st.sampled_from(trail.standing()))
    undone = made(trail, "b", Withdrawn(event_id=target.id))
    assert target not in undone.standing()
    redone = made(undone, "c", Withdrawn(event_id=undone.events[-1].id))
    assert fold(redone) == fold(trail)


@given(histories())
def test_every_event_is_accounted_for_by_the_state(known: dict[str, Trail]) -> None:
    for trail in known.values():
        state = fold(trail)
        told = [entry.event_id for entry in state.timeline] + [*state.withdrawn, *state.newer]
        told += [one.event_id for one in state.unreadable]
        others = [event.id for event in trail.events if event.kind != "withdrawn"]
        assert sorted(told) == sorted(others)


FIELDS = sorted({name for body in BODIES.values() for name in body.model_fields} | {"mood"})
VALUES = st.none() | st.booleans() | st.integers(-9, 9) | st.floats(-9, 9) | st.sampled_from(FIELDS)
NESTED = VALUES | st.lists(VALUES, max_size=2) | st.dictionaries(st.sampled_from("ab"), VALUES)
CONTENTS = st.dictionaries(st.sampled_from(FIELDS), NESTED, max_size=6)


@given(st.lists(st.tuples(st.sampled_from(list(EventKind)), CONTENTS), max_size=8))
def test_nothing_an_event_can_carry_makes_the_state_fail(
    contents: list[tuple[EventKind, dict[str, Json]]],
) -> None:
    trail = Trail("c1")
    for kind, body in contents:
        trail = made_raw(trail, "a", kind, body)
    state = fold(trail)
    told = [one for one in dir(CallState) if not one.startswith("_")]
    assert [getattr(state, name) for name in told] == [getattr(fold(trail), name) for name in told]
    assert len(state.timeline) + len(state.unreadable) <= len(contents)


def test_a_clock_set_back_by_a_year_does_not_reorder_a_call() -> None:
    trail = made(Trail("c1"), "van", WentTo(place="attic"), skew=timedelta(days=365))
    trail = made(trail, "office", WentTo(place="outdoor-unit"), skew=timedelta())
    assert fold(trail).place == "outdoor-unit"


def test_two_withdrawals_of_one_event_must_both_go_before_it_is_back() -> None:
    base = made(Trail("c1"), "a", Noted(text="x"))
    both = merge(
        made(base, "a", Withdrawn(event_id="a-1")), made(base, "b", Withdrawn(event_id="a-1"))
    )
    one_back = made(both, "a", Withdrawn(event_id="b-1"))
    assert fold(one_back).notes == ()
    both_back = made(one_back, "a", Withdrawn(event_id="a-2"))
    assert [entry.body.text for entry in fold(both_back).notes] == ["x"]


def test_a_withdrawal_that_arrives_before_its_event_still_counts() -> None:
    whole = made(made(Trail("c1"), "a", Noted(text="x")), "a", Withdrawn(event_id="a-1"))
    early = Trail("c1", whole.events[1:])
    assert fold(early).withdrawn == ()
    assert fold(early.add(whole.events[:1])).withdrawn == ("a-1",)


def test_a_withdrawal_does_not_reach_a_later_event() -> None:
    ahead = made(Trail("c1"), "a", Withdrawn(event_id="a-2"))
    trail = made(ahead, "a", Noted(text="x"))
    assert [entry.event_id for entry in fold(trail).notes] == ["a-2"]


def test_a_withdrawal_of_itself_changes_nothing() -> None:
    trail = made(made(Trail("c1"), "a", Noted(text="x")), "a", Withdrawn(event_id="a-2"))
    assert len(fold(trail).notes) == 1


def test_an_event_of_a_newer_kind_can_be_withdrawn() -> None:
    trail = made_raw(Trail("c1"), "a", "drone_flown", {})
    assert fold(trail).newer == ("a-1",)
    assert fold(made(trail, "a", Withdrawn(event_id="a-1"))).withdrawn == ("a-1",)


def test_an_unreadable_withdrawal_is_told_and_withdraws_nothing() -> None:
    trail = made_raw(made(Trail("c1"), "a", Noted(text="x")), "a", "withdrawn", {"event_id": 7})
    state = fold(trail)
    assert [one.event_id for one in state.unreadable] == ["a-2"]
    assert "event_id" in state.unreadable[0].problem
    assert len(state.notes) == 1


def test_another_event_under_a_known_id_is_refused() -> None:
    one = made(Trail("c1"), "a", Noted(text="x"))
    other = made(Trail("c1"), "a", Noted(text="y"))
    with pytest.raises(EventClashError, match="a-1"):
        merge(one, other)


def test_an_event_of_another_call_is_refused() -> None:
    with pytest.raises(ForeignEventError, match=r"'c2'.*wanted events of 'c1'"):
        merge(Trail("c1"), made(Trail("c2"), "a", Noted(text="x")))


def test_the_counters_stay_within_what_an_event_may_carry() -> None:
    event = Event("e", "c1", "a", MAX_INTEGER, MAX_INTEGER, EPOCH, "noted", {"text": "x"})
    trail = Trail("c1", (event,))
    assert trail.next_lamport() == MAX_INTEGER
    assert trail.next_seq("a") == MAX_INTEGER
    assert trail.next_seq("b") == 1


def test_a_trail_finds_its_events() -> None:
    trail = made(Trail("c1"), "a", Noted(text="x"))
    assert trail.find("a-1") == trail.events[0]
    assert trail.find("a-2") is None
