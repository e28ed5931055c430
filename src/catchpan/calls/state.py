"""The state of a call: what its trail amounts to, read back from the events that stand."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Generic, TypeVar

from catchpan.calls.body import (
    Body,
    CallOpened,
    Closed,
    LatentFound,
    Noted,
    PhotoTaken,
    PowerSet,
    ProofDone,
    ReadingTaken,
    RepairDone,
    Setting,
    StepDeferred,
    SystemDescribed,
    WentTo,
)

B_co = TypeVar("B_co", bound=Body, covariant=True)
B = TypeVar("B", bound=Body)


@dataclass(frozen=True)
class Entry(Generic[B_co]):
    """One standing event, understood: where it came from and what it says."""

    event_id: str
    device_id: str
    at_utc: datetime
    body: B_co


@dataclass(frozen=True)
class Unreadable:
    """An event of a known kind whose contents cannot be used: kept, told, passed over."""

    event_id: str
    problem: str


@dataclass(frozen=True)
class CallState:
    """Everything that is known about a call.

    Parameters
    ----------
    call_id : str
        The call.
    timeline : tuple of Entry
        The standing events, causes before effects. What was read before a repair stands before it.
    withdrawn : tuple of str
        Ids of the events that are taken back at present.
    unreadable : tuple of Unreadable
        Standing events whose contents cannot be used.
    newer : tuple of str
        Ids of standing events whose kind only a newer version understands.
    """

    call_id: str
    timeline: tuple[Entry[Body], ...] = ()
    withdrawn: tuple[str, ...] = ()
    unreadable: tuple[Unreadable, ...] = ()
    newer: tuple[str, ...] = ()

    @property
    def opened(self) -> CallOpened:
        """What is known of caller, address, complaint and site; later words win, field by field."""
        merged: dict[str, object] = {}
        site: dict[str, Setting] = {}
        for entry in self._entries(CallOpened):
            merged |= entry.body.model_dump(exclude_none=True)
            site |= entry.body.site
        return CallOpened.model_validate(merged | {"site": site})

    @property
    def archetype(self) -> str | None:
        """The latest archetype named, by the caller or on site; None while nobody named one."""
        named = None
        for entry in self.timeline:
            if isinstance(entry.body, CallOpened | SystemDescribed):
                named = entry.body.archetype or named
        return named

    @property
    def description(self) -> Mapping[str, Setting]:
        """Every option that was described, at its latest value or "unknown"."""
        settings: dict[str, Setting] = {}
        for entry in self._entries(SystemDescribed):
            settings |= entry.body.settings
        return settings

    @property
    def readings(self) -> tuple[Entry[ReadingTaken], ...]:
        """The readings that stand, in order."""
        return tuple(self._entries(ReadingTaken))

    @property
    def repairs(self) -> tuple[Entry[RepairDone], ...]:
        """The repairs that stand, in order."""
        return tuple(self._entries(RepairDone))

    @property
    def proofs(self) -> tuple[Entry[ProofDone], ...]:
        """The proofs that stand, in order."""
        return tuple(self._entries(ProofDone))

    @property
    def latents(self) -> tuple[Entry[LatentFound], ...]:
        """The latent defects that were found, in order."""
        return tuple(self._entries(LatentFound))

    @property
    def photos(self) -> tuple[Entry[PhotoTaken], ...]:
        """The photos, in order."""
        return tuple(self._entries(PhotoTaken))

    @property
    def notes(self) -> tuple[Entry[Noted], ...]:
        """The notes, in order."""
        return tuple(self._entries(Noted))

    @property
    def deferred(self) -> Mapping[str, str]:
        """The reason by check or repair id; a step that was done afterwards is no longer here."""
        waiting: dict[str, str] = {}
        for entry in self.timeline:
            if isinstance(entry.body, StepDeferred):
                waiting[entry.body.step_id] = entry.body.reason
            else:
                waiting.pop(_step_done(entry.body), "")
        return waiting

    @property
    def place(self) -> str | None:
        """Where the technician is; None before they went anywhere."""
        places = [entry.body.place for entry in self._entries(WentTo)]
        return places[-1] if places else None

    @property
    def power(self) -> Mapping[str, bool]:
        """Whether power is on, for each switch that was touched; the others are unknown."""
        return {entry.body.where: entry.body.on for entry in self._entries(PowerSet)}

    @property
    def closed(self) -> Closed | None:
        """How the call ended; None while it is open."""
        endings = [entry.body for entry in self._entries(Closed)]
        return endings[-1] if endings else None

    def _entries(self, body_type: type[B]) -> Iterator[Entry[B]]:
        for entry in self.timeline:
            if isinstance(entry.body, body_type):
                yield Entry(entry.event_id, entry.device_id, entry.at_utc, entry.body)


def _step_done(body: Body) -> str:
    match body:
        case ReadingTaken():
            return body.check_id
        case RepairDone():
            return body.repair_id
        case ProofDone():
            return body.proof_id
        case _:
            return ""
