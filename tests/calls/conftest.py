"""A store in memory and a clock that stands still, for acts on a call."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime

import pytest

from catchpan.calls.event import Event
from catchpan.calls.ports import CallSummary
from catchpan.calls.trail import Trail
from catchpan.calls.use_case import CallBook


@dataclass
class MemoryStore:
    """Keeps events in a dict, with the promises of the port."""

    events: dict[str, Event] = field(default_factory=dict)

    def append(self, events: Iterable[Event]) -> int:
        before = len(self.events)
        new = {event.id: event for event in events}
        self.events = new | self.events
        return len(self.events) - before

    def events_of(self, call_id: str) -> tuple[Event, ...]:
        mine = tuple(event for event in self.events.values() if event.call_id == call_id)
        return Trail(call_id, mine).events

    def calls(self, limit: int | None = None) -> tuple[CallSummary, ...]:
        ids = list(dict.fromkeys(event.call_id for event in self.events.values()))
        return tuple(self._summary(call_id) for call_id in reversed(ids))[:limit]

    def _summary(self, call_id: str) -> CallSummary:
        times = [event.at_utc for event in self.events_of(call_id)]
        return CallSummary(call_id, len(times), min(times), max(times))


@dataclass
class StandingClock:
    """Always says the same; set ``now`` to change it."""

    now: datetime = datetime(2025, 7, 4, 15, 0, tzinfo=UTC)

    def now_utc(self) -> datetime:
        return self.now


@pytest.fixture(scope="session")
def new_book() -> Callable[..., CallBook]:
    def make(device_id: str = "van-1", store: MemoryStore | None = None) -> CallBook:
        return CallBook(store or MemoryStore(), StandingClock(), device_id)

    return make


@pytest.fixture
def book(new_book: Callable[..., CallBook]) -> CallBook:
    return new_book()
