"""What a call costs when the cause is known from the start: the bound that no policy beats.

Only the repairs that are needed, once at each place, each again where it missed, and their proofs.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from catchpan.diagnosis.planning.ending import GO
from catchpan.diagnosis.planning.expected_cost import proof_cost, repair_cost
from catchpan.diagnosis.planning.forecast import SYSTEM
from catchpan.diagnosis.planning.safety_order import prepare, repair_allowed
from catchpan.diagnosis.planning.situation import Situation
from catchpan.diagnosis.worlds.family import PHONE

if TYPE_CHECKING:
    from catchpan.diagnosis.rehearsal.home import Home, Judge
    from catchpan.diagnosis.rehearsal.record import Record
    from catchpan.diagnosis.worlds.family import Family, RepairModel

ROUNDS: Final = 5


@dataclass(eq=False)
class Clairvoyant:
    """One call played by somebody who knows what is wrong.

    Parameters
    ----------
    family
        With every repair there is, those of faults the planner does not know too.
    """

    family: Family
    home: Home
    judge: Judge
    record: Record

    def to_the_end(self) -> Record:
        """Repair what is wrong, prove it and leave."""
        where = Situation(place=PHONE, on_phone=True)
        wanted = needed_repairs(self.family, self.judge)
        if not all(repair_allowed(r, where) for r in wanted):
            self.record.minutes += self.family.dispatch_minutes * self.home.pace(GO)
            where = Situation()
        if not wanted:
            self.record.minutes += self.family.proof_minutes * self.home.pace(SYSTEM)
        for _ in range(ROUNDS):
            for repair in wanted:
                where = self._repair(repair, where)
            wanted = needed_repairs(self.family, self.judge)
            if not wanted:
                break
            if where.on_phone and not all(repair_allowed(r, where) for r in wanted):
                self.record.minutes += self.family.dispatch_minutes * self.home.pace(GO)
                where = Situation()
        self.record.end = "handed over" if wanted else "closed"
        return self.record

    def _repair(self, repair: RepairModel, where: Situation) -> Situation:
        family = self.family
        minutes = repair.minutes + proof_cost(family, repair) / family.dollars_per_minute
        if not where.on_phone:
            ready = prepare(family, where, repair.place, repair.requires)
            self.record.trips += ready.after.place != where.place
            minutes += ready.minutes
            where = replace(ready.after)
        self.record.minutes += minutes * self.home.pace(repair.id)
        self.record.parts_dollars += repair.dollars
        self.record.hazard_dollars += repair.hazard_cost
        worked = self.home.try_repair(repair.id)
        self.record.path.append(f"{repair.id}={worked}")
        return where


def needed_repairs(family: Family, judge: Judge) -> list[RepairModel]:
    """Return the cheapest repair of each thing that must go, place by place; none when fixed."""
    if judge.is_fixed():
        return []
    must_go = judge.must_go()
    found: dict[str, RepairModel] = {}
    while able := [r for r in family.repairs.values() if r.fixes & must_go]:
        best = min(able, key=lambda r: (repair_cost(family, r) / len(r.fixes & must_go), r.id))
        found[best.id] = best
        must_go -= best.fixes
    return sorted(found.values(), key=lambda r: (r.place, r.id))
