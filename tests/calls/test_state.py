from datetime import UTC, datetime

from catchpan.calls.body import (
    Body,
    CallOpened,
    Closed,
    LatentFound,
    Noted,
    PowerSet,
    ProofDone,
    ReadingTaken,
    RepairDone,
    StepDeferred,
    SystemDescribed,
    WentTo,
)
from catchpan.calls.state import CallState, Entry

NOW = datetime(2025, 7, 4, tzinfo=UTC)


def state(*bodies: Body) -> CallState:
    entries = [Entry(f"e{n}", "van", NOW, body) for n, body in enumerate(bodies, 1)]
    return CallState("c1", tuple(entries))


def test_a_call_of_which_nothing_is_known_is_a_state() -> None:
    empty = state()
    assert empty.opened == CallOpened()
    assert empty.place is None
    assert empty.archetype is None
    assert empty.closed is None
    assert not any([empty.description, empty.power, empty.deferred, empty.timeline])


def test_a_later_opening_fills_in_and_corrects_field_by_field() -> None:
    first = CallOpened(caller="tenant", complaint_words="no cooling", site={"floors": 1})
    second = CallOpened(caller="owner", address="green house", site={"age_years": 9})
    opened = state(first, second).opened
    assert opened.caller == "owner"
    assert opened.address == "green house"
    assert opened.complaint_words == "no cooling"
    assert opened.site == {"floors": 1, "age_years": 9}


def test_the_archetype_found_on_site_replaces_the_one_from_the_phone() -> None:
    found = state(CallOpened(archetype="ac-furnace"), SystemDescribed(archetype="heat-pump"))
    assert found.archetype == "heat-pump"
    assert state(*(entry.body for entry in found.timeline), Noted(text="x")).archetype


def test_options_keep_their_latest_value_and_may_become_unknown_again() -> None:
    described = state(
        SystemDescribed(settings={"float": "in_r", "trap": "present"}),
        SystemDescribed(settings={"float": "unknown"}),
    )
    assert described.description == {"float": "unknown", "trap": "present"}


def test_readings_name_their_event_and_keep_their_place_before_and_after_a_repair() -> None:
    open_reading = ReadingTaken(check_id="float", answer="open")
    shut_reading = ReadingTaken(check_id="float", answer="closed")
    repair = RepairDone(repair_id="flush", outcome="worked")
    found = state(open_reading, repair, shut_reading)
    assert [(one.event_id, one.body.answer) for one in found.readings] == [
        ("e1", "open"),
        ("e3", "closed"),
    ]
    assert [one.event_id for one in found.repairs] == ["e2"]
    assert [one.event_id for one in found.timeline] == ["e1", "e2", "e3"]


def test_a_deferred_step_waits_until_it_is_done() -> None:
    later = [StepDeferred(step_id=name, reason="hot") for name in ("float", "flush", "run", "x")]
    done: list[Body] = [
        ReadingTaken(check_id="float", answer="open"),
        RepairDone(repair_id="flush", outcome="did_not"),
        ProofDone(proof_id="run", result="pass"),
    ]
    assert list(state(*later).deferred) == ["float", "flush", "run", "x"]
    assert state(*later, *done).deferred == {"x": "hot"}
    assert list(state(*later, *done, later[0]).deferred) == ["x", "float"]


def test_the_technician_is_where_they_went_last() -> None:
    assert state(WentTo(place="attic"), WentTo(place="outdoor-unit")).place == "outdoor-unit"


def test_power_is_known_switch_by_switch() -> None:
    switched = state(
        PowerSet(where="disconnect", on=False),
        PowerSet(where="breaker", on=False),
        PowerSet(where="disconnect", on=True),
    )
    assert switched.power == {"disconnect": True, "breaker": False}


def test_proofs_latents_and_notes_are_told_apart_and_the_ending_counts() -> None:
    found = state(
        ProofDone(proof_id="run", result="fail"),
        LatentFound(latent_id="no-trap"),
        Noted(text="dog"),
        Closed(outcome="referred", causes=("no-trap",)),
        Closed(outcome="fixed", causes=("no-trap",)),
    )
    assert [one.body.result for one in found.proofs] == ["fail"]
    assert [one.body.latent_id for one in found.latents] == ["no-trap"]
    assert [one.body.text for one in found.notes] == ["dog"]
    assert found.closed == Closed(outcome="fixed", causes=("no-trap",))
