"""When a call may be closed, what is still to be proven, and the steps that end or leave it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from catchpan.diagnosis.planning.expected_cost import leaving_dollars
from catchpan.diagnosis.planning.forecast import SYSTEM, Kept
from catchpan.diagnosis.planning.safety_order import LEAVE
from catchpan.diagnosis.planning.situation import Situation, Step, StepKind

if TYPE_CHECKING:
    from catchpan.diagnosis.inference.belief import Belief
    from catchpan.diagnosis.worlds.family import Family

GO: Final = "site"
LEAVE_ID: Final = "leave"
DANGER: Final = "danger"

SOLVED: Final = 0.9
"""A call may be closed when the system works, and will go on working, with at least this
probability (assumed). A second fault that shows nothing today cannot be ruled out by a proof."""

RUN_ON_PHONE: Final = 0.5
"""A caller is asked to run the system only from this probability that it works (assumed)."""


@dataclass(frozen=True)
class Standing:
    """What a call still owes before it may be closed.

    Parameters
    ----------
    lasts
        Probability that the system works and that nothing is left which will stop it again.
    proven
        The system was last seen working, by its verdict or by a proof check.
    may_run
        Running the system as it is may be proposed: it was not run yet as it is now, or it failed
        and all that was seen since says that it should work.
    owed
        Dollars of the proof checks still owed.
    to_run
        Expected dollars of running and judging a system that was neither run nor repaired yet.
    """

    situation: Situation
    lasts: float
    proven: bool
    may_run: bool
    owed: float
    to_run: float


def standing_of(kept: Kept, belief: Belief, situation: Situation) -> Standing:
    """Return what the call still owes."""
    family = kept.family
    works = float(kept.chance[family.works[kept.worlds]].sum())
    proven = _was_proven(belief, situation)
    untried = belief.verdict is None and not proven
    least = RUN_ON_PHONE if situation.on_phone else 1.0 - SOLVED
    known = [family.checks[c].minutes for c in situation.unproven if c in family.checks]
    lasts = float(kept.chance[family.lasts[kept.worlds]].sum())
    open_to_run = (untried and works >= least) or (not proven and lasts >= SOLVED)
    return Standing(
        situation=situation,
        lasts=lasts,
        proven=proven,
        may_run=open_to_run and SYSTEM not in situation.deferred | situation.done,
        owed=sum(known) * family.dollars_per_minute,
        to_run=works * family.proof_minutes * family.dollars_per_minute if untried else 0.0,
    )


def owed_after(family: Family, kind: StepKind, target: str, standing: Standing) -> float:
    """Return the dollars of proof still owed after a step.

    A repair comes with its proof, so only looking and going leave the running of the system open.
    """
    if target in standing.situation.unproven:
        return standing.owed - family.checks[target].minutes * family.dollars_per_minute
    return standing.owed + (standing.to_run if kind in ("ask", "look", "measure", "go") else 0.0)


def endings(kept: Kept, on_site: float, standing: Standing) -> list[Step]:
    """Return what ends the call or leaves the phone: go, refer or stop.

    Parameters
    ----------
    on_site
        Expected dollars from the arrival on site to a proven fix.
    """
    family, situation = kept.family, standing.situation
    leaving = float(kept.by_needs(kept.chance[:, None])[0] @ leaving_dollars(kept.needs))
    steps = []
    if situation.on_phone and GO not in situation.deferred:
        drive = family.dispatch_minutes * family.dollars_per_minute
        rest = on_site + owed_after(family, "go", GO, standing)
        steps.append(Step("go", GO, "Send the technician", drive, rest))
    if standing.lasts >= SOLVED and standing.proven and not situation.unproven:
        return [*steps, Step("stop", LEAVE_ID, "Done: close the call", 0.0, leaving)]
    cost = family.refer_minutes * family.dollars_per_minute
    rest = max(leaving - cost, 0.0) + standing.lasts * _another_visit(family, standing)
    return [*steps, Step("refer", LEAVE_ID, "Hand the job over", cost, rest)]


def leave_now(family: Family, titles: str) -> tuple[Step, ...]:
    """Return the only two steps that are left after an answer that means danger."""
    cost = family.call_back_dollars
    stop = Step("stop", DANGER, f"Stop and leave: {titles}", 0.0, cost, LEAVE)
    hand = Step("refer", DANGER, "Hand over to the emergency service", 0.0, cost)
    return stop, hand


def _another_visit(family: Family, standing: Standing) -> float:
    """Price what works unproven when left to someone else, who has to drive to it and prove it."""
    proof = max(family.proof_minutes * family.dollars_per_minute, standing.owed)
    return proof + family.dispatch_minutes * family.dollars_per_minute


def _was_proven(belief: Belief, situation: Situation) -> bool:
    """Say whether the system was last seen working: a call is not closed without."""
    if belief.verdict is not None:
        return belief.verdict
    return any(p in situation.done for r in belief.family.repairs.values() for p in r.proofs)
