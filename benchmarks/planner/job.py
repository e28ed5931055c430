"""What a technician knows and has done on a call, step by step, without a trail or a screen."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Self

from catchpan.calls.aftermath import after_repair
from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.planning.safety_order import prepare, standing_dangers
from catchpan.diagnosis.planning.situation import Situation
from catchpan.diagnosis.worlds.family import CONSEQUENCE, PHONE

if TYPE_CHECKING:
    from catchpan.catalog.load import Catalog

LASTING: Final = frozenset({"history", "option", "reset"})
"""What need not be asked again after a repair."""


@dataclass(frozen=True, eq=False)
class Job:
    """Belief and situation after some steps; every step returns a new one.

    Parameters
    ----------
    data
        The technician's catalog.
    lasting
        Checks and repairs that stay done after a further repair.
    waiting
        A repair of what a root left behind; it waits until something else was repaired.
    tried
        Repairs in order.
    """

    data: Catalog
    belief: Belief
    where: Situation
    owed: tuple[str, ...] = ()
    lasting: frozenset[str] = frozenset()
    waiting: frozenset[str] = frozenset()
    tried: tuple[str, ...] = ()

    @property
    def situation(self) -> Situation:
        """Where the technician stands, with what waits and what is still to be proven."""
        deferred = self.where.deferred | self.waiting
        return replace(self.where, deferred=deferred, unproven=frozenset(self.owed))

    def light(self) -> Self:
        """Return the same without what was only remembered to save time."""
        return replace(self, belief=replace(self.belief))

    def seen(self, check_id: str, outcome_id: str) -> Self:
        """Add the answer of a check."""
        check, where = self.belief.family.checks[check_id], self.where
        reading = Reading(
            check_id, outcome_id, reporter="caller" if where.on_phone else "technician"
        )
        if not where.on_phone:
            where = prepare(
                self.belief.family, where, check.place, check.requires, check.group
            ).after
        lasting = self.data.checks[check_id].observe.quantity in LASTING
        return replace(
            self,
            belief=self.belief.observe(reading),
            where=replace(where, done=where.done | {check_id}),
            lasting=self.lasting | {check_id} if lasting else self.lasting,
        )

    def put_off(self, target: str) -> Self:
        """Note that a step cannot be made on this call."""
        return replace(self, where=replace(self.where, deferred=self.where.deferred | {target}))

    def arrived(self) -> Self:
        """Leave the phone for the site."""
        return replace(self, where=replace(self.where, place="", on_phone=False))

    def cleared(self) -> Self:
        """Note that what was dangerous on site has been dealt with."""
        found = {r.check_id for r in standing_dangers(self.belief, self.where)}
        return replace(self, where=replace(self.where, cleared=self.where.cleared | found))

    def repaired(self, repair_id: str, worked: bool) -> Self:
        """Add a repair and whether the system works after it."""
        family, where = self.belief.family, self.where
        repair = family.repairs[repair_id]
        if not where.on_phone:
            where = prepare(family, where, repair.place, repair.requires).after
        puts_right = any(family.kinds.get(c) == CONSEQUENCE for c in repair.fixes)
        once_more = puts_right and repair_id not in self.tried
        lasting = self.lasting if once_more else self.lasting | {repair_id}
        done = lasting if not where.on_phone else where.done | lasting
        proofs = tuple(p for p in repair.proofs if p in family.checks) if worked else ()
        return replace(
            self,
            belief=after_repair(self.belief, repair_id, worked),
            where=replace(where, done=done),
            owed=tuple(p for p in self.owed if p not in proofs) + proofs,
            lasting=lasting,
            waiting=frozenset({repair_id}) if once_more else frozenset(),
            tried=(*self.tried, repair_id),
        )

    def ran(self, worked: bool) -> Self:
        """Add that the system was run as it is and judged."""
        return replace(self, belief=self.belief.system_tried(worked))

    def proved(self, proof_id: str, result: str) -> Self:
        """Add how a proof came out: ``pass``, ``fail`` or ``too-close``."""
        family = self.belief.family
        check = family.checks[proof_id]
        where = prepare(family, self.where, check.place, check.requires).after
        belief = self.belief.observe(Reading(proof_id, result))
        if result == "pass":
            where = replace(where, done=where.done | {proof_id})
        elif result == "fail":
            belief = belief.system_tried(worked=False)
        owed = tuple(p for p in self.owed if p != proof_id)
        return replace(self, belief=belief, where=where, owed=owed)


def new_job(data: Catalog, belief: Belief, check_id: str, outcome_id: str) -> Job:
    """Return a job that begins with what the caller complains of."""
    return Job(data, belief, Situation(place=PHONE, on_phone=True)).seen(check_id, outcome_id)
