"""What people do with a call; each act is one event, and a repeated act changes nothing."""

import math
import uuid
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from catchpan.calls.body import (
    Body,
    CallOpened,
    CallOutcome,
    Closed,
    LatentFound,
    Noted,
    PowerSet,
    ProofDone,
    ProofResult,
    ReadingTaken,
    RepairDone,
    RepairOutcome,
    Reporter,
    Setting,
    StepDeferred,
    SystemDescribed,
    WentTo,
    Withdrawn,
    body_fields,
    make_body,
)
from catchpan.calls.errors import CallClosedError, EventClashError, NothingToUndoError
from catchpan.calls.event import Event, EventKind
from catchpan.calls.json_value import freeze
from catchpan.calls.ports import Clock, EventStore, NameCheck, NamedThing
from catchpan.calls.state import CallState
from catchpan.calls.trail import Trail, fold, withdrawn_id
from catchpan.units.errors import UnknownName

PHONE = "phone"
"""The place of everything a caller reports."""


@dataclass(frozen=True)
class Answer:
    """An answer out of a check's list of answers, by its id."""

    answer: str


@dataclass(frozen=True)
class Number:
    """A number as entered, its unit, and the same in SI with its standard deviation.

    A display that shows over limit is entered as infinity. ``printed`` is what the part itself says
    it should be, in the same unit.
    """

    value: float
    unit: str
    si_value: float
    si_sd: float | None = None
    printed: float | None = None


def new_id() -> str:
    """Return an id that no device makes twice (a random UUID, RFC 4122 version 4)."""
    return uuid.uuid4().hex


def any_name(thing: NamedThing, name: str) -> None:
    """Take every name as known: the name check of a program without a catalog."""


