"""One store for many threads: every access waits for the one before it."""

from collections.abc import Iterable
from threading import RLock

from catchpan.calls.event import Event
from catchpan.calls.ports import CallSummary, EventStore


class SharedEventStore:
    """Passes everything on to another store, one access at a time.

    Parameters
    ----------
    store : EventStore
        A store that may be used from any thread, though from one at a time.
    """

    def __init__(self, store: EventStore) -> None:
        self.store = store
        self._lock = RLock()

    def append(self, events: Iterable[Event]) -> int:
        """Keep all these events or none, and return how many were new."""
        listed = tuple(events)
        with self._lock:
            return self.store.append(listed)

    def events_of(self, call_id: str) -> tuple[Event, ...]:
        """Return the events of a call, causes before effects."""
        with self._lock:
            return self.store.events_of(call_id)

    def calls(self, limit: int | None = None) -> tuple[CallSummary, ...]:
        """Return the calls, the one that arrived last first."""
        with self._lock:
            return self.store.calls(limit)
