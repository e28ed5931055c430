"""The invented shop: everything in it is understood, and one call runs."""

from datetime import UTC, datetime

from catchpan.calls.demo_shop import DEVICE, fill_with_demo, read_demo
from catchpan.calls.state import CallState
from catchpan.calls.trail import fold
from catchpan.calls.use_case import CallBook
from catchpan.catalog.load import catalog
from catchpan.catalog.system import check_setting
from tests.calls.conftest import MemoryStore, StandingClock

NOW = datetime(2025, 7, 4, 15, 0, tzinfo=UTC)


def states(store: MemoryStore) -> dict[str, CallState]:
    book = CallBook(store, StandingClock(NOW), DEVICE)
    return {line.call_id: fold(book.trail(line.call_id)) for line in store.calls()}


def filled() -> MemoryStore:
    store = MemoryStore()
    fill_with_demo(store, catalog(), NOW)
    return store


def test_every_event_is_understood_and_lies_in_the_past() -> None:
    store = filled()
    for state in states(store).values():
        assert state.unreadable == ()
        assert state.newer == ()
    assert max(event.at_utc for event in store.events.values()) <= NOW


def test_every_system_can_be_built_as_described() -> None:
    for call in read_demo()["call"]:
        check_setting(call["opened"]["archetype"], call["options"], catalog())


def test_one_call_runs_on_site_and_others_are_closed() -> None:
    found = states(filled())
    running = found["demo-attic"]
    assert running.closed is None
    assert running.place == "indoor_unit"
    assert sum(state.closed is not None for state in found.values()) >= 3


def test_filling_again_changes_nothing_and_a_closed_call_comes_anew() -> None:
    store = filled()
    before = dict(store.events)
    fill_with_demo(store, catalog(), NOW)
    assert store.events == before
    CallBook(store, StandingClock(NOW), "phone").close("demo-attic", "fixed")
    fill_with_demo(store, catalog(), NOW)
    assert states(store)["demo-attic-2"].closed is None


def test_measured_proofs_passed() -> None:
    proofs = [p.body for state in states(filled()).values() for p in state.proofs]
    assert {proof.result for proof in proofs} == {"pass"}
    assert any(proof.value is not None for proof in proofs)
