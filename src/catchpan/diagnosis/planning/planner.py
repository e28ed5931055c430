"""What to do next: the step with the least expected cost until the fix is proven.

Every step that is allowed now is priced: its own cost plus, over what may come of it, the expected
cost of repairing on (``expected_cost.tail_cost``). The best of them are then followed further
(``lookahead``), which can only make them cheaper. Repairs count as tests: one
that does not help says what else it was not. On the phone only questions, what is safe for a
caller, sending the technician and leaving it are compared; sending costs the drive.
A call is closed only after the system was run and judged (after a repair, or as it is).
Ties are broken by kind and id, so the same call always gets the same answer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.planning.callers_try import tries_after_answers
from catchpan.diagnosis.planning.draft import Draft, check_drafts, repair_drafts, to_redo
from catchpan.diagnosis.planning.ending import (
    LEAVE_ID,
    SOLVED,
    Standing,
    endings,
    leave_now,
    owed_after,
    standing_of,
)
from catchpan.diagnosis.planning.expected_cost import (
    DECIMALS,
    entropy_bits,
    free_repairs,
    leaving_dollars,
    openings,
    revealed_cost,
    tail_cost,
)
from catchpan.diagnosis.planning.field import field_of
from catchpan.diagnosis.planning.forecast import Kept, keep, outlook, with_forecasts
from catchpan.diagnosis.planning.lookahead import FULL, Budget, savings
from catchpan.diagnosis.planning.safety_order import (
    screens_danger,
    standing_dangers,
)
from catchpan.diagnosis.planning.situation import Forecast, Situation, Step

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from catchpan.diagnosis.inference.belief import Belief
    from catchpan.diagnosis.worlds.family import Family

__all__ = ["Plan", "Situation", "Step", "next_steps", "plan"]

BEST_CHECKS: Final = 5
LEAST_BITS: Final = 1e-3
ASK_FOR: Final = 0.1
"""A question is asked on the phone only if, once paid for, it still saves this share of its own
cost against going at once (assumed). What it tells is priced as if nothing later told it for less,
so a saving that is a small part of the price of asking is none."""
NOTHING_SAVED: Final[Mapping[str, float]] = MappingProxyType({})


@dataclass(frozen=True)
class Plan:
    """Steps from the least expected cost up, and the belief left out of the reckoning.

    ``repair_now`` is the expected cost of repairing on without another look, from here;
    ``now`` is what leads at present.
    """

    steps: tuple[Step, ...]
    worlds: int
    cut: float
    repair_now: float
    now: Forecast


def next_steps(family: Family, belief: Belief, situation: Situation, limit: int = 5) -> list[Step]:
    """Return the best next steps, least expected cost first."""
    return list(plan(family, belief, situation, limit).steps)


def plan(
    family: Family,
    belief: Belief,
    situation: Situation,
    limit: int = 5,
    budget: Budget | None = FULL,
) -> Plan:
    """Price every step that is allowed now and return the best ones.

    Parameters
    ----------
    limit
        How many steps to return, at least 1.
    budget
        How far to look ahead; None for a single step.

    Notes
    -----
    Worlds are kept by mass, at most ``MOST_WORLDS`` covering at least ``KEPT_MASS`` where that
    suffices; ``Plan.cut`` says what was left out.
    """
    kept = keep(family, belief, on_phone=situation.on_phone)
    leads = outlook(kept)
    if dangers := standing_dangers(belief, situation):
        titles = ", ".join(sorted({family.checks[r.check_id].title for r in dangers}))
        return Plan(leave_now(family, titles), len(kept.worlds), kept.cut, 0.0, leads)
    situation = replace(situation, done=situation.done - to_redo(kept, situation))
    standing = standing_of(kept, belief, situation)
    drafts = check_drafts(kept, situation) + repair_drafts(kept, standing)
    if standing.lasts >= SOLVED:
        drafts = [d for d in drafts if d.kind == "prove"]
    present = kept.by_needs(kept.chance[:, None])
    mass = np.vstack([present, *(d.mass for d in drafts)])
    where = [situation, *(d.ready.after for d in drafts for _ in d.mass)]
    repairing = _repairing(kept, mass, where)
    steps = _ranked(kept, drafts, repairing, standing)
    if steps[0].target == LEAVE_ID or situation.on_phone:
        looking = np.minimum(repairing, _looking(kept, mass, where, drafts))
        hopeful = _ranked(kept, drafts, looking, standing)
        if situation.on_phone:
            saved = tries_after_answers(kept, drafts, hopeful)
            hopeful = _ranked(kept, drafts, looking, standing, saved)
        steps = steps if hopeful[0].target == LEAVE_ID else hopeful
    elif budget is not None:
        saved = _saved(kept, drafts, steps, situation, budget)
        steps = _ranked(kept, drafts, repairing, standing, saved)
    acting = next((s.total_cost for s in steps if s.kind in ("go", "repair")), float("inf"))
    steps.sort(key=lambda s: s.kind == "ask" and acting - s.total_cost < ASK_FOR * s.own_cost)
    steps.sort(key=lambda s: not screens_danger(family, s.target, situation))
    if situation.unproven and belief.verdict and not situation.on_phone:
        steps.sort(key=lambda s: s.kind != "prove")
    shown = steps[: max(limit, 1)]
    chosen = tuple(with_forecasts(kept, s, situation.doubt) for s in shown)
    return Plan(chosen, len(kept.worlds), kept.cut, float(repairing[0]), leads)


def _saved(
    kept: Kept, drafts: list[Draft], steps: list[Step], situation: Situation, budget: Budget
) -> dict[str, float]:
    """Return what looking further ahead saves on the best candidates, in dollars."""
    ids = [s.target for s in steps if s.target != LEAVE_ID][: budget.candidates]
    telling = _by_bits_for_the_cost(kept, drafts)
    checks = [c for c in dict.fromkeys([*ids, *telling]) if c in kept.family.checks]
    reduced = field_of(kept, sorted(checks[: budget.checks]), budget.worlds)
    return savings(reduced, replace(situation, cleared=frozenset()), ids, budget)


def _by_bits_for_the_cost(kept: Kept, drafts: list[Draft]) -> list[str]:
    looks = [d for d in drafts if d.target in kept.family.checks]
    bits = kept.told.told_bits(kept.chance, kept.worlds)
    told = dict(zip(kept.told.spans, bits.tolist(), strict=True))
    worth = {d.target: told[d.target] / max(d.own_cost, 1e-9) for d in looks}
    return sorted(worth, key=lambda c: (-round(worth[c], DECIMALS), c))


def _ranked(
    kept: Kept,
    drafts: list[Draft],
    after: NDArray[np.float64],
    standing: Standing,
    saved: Mapping[str, float] = NOTHING_SAVED,
) -> list[Step]:
    from_here = _from_phone(kept, drafts, after, standing.situation)
    steps = _priced(kept.family, drafts, from_here, standing, saved)
    steps += endings(kept, float(after[0]), standing)
    return sorted(steps, key=lambda s: (round(s.total_cost, DECIMALS), s.kind, s.target))


def _on_site(where: list[Situation]) -> list[Situation]:
    return [replace(s, place="", on_phone=False) if s.on_phone else s for s in where]


def _repairing(
    kept: Kept, mass: NDArray[np.float64], where: list[Situation]
) -> NDArray[np.float64]:
    """Cost of repairing on for every row, as seen on site; it can be achieved."""
    site = _on_site(where)
    opening = openings(kept.family, site)
    return tail_cost(kept.needs, mass, opening, free_repairs(kept.needs, site)).cost


def _looking(
    kept: Kept, mass: NDArray[np.float64], where: list[Situation], drafts: list[Draft]
) -> NDArray[np.float64]:
    """Estimate the cost of looking further first, for every row, as seen on site.

    The cost if the truth were told, and for every bit that is still open what the best checks at
    hand ask for a bit. Used only where repairing on is no better than leaving, to tell whether
    giving up is premature.
    """
    bits = entropy_bits(mass)
    if where[0].on_phone:
        drafts = check_drafts(kept, _on_site(where)[0])
        bits = (
            np.append(bits[0], entropy_bits(np.vstack([d.mass for d in drafts])))
            if drafts
            else bits
        )
    price = _dollars_per_bit(kept, drafts, bits)
    if not np.isfinite(price):
        return np.full(len(mass), np.inf)
    opening = openings(kept.family, _on_site(where))
    told = revealed_cost(kept.needs, mass, opening, where[0].done, again=True)
    return told + price * entropy_bits(mass)


def _from_phone(
    kept: Kept, drafts: list[Draft], after: NDArray[np.float64], situation: Situation
) -> NDArray[np.float64]:
    """Cost of the rows of the drafts; on the phone leave it there, or drive and go on."""
    if not situation.on_phone or not drafts:
        return after[1:]
    family, mass = kept.family, np.vstack([d.mass for d in drafts])
    drive = family.dispatch_minutes * family.dollars_per_minute * mass.sum(axis=1)
    leaving = mass @ leaving_dollars(kept.needs)
    result: NDArray[np.float64] = np.minimum(leaving, drive + after[1:])
    return result


def _dollars_per_bit(kept: Kept, drafts: list[Draft], bits: NDArray[np.float64]) -> float:
    """Return what the best checks ask for a bit; ``bits``: open now, then after each row."""
    prices, row = [], 1
    for draft in drafts:
        gain = float(bits[0] - bits[row : row + len(draft.mass)].sum())
        row += len(draft.mass)
        if draft.target in kept.family.checks and gain > LEAST_BITS:
            prices.append(draft.own_cost / gain)
    best = sorted(prices)[:BEST_CHECKS]
    return float(np.mean(best)) if best else float("inf")


def _priced(
    family: Family,
    drafts: list[Draft],
    after: NDArray[np.float64],
    standing: Standing,
    saved: Mapping[str, float],
) -> list[Step]:
    """Turn drafts into steps.

    An answer that means danger is priced like any other: the danger is there whether one looks or
    not, and looking must not seem dear. Proofs still owed are part of the cost after every step
    but the one that makes them.
    """
    steps, row = [], 0
    for draft in drafts:
        rest = float(after[row : row + len(draft.mass)].sum())
        row += len(draft.mass)
        cost = (
            rest
            - saved.get(draft.target, 0.0)
            + owed_after(family, draft.kind, draft.target, standing)
        )
        steps.append(draft.as_step(cost))
    return steps
