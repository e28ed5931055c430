"""What a call costs when the cause is known from the start: what no policy can hope to beat.

Only the repairs that are needed, roots before what they left behind, each again where it missed,
and their proofs. What may be put back (a breaker, a lock-out) is put back.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from catchpan.diagnosis.planning.ending import GO
from catchpan.diagnosis.planning.expected_cost import repair_cost
from catchpan.diagnosis.planning.forecast import SYSTEM
from catchpan.diagnosis.planning.safety_order import prepare, repair_allowed
from catchpan.diagnosis.planning.situation import Situation
from catchpan.diagnosis.rehearsal.play import minutes_to_see, travel_minutes
from catchpan.diagnosis.worlds.family import CONSEQUENCE, PHONE, RepairModel

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from catchpan.diagnosis.rehearsal.home import Home, Judge
    from catchpan.diagnosis.rehearsal.record import For, Record
    from catchpan.diagnosis.worlds.family import Family

ROUNDS: Final = 5


@dataclass(eq=False)
class Clairvoyant:
    """One call played by somebody who knows what is wrong.

    Parameters
    ----------
    family
        With every repair there is, those of faults the planner does not know too.
    puts_back
        For checks that put a tripped or blown thing back: the conditions that are gone then.
    """

    family: Family
    home: Home
    judge: Judge
    record: Record
    puts_back: Mapping[str, frozenset[str]]

    def to_the_end(self) -> Record:
        """Repair what is wrong, prove it and leave."""
        where = Situation(place=PHONE, on_phone=True)
        wanted = self._wanted()
        if not all(repair_allowed(r, where) for r in wanted):
            self.record.spend("driving", self.family.dispatch_minutes * self.home.pace(GO))
            where = Situation()
        if not wanted:
            self.record.spend("proofs", self.family.proof_minutes * self.home.pace(SYSTEM))
        for _ in range(ROUNDS):
            for repair in wanted:
                where = self._repair(repair, where)
            wanted = self._wanted()
            if not wanted:
                break
            if where.on_phone and not all(repair_allowed(r, where) for r in wanted):
                self.record.spend("driving", self.family.dispatch_minutes * self.home.pace(GO))
                where = Situation()
        self.record.end = "handed over" if wanted else "closed"
        return self.record

    def _wanted(self) -> list[RepairModel]:
        return needed_repairs(self.family, self.judge, self._resets())

    def _resets(self) -> list[RepairModel]:
        """Return what may be put back, as repairs that need no proof of their own."""
        known = [self.family.checks[c] for c in self.puts_back if c in self.family.checks]
        return [
            RepairModel(
                c.id,
                c.title,
                c.place,
                c.minutes,
                0.0,
                self.puts_back[c.id],
                hazard_cost=c.hazard_cost,
                requires=c.requires,
                caller_safe=c.phone,
            )
            for c in known
        ]

    def _repair(self, repair: RepairModel, where: Situation) -> Situation:
        family, is_reset = self.family, repair.id in self.family.checks
        pace = self.home.pace(repair.id)
        if not where.on_phone:
            ready = prepare(family, where, repair.place, repair.requires)
            going = travel_minutes(family, where, ready.after)
            self.record.trips += ready.after.place != where.place
            self.record.spend("going", going * pace)
            self.record.spend("preparing", (ready.minutes - going) * pace)
            where = replace(ready.after)
        came = self.home.answer(repair.id) if is_reset else str(self.home.try_repair(repair.id))
        if not is_reset:
            seen = minutes_to_see(family, repair, worked=came == str(True))
            self.record.spend("proofs", seen * pace)
        missed = not is_reset and self.judge.would_help(repair.id)
        what: For = "repairs that missed" if missed else "repairs that helped"
        self.record.spend(what, repair.minutes * pace, repair.dollars, repair.hazard_cost)
        self.record.path.append(f"{repair.id}={came}")
        return where


def needed_repairs(
    family: Family, judge: Judge, more: Sequence[RepairModel] = ()
) -> list[RepairModel]:
    """Return the cheapest repair of each thing that must go; none when it is fixed.

    Those of roots come first, then place by place.
    """
    if judge.is_fixed():
        return []
    must_go = judge.must_go()
    found: dict[str, RepairModel] = {}
    known = [*family.repairs.values(), *more]
    while able := [r for r in known if r.fixes & must_go]:
        best = min(able, key=lambda r: (repair_cost(family, r) / len(r.fixes & must_go), r.id))
        found[best.id] = best
        must_go -= best.fixes

    def order(repair: RepairModel) -> tuple[bool, str, str]:
        left_behind = all(family.kinds.get(c) == CONSEQUENCE for c in repair.fixes)
        return left_behind, repair.place, repair.id

    return sorted(found.values(), key=order)
