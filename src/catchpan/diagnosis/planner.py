"""What to do next: the step with the least expected cost until the fix is proven.

One step is looked ahead: for every step that is allowed now, its own cost plus, over what may come
of it, the expected cost of repairing on (``expected_cost.tail_cost``). Repairs count as tests: one
that does not help says what else it was not. On the phone only questions, what is safe for a
caller, sending the technician and leaving it are compared; sending costs the drive.
Ties are broken by kind and id, so the same call always gets the same answer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.causes import part_of
from catchpan.diagnosis.expected_cost import (
    free_repairs,
    need_table,
    openings,
    proof_cost,
    tail_cost,
)
from catchpan.diagnosis.family import OTHER, PHONE, ROOT, CheckModel, Family, likelihood_table
from catchpan.diagnosis.safety_order import (
    LEAVE,
    Preparation,
    check_allowed,
    prepare,
    repair_allowed,
    standing_dangers,
)
from catchpan.diagnosis.situation import Forecast, Situation, Step, StepKind

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from catchpan.diagnosis.belief import Belief
    from catchpan.diagnosis.expected_cost import NeedTable
    from catchpan.diagnosis.family import RepairModel

__all__ = ["Plan", "Situation", "Step", "next_steps", "plan"]

MOST_WORLDS: Final = 2000
KEPT_MASS: Final = 0.999
NO_FAULT: Final = "no-fault"
GO: Final = "site"
LEAVE_ID: Final = "leave"
DANGER: Final = "danger"
SOLVED: Final = 0.95
"""Leaving is called stopping when the system works with at least this probability (assumed)."""


@dataclass(frozen=True)
class Plan:
    """Steps from the least expected cost up, and the belief left out of the reckoning.

    ``repair_now`` is the expected cost of repairing on without another look, from here.
    """

    steps: tuple[Step, ...]
    worlds: int
    cut: float
    repair_now: float


@dataclass(frozen=True, eq=False)
class _Kept:
    """The likeliest worlds, sorted by needs: ``starts`` are the first rows of the needs ``ids``."""

    family: Family
    needs: NeedTable
    worlds: NDArray[np.intp]
    chance: NDArray[np.float64]
    ids: NDArray[np.intp]
    starts: NDArray[np.intp]
    cut: float

    def by_needs(self, weights: NDArray[np.float64]) -> NDArray[np.float64]:
        """Sum rows of shape (kept, columns) into shape (columns, n_needs)."""
        mass = np.zeros((weights.shape[1], len(self.needs.sets)))
        mass[:, self.ids] = np.add.reduceat(weights, self.starts, axis=0).T
        return mass


@dataclass(frozen=True, eq=False)
class _Draft:
    """A step before it is priced: ``mass`` has a row for each way it may come out unsolved."""

    kind: StepKind
    target: str
    title: str
    own_cost: float
    ready: Preparation
    mass: NDArray[np.float64]
    danger: tuple[bool, ...]


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
    kept = _keep(family, belief)
    if dangers := standing_dangers(belief):
        titles = ", ".join(sorted({family.checks[r.check_id].title for r in dangers}))
        return Plan(_leave_now(family, titles), len(kept.worlds), kept.cut, 0.0)
    drafts = _check_drafts(kept, situation) + _repair_drafts(kept, situation)
    present = kept.by_needs(kept.chance[:, None])
    mass = np.vstack([present, *(d.mass for d in drafts)])
    where = [situation, *(d.ready.after for d in drafts for _ in d.mass)]
    after, going = _rows_cost(kept, mass, where, situation)
    owed = _owed(family, situation)
    steps = _priced(family, drafts, after[1:], owed)
    steps += _endings(kept, present[0], float(going[0]), situation)
    steps.sort(key=lambda s: (round(s.total_cost, 9), s.kind, s.target))
    chosen = tuple(_with_forecasts(kept, s) for s in steps[: max(limit, 1)])
    return Plan(chosen, len(kept.worlds), kept.cut, float(after[0]))


def _keep(family: Family, belief: Belief) -> _Kept:
    needs, chance = need_table(family), belief.probabilities()
    order = np.argsort(-chance, kind="stable")
    enough = int(np.searchsorted(np.cumsum(chance[order]), KEPT_MASS)) + 1
    best = order[: min(enough, MOST_WORLDS, len(order))]
    best = best[np.argsort(needs.of_world[best], kind="stable")]
    ids, starts = np.unique(needs.of_world[best], return_index=True)
    share = float(chance[best].sum())
    return _Kept(family, needs, best, chance[best] / share, ids, starts, max(0.0, 1.0 - share))


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
        tables.append((table / table.sum(axis=1, keepdims=True)).astype(np.float32))
    return np.hstack(tables), spans


def _check_drafts(kept: _Kept, situation: Situation) -> list[_Draft]:
    family = kept.family
    allowed = [c for _, c in sorted(family.checks.items()) if _may(c, situation)]
    if not allowed:
        return []
    stack, spans = _stack(family)
    columns = np.concatenate([np.arange(spans[c.id].start, spans[c.id].stop) for c in allowed])
    mass = kept.by_needs(kept.chance[:, None] * stack[np.ix_(kept.worlds, columns)])
    ends = np.cumsum([len(c.outcomes) for c in allowed])
    return [
        _check_draft(family, c, situation, mass[end - len(c.outcomes) : end])
        for c, end in zip(allowed, ends, strict=True)
    ]


def _may(check: CheckModel, situation: Situation) -> bool:
    if check.id in situation.unproven and not situation.on_phone:
        return check.id not in situation.deferred
    return check_allowed(check, situation)


def _check_draft(
    family: Family, check: CheckModel, situation: Situation, mass: NDArray[np.float64]
) -> _Draft:
    ready = prepare(family, situation, check.place, check.requires, check.group)
    cost = (ready.minutes + check.minutes) * family.dollars_per_minute + check.hazard_cost
    danger = tuple(o.danger for o in check.outcomes)
    return _Draft(_kind(check, situation), check.id, check.title, cost, ready, mass, danger)


def _kind(check: CheckModel, situation: Situation) -> StepKind:
    if check.id in situation.unproven:
        return "prove"
    if situation.on_phone or check.place == PHONE:
        return "ask"
    return "look" if check.numeric is None else "measure"


def _repair_drafts(kept: _Kept, situation: Situation) -> list[_Draft]:
    mass = kept.by_needs(kept.chance[:, None])[0]
    return [
        _repair_draft(kept, repair, kept.needs.targets[j], mass, situation)
        for j, repair in enumerate(kept.needs.repairs)
        if repair_allowed(repair, situation)
    ]


def _repair_draft(
    kept: _Kept,
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
    return _Draft(kind, repair.id, repair.title, spent, ready, failing[None, :], (False,))


def _rows_cost(
    kept: _Kept, mass: NDArray[np.float64], where: list[Situation], situation: Situation
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Cost from here on for every row; on the phone also what sending the technician costs."""
    family = kept.family
    if not situation.on_phone:
        tail = tail_cost(kept.needs, mass, openings(family, where), free_repairs(kept.needs, where))
        return tail.cost, tail.cost
    site = [replace(s, place="", on_phone=False) for s in where]
    tail = tail_cost(kept.needs, mass, openings(family, site), free_repairs(kept.needs, site))
    drive = family.dispatch_minutes * family.dollars_per_minute
    going = drive * mass.sum(axis=1) + tail.cost
    return np.minimum(tail.leaving, going), going


