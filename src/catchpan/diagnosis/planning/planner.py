"""What to do next: the step with the least expected cost until the fix is proven.

One step is looked ahead: for every step that is allowed now, its own cost plus, over what may come
of it, the expected cost of repairing on (``expected_cost.tail_cost``). Repairs count as tests: one
that does not help says what else it was not. On the phone only questions, what is safe for a
caller, sending the technician and leaving it are compared; sending costs the drive.
A call is closed only after the system was run and judged (after a repair, or as it is).
Ties are broken by kind and id, so the same call always gets the same answer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

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
    entropy_bits,
    free_repairs,
    leaving_dollars,
    openings,
    proof_cost,
    revealed_cost,
    tail_cost,
)
from catchpan.diagnosis.planning.forecast import SYSTEM, Kept, keep, outlook, with_forecasts
from catchpan.diagnosis.planning.safety_order import (
    Preparation,
    check_allowed,
    prepare,
    repair_allowed,
    screens_danger,
    standing_dangers,
)
from catchpan.diagnosis.planning.situation import Forecast, Situation, Step, StepKind
from catchpan.diagnosis.worlds.family import PHONE, CheckModel, Family, likelihood_table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from catchpan.diagnosis.inference.belief import Belief
    from catchpan.diagnosis.worlds.family import RepairModel

__all__ = ["Plan", "Situation", "Step", "next_steps", "plan"]

BEST_CHECKS: Final = 5
LEAST_BITS: Final = 1e-3
REDO: Final = 0.5
"""A repair is proposed again where what it should have removed is there with this chance."""


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


@dataclass(frozen=True, eq=False)
class _Draft:
    """A step before it is priced: ``mass`` has a row for each way it may come out unsolved."""

    kind: StepKind
    target: str
    title: str
    own_cost: float
    ready: Preparation
    mass: NDArray[np.float64]


def next_steps(family: Family, belief: Belief, situation: Situation, limit: int = 5) -> list[Step]:
    """Return the best next steps, least expected cost first."""
    return list(plan(family, belief, situation, limit).steps)


def plan(family: Family, belief: Belief, situation: Situation, limit: int = 5) -> Plan:
    """Price every step that is allowed now and return the best ones.

    Parameters
    ----------
    limit
        How many steps to return, at least 1.

    Notes
    -----
    Worlds are kept by mass, at most ``MOST_WORLDS`` covering at least ``KEPT_MASS`` where that
    suffices; ``Plan.cut`` says what was left out.
    """
    kept = keep(family, belief)
    leads = outlook(kept)
    if dangers := standing_dangers(belief, situation):
        titles = ", ".join(sorted({family.checks[r.check_id].title for r in dangers}))
        return Plan(leave_now(family, titles), len(kept.worlds), kept.cut, 0.0, leads)
    situation = replace(situation, done=situation.done - _to_redo(kept, situation))
    standing = standing_of(kept, belief, situation)
    drafts = _check_drafts(kept, situation) + _repair_drafts(kept, standing)
    if standing.works >= SOLVED:
        drafts = [d for d in drafts if d.kind == "prove"]
    present = kept.by_needs(kept.chance[:, None])
    mass = np.vstack([present, *(d.mass for d in drafts)])
    where = [situation, *(d.ready.after for d in drafts for _ in d.mass)]
    repairing = _repairing(kept, mass, where)
    steps = _ranked(kept, drafts, repairing, standing)
    if steps[0].target == LEAVE_ID or situation.on_phone:
        looking = np.minimum(repairing, _looking(kept, mass, where, drafts))
        hopeful = _ranked(kept, drafts, looking, standing)
        steps = steps if hopeful[0].target == LEAVE_ID else hopeful
    steps.sort(key=lambda s: not screens_danger(family, s.target, situation))
    chosen = tuple(with_forecasts(kept, s) for s in steps[: max(limit, 1)])
    return Plan(chosen, len(kept.worlds), kept.cut, float(repairing[0]), leads)


def _to_redo(kept: Kept, situation: Situation) -> frozenset[str]:
    """Repairs that were made, but what they should have removed is likelier there than not."""
    family = kept.family
    column = {c: j for j, c in enumerate(family.conditions)}
    found = set()
    for name in situation.done & family.repairs.keys():
        fixed = [column[c] for c in family.repairs[name].fixes if c in column]
        there = family.membership[kept.worlds][:, fixed].any(axis=1)
        if float(kept.chance[there].sum()) > REDO:
            found.add(name)
    return frozenset(found)


def _ranked(
    kept: Kept, drafts: list[_Draft], after: NDArray[np.float64], standing: Standing
) -> list[Step]:
    from_here = _from_phone(kept, drafts, after, standing.situation)
    steps = _priced(kept.family, drafts, from_here, standing)
    steps += endings(kept, float(after[0]), standing)
    return sorted(steps, key=lambda s: (round(s.total_cost, 9), s.kind, s.target))


@lru_cache(maxsize=4)
def _stack(family: Family) -> tuple[NDArray[np.float32], dict[str, slice]]:
    """Likelihoods of all checks side by side, and the columns of each check."""
    spans: dict[str, slice] = {}
    tables = [np.ones((len(family.worlds), 0), dtype=np.float32)]
    column = 0
    for check_id, check in sorted(family.checks.items()):
        table = likelihood_table(family, check)
        spans[check_id] = slice(column, column + table.shape[1])
        column += table.shape[1]
        tables.append(table.astype(np.float32))
    return np.hstack(tables), spans


def _check_drafts(kept: Kept, situation: Situation) -> list[_Draft]:
    family = kept.family
    allowed = [c for _, c in sorted(family.checks.items()) if _may(c, situation)]
    allowed = _in_order(family, allowed, situation)
    if not allowed:
        return []
    stack, spans = _stack(family)
    columns = np.concatenate([np.arange(spans[c.id].start, spans[c.id].stop) for c in allowed])
    tables = stack[np.ix_(kept.worlds, columns)]
    begin = 0
    for check in allowed:
        width = len(check.outcomes)
        if check.look is not None:
            tables[:, begin : begin + width] = kept.belief.table(check)[kept.worlds]
        begin += width
    mass = kept.by_needs(kept.chance[:, None] * tables)
    ends = np.cumsum([len(c.outcomes) for c in allowed])
    return [
        _check_draft(family, c, situation, mass[end - len(c.outcomes) : end])
        for c, end in zip(allowed, ends, strict=True)
    ]


def _in_order(family: Family, allowed: list[CheckModel], situation: Situation) -> list[CheckModel]:
    """Leave out groups that wait for another one, as long as that one is to be had and is not."""
    at_hand = {c.group for c in allowed} - situation.set_up
    return [c for c in allowed if family.group_after.get(c.group, "") not in at_hand - {""}]


def _may(check: CheckModel, situation: Situation) -> bool:
    if check.id in situation.unproven and not situation.on_phone:
        return check.id not in situation.deferred
    return check_allowed(check, situation)


def _check_draft(
    family: Family, check: CheckModel, situation: Situation, mass: NDArray[np.float64]
) -> _Draft:
    ready = prepare(family, situation, check.place, check.requires, check.group)
    cost = (ready.minutes + check.minutes) * family.dollars_per_minute + check.hazard_cost
    return _Draft(_kind(check, situation), check.id, check.title, cost, ready, mass)


def _kind(check: CheckModel, situation: Situation) -> StepKind:
    if check.id in situation.unproven:
        return "prove"
    if situation.on_phone or check.place == PHONE:
        return "ask"
    return "look" if check.numeric is None else "measure"


def _repair_drafts(kept: Kept, standing: Standing) -> list[_Draft]:
    situation = standing.situation
    mass = kept.by_needs(kept.chance[:, None])[0]
    drafts = [
        _repair_draft(kept, repair, kept.needs.targets[j], mass, situation)
        for j, repair in enumerate(kept.needs.repairs)
        if repair_allowed(repair, situation)
    ]
    if standing.may_run:
        drafts.append(_system_draft(kept.family, mass, situation))
    return drafts


def _system_draft(family: Family, mass: NDArray[np.float64], situation: Situation) -> _Draft:
    """Draft running the system as it is: it may turn out that nothing is wrong."""
    failing = mass.copy()
    failing[0] = 0.0
    ready = Preparation((), 0.0, situation)
    cost = family.proof_minutes * family.dollars_per_minute
    title = "Run the system and prove that it works"
    return _Draft("prove", SYSTEM, title, cost, ready, failing[None, :])


def _repair_draft(
    kept: Kept,
    repair: RepairModel,
    targets: NDArray[np.intp],
    mass: NDArray[np.float64],
    situation: Situation,
) -> _Draft:
    """Draft a repair: its one row is the mass in which the system still fails afterwards."""
    family = kept.family
    ready = prepare(family, situation, repair.place, repair.requires)
    failing = (1.0 - repair.success) * mass
    failing += np.bincount(targets, repair.success * mass, minlength=len(mass))
    failing[0] = 0.0
    spent = (ready.minutes + repair.minutes) * family.dollars_per_minute
    spent += repair.dollars + repair.hazard_cost + proof_cost(family, repair)
    kind: StepKind = "refer" if repair.refer else "repair"
    ready = replace(ready, after=replace(ready.after, done=ready.after.done | {repair.id}))
    return _Draft(kind, repair.id, repair.title, spent, ready, failing[None, :])


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
    kept: Kept, mass: NDArray[np.float64], where: list[Situation], drafts: list[_Draft]
) -> NDArray[np.float64]:
    """Estimate the cost of looking further first, for every row, as seen on site.

    The cost if the truth were told, and for every bit that is still open what the best checks at
    hand ask for a bit. Used only where repairing on is no better than leaving, to tell whether
    giving up is premature.
    """
    bits = entropy_bits(mass)
    if where[0].on_phone:
        drafts = _check_drafts(kept, _on_site(where)[0])
        bits = (
            np.append(bits[0], entropy_bits(np.vstack([d.mass for d in drafts])))
            if drafts
            else bits
        )
    price = _dollars_per_bit(kept, drafts, bits)
    if not np.isfinite(price):
        return np.full(len(mass), np.inf)
    opening = openings(kept.family, _on_site(where))
    told = revealed_cost(kept.needs, mass, opening, where[0].done)
    return told + price * entropy_bits(mass)


def _from_phone(
    kept: Kept, drafts: list[_Draft], after: NDArray[np.float64], situation: Situation
) -> NDArray[np.float64]:
    """Cost of the rows of the drafts; on the phone leave it there, or drive and go on."""
    if not situation.on_phone or not drafts:
        return after[1:]
    family, mass = kept.family, np.vstack([d.mass for d in drafts])
    drive = family.dispatch_minutes * family.dollars_per_minute * mass.sum(axis=1)
    leaving = mass @ leaving_dollars(kept.needs)
    result: NDArray[np.float64] = np.minimum(leaving, drive + after[1:])
    return result


def _dollars_per_bit(kept: Kept, drafts: list[_Draft], bits: NDArray[np.float64]) -> float:
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
    family: Family, drafts: list[_Draft], after: NDArray[np.float64], standing: Standing
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
        cost = rest + owed_after(family, draft.kind, draft.target, standing)
        acts = draft.ready.acts
        steps.append(Step(draft.kind, draft.target, draft.title, draft.own_cost, cost, acts))
    return steps
