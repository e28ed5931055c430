"""Going through a call's timeline: the job after every event."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

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
    as_modelled,
    scale_of,
    takes_a_number,
    weighed_as_it_is,
)
from catchpan.diagnosis.inference.belief import Reading
from catchpan.diagnosis.inference.causes import Share, rank_causes
from catchpan.diagnosis.planning.forecast import SYSTEM
from catchpan.diagnosis.planning.job import SITE, Job
from catchpan.units.errors import CatchpanError

if TYPE_CHECKING:
    from catchpan.calls.body import Body
    from catchpan.catalog.entry import CheckEntry
    from catchpan.catalog.load import Catalog
    from catchpan.diagnosis.planning.practice import Practice
    from catchpan.diagnosis.worlds.family import Family

__all__ = ["SITE", "Mended", "Progress", "Spent", "reading_of"]


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
    """Goes through a timeline and keeps the job up to date; remembers what the family lacks."""

    def __init__(self, family: Family, data: Catalog, practice: Practice) -> None:
        self.family, self.data = family, data
        self.job = Job.begin(family, practice)
        self.unused: list[str] = []
        self.mended: list[Mended] = []

    def take(self, body: Body) -> None:
        """Add one event."""
        match body:
            case WentTo():
                self.job = self.job.went(body.place)
            case PowerSet():
                self.job = self.job.switched(power_on=body.on)
            case ReadingTaken():
                self._read(body)
            case RepairDone():
                self._repair(body)
            case ProofDone():
                self._prove(body)

    def _read(self, body: ReadingTaken) -> None:
        entry = self.data.checks.get(body.check_id)
        if body.check_id not in self.family.checks:
            self.job = self.job.noted(body.check_id)
            if entry is None or entry.observe.quantity != "option":
                self.unused.append(body.check_id)
            return
        try:
            self.job = self.job.read(reading_of(body, entry))
        except CatchpanError:
            self.unused.append(body.check_id)

    def _repair(self, body: RepairDone) -> None:
        repair = self.family.repairs.get(body.repair_id)
        if repair is None:
            self.unused.append(body.repair_id)
            return
        before = rank_causes(self.job.belief)
        roots = tuple(s for s in before.roots if s.id in repair.fixes)
        left = tuple(s for s in before.consequences if s.id in repair.fixes)
        self.mended.append(Mended(repair.id, body.outcome, roots, left))
        worked = {"worked": True, "did_not": False, "not_yet_known": None}[body.outcome]
        self.job = self.job.repaired(repair.id, worked)

    def _prove(self, body: ProofDone) -> None:
        if body.proof_id != SYSTEM and body.proof_id not in self.family.checks:
            self.unused.append(body.proof_id)
            return
        self.job = self.job.proved(body.proof_id, body.result)


def reading_of(body: ReadingTaken, entry: CheckEntry | None) -> Reading:
    """Return the reading an event stands for; a number is weighed by the answer it falls in.

    One read off the running circuit is weighed as it is.
    """
    kept, spread = body.number_si, body.si_sd
    if kept is not None and entry is not None and takes_a_number(entry):
        if weighed_as_it_is(entry):
            return Reading(body.check_id, None, kept, spread, body.reported_by)
        scale = scale_of(entry)
        kept = as_modelled(entry.observe, kept, body.value, body.printed)
        answer = answer_of_value(entry, kept * scale.factor + scale.offset)
        return Reading(body.check_id, answer, reporter=body.reported_by)
    return Reading(body.check_id, body.answer, kept, spread, body.reported_by)
