"""Going through a call's timeline: belief, situation and cost after every event."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from catchpan.calls.aftermath import after_repair
from catchpan.calls.body import (
    PowerSet,
    ProofDone,
    ReadingTaken,
    RepairDone,
    RepairOutcome,
    WentTo,
)
from catchpan.diagnosis.cases.measured_value import (
    answer_of_value,
    scale_of,
    takes_a_number,
    weighed_as_it_is,
)
from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.inference.causes import Share, rank_causes
from catchpan.diagnosis.planning.forecast import SYSTEM
from catchpan.diagnosis.planning.safety_order import prepare
from catchpan.diagnosis.planning.situation import Situation
from catchpan.diagnosis.worlds.family import CONSEQUENCE, PHONE, Family
from catchpan.units.errors import CatchpanError

if TYPE_CHECKING:
    from catchpan.calls.body import Body
    from catchpan.catalog.entry import CheckEntry
    from catchpan.catalog.load import Catalog

SITE: Final = "site"
"""The place of a technician who has arrived and not yet gone to any part of the house."""


@dataclass(frozen=True)
class Spent:
    """What the call has cost so far: minutes of work and dollars of parts."""

    minutes: float = 0.0
    parts_dollars: float = 0.0


@dataclass(frozen=True)
class Mended:
    """A repair that was made, and what it put right as far as can be told.

    ``roots`` and ``left_behind`` hold the conditions it removes, with their shares just before
    it, the likeliest first.
    """

    repair_id: str
    outcome: RepairOutcome
    roots: tuple[Share, ...]
    left_behind: tuple[Share, ...]


class Progress:
    """Goes through a timeline and keeps belief, situation and cost up to date.

    A repair of a root is not offered again. One that puts right what a root left behind (a fuse, a
    breaker, a full pan) waits until something else was repaired, and is offered twice at most:
    nobody puts in fuse after fuse. A proof that fails says that the system does not work yet.
    """

    def __init__(self, family: Family, data: Catalog) -> None:
        self.family, self.data = family, data
        self.belief = Belief.prior(family)
        self.situation = Situation(place=PHONE, on_phone=True)
        self.minutes = self.dollars = 0.0
        self.owed: list[str] = []
        self.unused: list[str] = []
        self.mended: list[Mended] = []
        self.lasting: set[str] = set()
        self.waiting: set[str] = set()

    def take(self, body: Body) -> None:
        """Add one event."""
        match body:
            case WentTo():
                self._go(body.place)
            case PowerSet():
                self.situation = replace(self.situation, power_off=not body.on)
            case ReadingTaken():
                self._read(body)
            case RepairDone():
                self._repair(body)
            case ProofDone():
                self._prove(body)

    def _go(self, place: str) -> None:
        if place == PHONE:
            return
        if self.situation.on_phone:
            self.minutes += self.family.dispatch_minutes
        where = "" if place == SITE else place
        if where in self.family.places and where != self.situation.place:
            self.minutes += self.family.places[where].travel_minutes
        self.situation = replace(self.situation, place=where, on_phone=False)

    def _read(self, body: ReadingTaken) -> None:
        check = self.family.checks.get(body.check_id)
        entry = self.data.checks.get(body.check_id)
        if check is None:
            self.situation = replace(self.situation, done=self.situation.done | {body.check_id})
            if entry is None or entry.observe.quantity != "option":
                self.unused.append(body.check_id)
            return
        try:
            self.belief = self.belief.observe(reading_of(body, entry))
        except CatchpanError:
            self.unused.append(body.check_id)
            return
        self.minutes += check.minutes
        if body.reported_by == "technician" and not self.situation.on_phone:
            self._prepare(check.place, check.requires, check.group)
        lasting = entry is not None and entry.observe.quantity in {"history", "option", "reset"}
        if lasting:
            self.lasting.add(body.check_id)
        self.situation = replace(self.situation, done=self.situation.done | {body.check_id})

    def _prepare(self, place: str, requires: frozenset[str], group: str = "") -> None:
        ready = prepare(self.family, self.situation, place, requires, group)
        self.minutes += ready.minutes
        self.situation = ready.after

    def _repair(self, body: RepairDone) -> None:
        repair = self.family.repairs.get(body.repair_id)
        if repair is None:
            self.unused.append(body.repair_id)
            return
        before = rank_causes(self.belief)
        roots = tuple(s for s in before.roots if s.id in repair.fixes)
        left = tuple(s for s in before.consequences if s.id in repair.fixes)
        self.mended.append(Mended(repair.id, body.outcome, roots, left))
        worked = {"worked": True, "did_not": False, "not_yet_known": None}[body.outcome]
        self.belief = after_repair(self.belief, repair.id, worked)
        if not self.situation.on_phone:
            self._prepare(repair.place, repair.requires)
            self.minutes += repair.minutes
            self.dollars += repair.dollars
        again = sum(m.repair_id == repair.id for m in self.mended) > 1
        if not again and any(self.family.kinds.get(c) == CONSEQUENCE for c in repair.fixes):
            self.waiting = {repair.id}
        else:
            self.waiting = set()
            self.lasting.add(repair.id)
        if not self.situation.on_phone:
            self.situation = replace(self.situation, done=frozenset(self.lasting))
        self.situation = replace(self.situation, done=self.situation.done | self.lasting)
        if worked is not False:
            known = [p for p in repair.proofs if p in self.family.checks]
            self.owed = [p for p in self.owed if p not in known] + known

    def _prove(self, body: ProofDone) -> None:
        passed = body.result == "pass"
        if body.proof_id == SYSTEM:
            self.minutes += self.family.proof_minutes
            if body.result != "too_close":
                self.belief = self.belief.system_tried(passed)
            return
        if body.proof_id in self.owed:
            self.owed.remove(body.proof_id)
        check = self.family.checks.get(body.proof_id)
        if check is None:
            self.unused.append(body.proof_id)
            return
        self._prepare(check.place, check.requires)
        self.minutes += check.minutes
        self.belief = self.belief.observe(Reading(check.id, body.result.replace("_", "-")))
        if passed:
            self.situation = replace(self.situation, done=self.situation.done | {check.id})
        elif body.result == "fail":
            self.belief = self.belief.system_tried(worked=False)


def reading_of(body: ReadingTaken, entry: CheckEntry | None) -> Reading:
    """Return the reading an event stands for; a number is weighed by the answer it falls in.

    One read off the running circuit is weighed as it is.
    """
    kept, spread = body.number_si, body.si_sd
    if kept is not None and entry is not None and takes_a_number(entry):
        if weighed_as_it_is(entry):
            return Reading(body.check_id, None, kept, spread, body.reported_by)
        scale = scale_of(entry)
        answer = answer_of_value(entry, kept * scale.factor + scale.offset)
        return Reading(body.check_id, answer, reporter=body.reported_by)
    return Reading(body.check_id, body.answer, kept, spread, body.reported_by)