def _owed(family: Family, situation: Situation) -> float:
    known = [family.checks[c].minutes for c in situation.unproven if c in family.checks]
    return sum(known) * family.dollars_per_minute


def _priced(
    family: Family, drafts: list[_Draft], after: NDArray[np.float64], owed: float
) -> list[Step]:
    """Turn drafts into steps; an answer that means danger costs a call-back, whatever the belief.

    Proofs still owed are part of the cost after every step but the one that makes them.
    """
    steps, row = [], 0
    for draft in drafts:
        mass, danger = draft.mass.sum(axis=1), np.array(draft.danger)
        rest = np.where(danger, family.call_back_dollars * mass, after[row : row + len(mass)])
        row += len(mass)
        paid = family.checks[draft.target].minutes if draft.kind == "prove" else 0.0
        cost = float(rest.sum()) + owed - paid * family.dollars_per_minute
        acts = draft.ready.acts
        steps.append(Step(draft.kind, draft.target, draft.title, draft.own_cost, cost, acts))
    return steps


def _endings(
    kept: _Kept, present: NDArray[np.float64], going: float, situation: Situation
) -> list[Step]:
    """Return what ends the call or leaves the phone: go, refer or stop."""
    family = kept.family
    faulty = float(present[1:].sum())
    leaving = family.call_back_dollars * faulty
    steps = []
    if situation.on_phone and GO not in situation.deferred:
        drive = family.dispatch_minutes * family.dollars_per_minute
        steps.append(Step("go", GO, "Send the technician", drive, going - drive))
    if faulty > 1.0 - SOLVED:
        cost = min(leaving, family.refer_minutes * family.dollars_per_minute)
        steps.append(Step("refer", LEAVE_ID, "Hand the job over", cost, leaving - cost))
    elif not situation.unproven:
        steps.append(Step("stop", LEAVE_ID, "Done: close the call", 0.0, leaving))
    return steps


