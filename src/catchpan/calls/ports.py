"""What calls needs of the outside: a store of events, a clock, and the names of steps."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Literal, Protocol, TypeAlias

from catchpan.calls.event import Event

NamedThing: TypeAlias = Literal["check", "repair", "proof", "step", "place", "archetype", "option"]


@dataclass(frozen=True)
class CallSummary:
    """One line of the list of calls; the times are the devices' own clocks."""

    call_id: str
    event_count: int
    first_at_utc: datetime
    last_at_utc: datetime


class EventStore(Protocol):
    """Keeps events for good."""

    def append(self, events: Iterable[Event]) -> int:
        """Keep all these events or none, and return how many were new.

        An event that is already kept changes nothing. When this returns, the events survive the
        end of the process.

        Raises
        ------
        EventClashError
            When another event is kept under one of the ids.
        CatchpanError
            When the storage refuses.
        """
        ...

    def events_of(self, call_id: str) -> tuple[Event, ...]:
        """Return the events of a call, causes before effects; empty for an unknown call."""
        ...

    def calls(self, limit: int | None = None) -> tuple[CallSummary, ...]:
        """Return the calls, the one that arrived last first; all of them without a limit."""
        ...


class PhotoStore(Protocol):
    """Keeps the images of photos, as JPEG."""

    def has(self, call_id: str, photo_id: str) -> bool:
        """Return whether the image has arrived."""
        ...

    def get(self, call_id: str, photo_id: str) -> bytes | None:
        """Return the image; None when it has not arrived."""
        ...

    def put(self, call_id: str, photo_id: str, jpeg: bytes) -> None:
        """Keep an image whole or not at all; one that is kept already stays.

        Raises
        ------
        CatchpanError
            When the storage refuses.
        """
        ...


class Clock(Protocol):
    """Tells the time."""

    def now_utc(self) -> datetime:
        """Return the present moment, in UTC."""
        ...


class NameCheck(Protocol):
    """Knows which names stand for something."""

    def __call__(self, thing: NamedThing, name: str) -> None:
        """Return when the name is known.

        Raises
        ------
        UnknownName
            When it is not.
        """
        ...