@dataclass(frozen=True)
class CallBook:
    """The calls as one device sees and continues them.

    Parameters
    ----------
    store : EventStore
        Where the events are kept.
    clock : Clock
        Tells the time.
    device_id : str
        The id of this device.
    require : NameCheck, optional
        Raises UnknownName for a check, repair, proof, place, option or archetype nobody knows.
    make_id : callable, optional
        Makes a fresh id.

    Notes
    -----
    Every act takes ``event_id``, the id its event shall have: whoever may have to send an act again
    gives the same id again, and the second time changes nothing.
    """

    store: EventStore
    clock: Clock
    device_id: str
    require: NameCheck = any_name
    make_id: Callable[[], str] = new_id

    def trail(self, call_id: str) -> Trail:
        """Return the trail of a call, or raise UnknownName."""
        trail = Trail(call_id, self.store.events_of(call_id))
        if not trail.events:
            raise UnknownName("call", call_id, [one.call_id for one in self.store.calls(1000)])
        return trail

    def resume(self, call_id: str) -> CallState:
        """Return the present state of a call, or raise UnknownName."""
        return fold(self.trail(call_id))

    def receive(self, events: Iterable[Event]) -> int:
        """Keep events made elsewhere, and return how many were new."""
        return self.store.append(events)

    def open_call(
        self,
        fields: Mapping[str, object],
        *,
        call_id: str | None = None,
        event_id: str | None = None,
    ) -> CallState:
        """Open a call, or correct the opening of the call named.

        Parameters
        ----------
        fields : mapping
            Any of caller, address, complaint_words, archetype and site (a mapping of settings).
        call_id, event_id : str, optional
            The ids to use.
        """
        opened = make_body(CallOpened, fields)
        self._require("archetype", opened.archetype)
        call_id = call_id or self.make_id()
        return self._append(Trail(call_id, self.store.events_of(call_id)), opened, event_id)

    def describe(
        self,
        call_id: str,
        settings: Mapping[str, Setting],
        *,
        archetype: str | None = None,
        event_id: str | None = None,
    ) -> CallState:
        """Say what the system is: options at their value or "unknown", and the archetype."""
        body = make_body(SystemDescribed, {"settings": settings, "archetype": archetype})
        self._require("archetype", archetype)
        for option in settings:
            self.require("option", option)
        return self._go_on(call_id, body, event_id)

    def take_reading(
        self,
        call_id: str,
        check_id: str,
        observed: Answer | Number,
        *,
        reported_by: Reporter = "technician",
        event_id: str | None = None,
    ) -> CallState:
        """Write down what a check showed, at the place where the technician is."""
        self.require("check", check_id)
        trail = self.trail(call_id)
        kept = trail.find(event_id) if event_id is not None else None
        here = fold(trail).place if kept is None else kept.body.get("place")
        place = PHONE if reported_by == "caller" else here
        said = {"check_id": check_id, "reported_by": reported_by, "place": place}
        body = make_body(ReadingTaken, said | _observed_fields(observed))
        return self._go_on(call_id, body, event_id)

    def defer(
        self, call_id: str, step_id: str, reason: str, *, event_id: str | None = None
    ) -> CallState:
        """Put a check or repair off because it cannot be done now."""
        self.require("step", step_id)
        body = make_body(StepDeferred, {"step_id": step_id, "reason": reason})
        return self._go_on(call_id, body, event_id)

    def go(self, call_id: str, place: str, *, event_id: str | None = None) -> CallState:
        """Say where the technician is now."""
        self.require("place", place)
        return self._go_on(call_id, make_body(WentTo, {"place": place}), event_id)

    def set_power(
        self, call_id: str, where: str, *, on: bool, event_id: str | None = None
    ) -> CallState:
        """Say that power was switched on or off at a breaker, disconnect or switch."""
        return self._go_on(call_id, make_body(PowerSet, {"where": where, "on": on}), event_id)

    def do_repair(
        self,
        call_id: str,
        repair_id: str,
        outcome: RepairOutcome,
        *,
        event_id: str | None = None,
    ) -> CallState:
        """Write down a repair and whether it helped."""
        self.require("repair", repair_id)
        body = make_body(RepairDone, {"repair_id": repair_id, "outcome": outcome})
        return self._go_on(call_id, body, event_id)

    def do_proof(
        self,
        call_id: str,
        proof_id: str,
        result: ProofResult,
        *,
        number: Number | None = None,
        event_id: str | None = None,
    ) -> CallState:
        """Write down an acceptance test, with its number where it has one."""
        self.require("proof", proof_id)
        said = {"proof_id": proof_id, "result": result}
        return self._go_on(call_id, make_body(ProofDone, said | _proof_number(number)), event_id)

    def find_latent(
        self, call_id: str, latent_id: str, words: str = "", *, event_id: str | None = None
    ) -> CallState:
        """Write down a defect that shows no symptom today."""
        body = make_body(LatentFound, {"latent_id": latent_id, "words": words})
        return self._go_on(call_id, body, event_id)

    def note(self, call_id: str, text: str, *, event_id: str | None = None) -> CallState:
        """Write free words; a closed call takes them too."""
        return self._append(self.trail(call_id), make_body(Noted, {"text": text}), event_id)

    def close(
        self,
        call_id: str,
        outcome: CallOutcome,
        *,
        causes: Iterable[str] = (),
        words: str = "",
        event_id: str | None = None,
    ) -> CallState:
        """Close the call with the causes that were confirmed."""
        said = {"outcome": outcome, "causes": list(causes), "words": words}
        return self._go_on(call_id, make_body(Closed, said), event_id)

    def withdraw(self, call_id: str, target_id: str, *, event_id: str | None = None) -> CallState:
        """Take back an event of any kind, of any device; a closed call allows it too."""
        trail = self.trail(call_id)
        if trail.find(target_id) is None:
            raise UnknownName("event", target_id, [event.id for event in trail.events])
        return self._append(trail, make_body(Withdrawn, {"event_id": target_id}), event_id)

    def restore(self, call_id: str, target_id: str) -> CallState:
        """Bring back an event, whoever took it back and however often."""
        trail = self.trail(call_id)
        standing = [event.id for event in trail.standing() if withdrawn_id(event) == target_id]
        if not standing:
            raise UnknownName("withdrawn event", target_id, fold(trail).withdrawn)
        for withdrawal_id in standing:
            self.withdraw(call_id, withdrawal_id)
        return self.resume(call_id)

    def undo_last(self, call_id: str, *, event_id: str | None = None) -> CallState:
        """Take back what this device did last; the opening of the call stays."""
        fixed = (EventKind.WITHDRAWN, EventKind.CALL_OPENED)
        done = [event.id for event in self._own(call_id) if event.kind not in fixed]
        return self._withdraw_last(call_id, done, "undo", event_id)

    def redo_last(self, call_id: str, *, event_id: str | None = None) -> CallState:
        """Bring back what this device took back last."""
        kinds = {event.id: event.kind for event in self.trail(call_id).events}
        undone = [
            event.id
            for event in self._own(call_id)
            if kinds.get(withdrawn_id(event), EventKind.WITHDRAWN) != EventKind.WITHDRAWN
        ]
        return self._withdraw_last(call_id, undone, "redo", event_id)

    def _own(self, call_id: str) -> list[Event]:
        standing = self.trail(call_id).standing()
        return [event for event in standing if event.device_id == self.device_id]

    def _withdraw_last(
        self, call_id: str, candidates: list[str], verb: str, event_id: str | None
    ) -> CallState:
        if event_id is not None and self.trail(call_id).find(event_id) is not None:
            return self.resume(call_id)
        if not candidates:
            raise NothingToUndoError(call_id, verb)
        return self.withdraw(call_id, candidates[-1], event_id=event_id)

    def _require(self, thing: NamedThing, name: str | None) -> None:
        if name is not None:
            self.require(thing, name)

    def _go_on(self, call_id: str, body: Body, event_id: str | None) -> CallState:
        trail = self.trail(call_id)
        again = event_id is not None and trail.find(event_id) is not None
        if not again and fold(trail).closed is not None:
            raise CallClosedError(call_id)
        return self._append(trail, body, event_id)

    def _append(self, trail: Trail, body: Body, event_id: str | None) -> CallState:
        kept = trail.find(event_id) if event_id is not None else None
        if kept is not None:
            return _same_again(trail, kept, body)
        event = Event(
            id=event_id or self.make_id(),
            call_id=trail.call_id,
            device_id=self.device_id,
            seq=trail.next_seq(self.device_id),
            lamport=trail.next_lamport(),
            at_utc=self.clock.now_utc(),
            kind=body.kind,
            body=body_fields(body),
        )
        self.store.append([event])
        return fold(trail.add([event]))


def _same_again(trail: Trail, kept: Event, body: Body) -> CallState:
    if (kept.kind, kept.body) != (body.kind, freeze(body_fields(body))):
        raise EventClashError(kept.id)
    return fold(trail)


def _observed_fields(observed: Answer | Number) -> dict[str, object]:
    if isinstance(observed, Answer):
        return {"answer": observed.answer}
    fields: dict[str, object] = {"unit": observed.unit, "si_sd": observed.si_sd}
    if math.isinf(observed.si_value) and observed.si_value > 0:
        return fields | {"over_limit": True}
    fields |= {"value": observed.value, "si_value": observed.si_value}
    return fields | {"printed": observed.printed}


def _proof_number(number: Number | None) -> dict[str, object]:
    if number is None:
        return {}
    value, si_value, printed = number.value, number.si_value, number.printed
    return {"value": value, "unit": number.unit, "si_value": si_value, "printed": printed}