def _leave_now(family: Family, titles: str) -> tuple[Step, ...]:
    """Return the only two steps that are left after an answer that means danger."""
    cost = family.call_back_dollars
    stop = Step("stop", DANGER, f"Stop and leave: {titles}", 0.0, cost, LEAVE)
    hand = Step("refer", DANGER, "Hand over to the emergency service", 0.0, cost)
    return stop, hand


@lru_cache(maxsize=4)
def _statements(family: Family) -> tuple[NDArray[np.float32], tuple[str, ...]]:
    """Shape (n_worlds, n_statements): which roots (or no fault, or OTHER) a world states."""
    names = sorted({c for w in family.worlds for c in w.conditions} | {NO_FAULT})
    column = {name: j for j, name in enumerate(names)}
    matrix = np.zeros((len(family.worlds), len(names)), dtype=np.float32)
    for i, world in enumerate(family.worlds):
        roots = [c for c in world.conditions if c == OTHER or part_of(family, world, c) == ROOT]
        matrix[i, [column[c] for c in roots]] = 1.0
    matrix[family.works, column[NO_FAULT]] = 1.0
    return matrix, tuple(names)


def _with_forecasts(kept: _Kept, step: Step) -> Step:
    """Add what each way the step may come out would mean."""
    family = kept.family
    if step.target in family.checks:
        check = family.checks[step.target]
        table = likelihood_table(family, check)[kept.worlds]
        joint = kept.chance[:, None] * table / table.sum(axis=1, keepdims=True)
        named = [(o.id, o.label, o.danger) for o in check.outcomes]
    elif step.target in family.repairs:
        joint = _repair_joint(kept, family.repairs[step.target])
        named = [("worked", "it works now", False), ("did-not", "it still fails", False)]
    else:
        return step
    columns = zip(named, joint.T, strict=True)
    return replace(step, forecasts=tuple(_forecast(kept, n, column) for n, column in columns))


def _repair_joint(kept: _Kept, repair: RepairModel) -> NDArray[np.float64]:
    """Shape (kept, 2): weight of each world with the system working, or failing, after it."""
    family = kept.family
    mended = kept.needs.targets[kept.needs.repairs.index(repair)][kept.needs.of_world[kept.worlds]]
    works = family.works[kept.worlds] | (mended == 0)
    chance = np.where(family.works[kept.worlds], 1.0, repair.success * works)
    return np.stack([kept.chance * chance, kept.chance * (1.0 - chance)], axis=1)


def _forecast(kept: _Kept, named: tuple[str, str, bool], weights: NDArray[np.float64]) -> Forecast:
    matrix, names = _statements(kept.family)
    total = float(weights.sum())
    shares = weights @ matrix[kept.worlds] / max(total, 1e-300)
    best = int(shares.argmax())
    outcome_id, label, danger = named
    return Forecast(outcome_id, label, total, names[best], float(shares[best]), danger)
