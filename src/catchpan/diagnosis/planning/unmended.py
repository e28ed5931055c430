"""Before leaving: a root that is likelier than not there is mended, though nothing shows just now.

A plugged drain line whose pan was emptied, a filter that will trip the limit again: the system runs
at the moment, so leaving looks cheap, and the same trouble is back within hours.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from catchpan.diagnosis.planning.ending import GO, LEAVE_ID
from catchpan.diagnosis.planning.safety_order import prepare, repair_allowed
from catchpan.diagnosis.planning.situation import Step

if TYPE_CHECKING:
    from catchpan.diagnosis.inference.belief import Belief
    from catchpan.diagnosis.planning.situation import Situation, StepKind
    from catchpan.diagnosis.worlds.family import Family, RepairModel

LIKELIER_THAN_NOT: Final = 0.5


def mend_before_leaving(belief: Belief, situation: Situation, steps: list[Step]) -> list[Step]:
    """Return the steps, led by the repair of a root that is likelier there than not.

    Only where leaving would come next, and only with a repair that is allowed now. On the phone
    somebody is sent: what a caller thawed or put back works for the moment.
    """
    if steps[0].target != LEAVE_ID:
        return steps
    if situation.on_phone:
        going = [s for s in steps if s.target == GO and any_root(belief) > LIKELIER_THAN_NOT]
        return [*going, *(s for s in steps if s not in going)]
    chance = {r.id: roots_share(belief, r) for r in belief.family.repairs.values()}
    allowed = [r for r in belief.family.repairs.values() if repair_allowed(r, situation)]
    best = max(allowed, key=lambda r: (chance[r.id], -r.minutes, r.id), default=None)
    if best is None or chance[best.id] <= LIKELIER_THAN_NOT:
        return steps
    return [_step(belief.family, best, situation, steps[0].total_cost), *steps]


def any_root(belief: Belief) -> float:
    """Return the share of the worlds with any root."""
    return float(belief.probabilities()[[bool(w.roots) for w in belief.family.worlds]].sum())


def roots_share(belief: Belief, repair: RepairModel) -> float:
    """Return the share of the worlds with a root that the repair removes."""
    family = belief.family
    holds = [bool(w.roots & repair.fixes) for w in family.worlds]
    return float(belief.probabilities()[holds].sum())


def _step(family: Family, repair: RepairModel, situation: Situation, after: float) -> Step:
    ready = prepare(family, situation, repair.place, repair.requires)
    cost = (ready.minutes + repair.minutes) * family.dollars_per_minute + repair.dollars
    kind: StepKind = "refer" if repair.refer else "repair"
    return Step(kind, repair.id, repair.title, cost, after, ready.acts)
