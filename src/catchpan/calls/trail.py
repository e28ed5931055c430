"""The append-only trail of a call: merging is a union, and the state is a fold over it."""

from collections.abc import Iterable
from dataclasses import dataclass

from catchpan.calls.body import Body, Withdrawn, parse_body
from catchpan.calls.errors import EventClashError, ForeignEventError
from catchpan.calls.event import Event, EventKind
from catchpan.calls.json_value import MAX_INTEGER
from catchpan.calls.state import CallState, Entry, Unreadable
from catchpan.units.errors import BadValue


@dataclass(frozen=True)
class Trail:
    """The events of one call, each once, causes before effects.

    Parameters
    ----------
    call_id : str
        The call.
    events : tuple of Event, optional
        In any order, with repeats; put in order here.

    Raises
    ------
    ForeignEventError
        When an event belongs to another call.
    EventClashError
        When two different events carry the same id.
    """

    call_id: str
    events: tuple[Event, ...] = ()

    def __post_init__(self) -> None:
        once: dict[str, Event] = {}
        for event in self.events:
            if event.call_id != self.call_id:
                raise ForeignEventError(event.id, event.call_id, self.call_id)
            if once.setdefault(event.id, event) != event:
                raise EventClashError(event.id)
        ordered = tuple(sorted(once.values(), key=lambda event: event.order_key))
        object.__setattr__(self, "events", ordered)

    def add(self, events: Iterable[Event]) -> "Trail":
        """Return the trail with these events as well; those it has already change nothing."""
        return Trail(self.call_id, (*self.events, *events))

    def find(self, event_id: str) -> Event | None:
        """Return the event with this id, or None."""
        return next((event for event in self.events if event.id == event_id), None)

    def next_lamport(self) -> int:
        """Return the Lamport time of an event made now by somebody who has seen this trail."""
        return _next(event.lamport for event in self.events)

    def next_seq(self, device_id: str) -> int:
        """Return the number of the device's next event in this call, from 1."""
        return _next(event.seq for event in self.events if event.device_id == device_id)

    def standing(self) -> tuple[Event, ...]:
        """Return the events that no standing withdrawal takes back, withdrawals included.

        A withdrawal reaches only events that come before it, so going from the last event to the
        first settles each before it is asked for.
        """
        taken_back: set[str] = set()
        kept: list[Event] = []
        for event in reversed(self.events):
            if event.id not in taken_back:
                kept.append(event)
                taken_back.add(withdrawn_id(event))
        return tuple(reversed(kept))


def merge(one: Trail, other: Trail) -> Trail:
    """Return the union of two trails of the same call, by event id.

    Raises
    ------
    ForeignEventError
        When the trails belong to different calls.
    EventClashError
        When the trails hold different events under the same id.
    """
    return one.add(other.events)


def withdrawn_id(event: Event) -> str:
    """Return the id of the event that this one takes back; empty when it takes back none."""
    if event.kind != EventKind.WITHDRAWN:
        return ""
    body = _understood(event)
    return body.event_id if isinstance(body, Withdrawn) else ""


def fold(trail: Trail) -> CallState:
    """Return the state of the call: what its standing events amount to.

    Events of newer kinds and events with unusable contents are named and passed over; nothing
    that a trail can hold makes this fail.
    """
    standing = trail.standing()
    kept = {event.id for event in standing}
    said = [(event, _understood(event)) for event in standing if not withdrawn_id(event)]
    return CallState(
        call_id=trail.call_id,
        timeline=tuple(
            Entry(event.id, event.device_id, event.at_utc, body)
            for event, body in said
            if isinstance(body, Body)
        ),
        withdrawn=tuple(
            event.id
            for event in trail.events
            if event.id not in kept and event.kind != EventKind.WITHDRAWN
        ),
        unreadable=tuple(
            Unreadable(event.id, str(body)) for event, body in said if isinstance(body, BadValue)
        ),
        newer=tuple(event.id for event, body in said if body is None),
    )


def _understood(event: Event) -> Body | BadValue | None:
    try:
        return parse_body(event.kind, event.body)
    except BadValue as problem:
        return problem


def _next(counts: Iterable[int]) -> int:
    return min(max(counts, default=0) + 1, MAX_INTEGER)
