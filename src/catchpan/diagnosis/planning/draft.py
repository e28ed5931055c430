"""Drafts: every step that is allowed now, with its own cost and what each outcome leaves open."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.planning.expected_cost import proof_cost
from catchpan.diagnosis.planning.forecast import SYSTEM, Kept
from catchpan.diagnosis.planning.safety_order import (
    Preparation,
    check_allowed,
    prepare,
    proof_allowed,
    repair_allowed,
)
from catchpan.diagnosis.planning.situation import Step
from catchpan.diagnosis.worlds.family import PHONE, CheckModel, Family

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from catchpan.diagnosis.planning.ending import Standing
    from catchpan.diagnosis.planning.situation import Situation, StepKind
    from catchpan.diagnosis.worlds.family import RepairModel

REDO: Final = 0.5
"""A repair is proposed again where what it should have removed is there with this chance."""


@dataclass(frozen=True, eq=False)
class Draft:
    """A step before it is priced: ``mass`` has a row for each way it may come out unsolved."""

    kind: StepKind
    target: str
    title: str
    own_cost: float
    ready: Preparation
    mass: NDArray[np.float64]

    def as_step(self, cost_after: float = 0.0) -> Step:
        """Return it as a step, with what is expected to follow it."""
        acts = self.ready.acts
        return Step(self.kind, self.target, self.title, self.own_cost, cost_after, acts)


def to_redo(kept: Kept, situation: Situation) -> frozenset[str]:
    """Return repairs that were made where what they should remove is likelier there than not."""
    family = kept.family
    column = {c: j for j, c in enumerate(family.conditions)}
    found = set()
    for name in situation.done & family.repairs.keys():
        fixed = [column[c] for c in family.repairs[name].fixes if c in column]
        there = family.membership[kept.worlds][:, fixed].any(axis=1)
        if float(kept.chance[there].sum()) > REDO:
            found.add(name)
    return frozenset(found)


def check_drafts(kept: Kept, situation: Situation) -> list[Draft]:
    """Return the checks that are allowed, in order of their ids."""
    family = kept.family
    allowed = [c for _, c in sorted(family.checks.items()) if _may(c, situation)]
    allowed = _in_order(family, allowed, situation)
    if not allowed:
        return []
    told = kept.told
    columns = np.concatenate([np.r_[told.spans[c.id]] for c in allowed])
    likelihoods = told.at(kept.worlds, columns)
    mass = kept.by_needs(kept.chance[:, None] * likelihoods)
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
    if check.id in situation.unproven:
        return proof_allowed(check, situation)
    return check_allowed(check, situation)


def _check_draft(
    family: Family, check: CheckModel, situation: Situation, mass: NDArray[np.float64]
) -> Draft:
    ready = prepare(family, situation, check.place, check.requires, check.group)
    cost = (ready.minutes + check.minutes) * family.dollars_per_minute + check.hazard_cost
    return Draft(_kind(check, situation), check.id, check.title, cost, ready, mass)


def _kind(check: CheckModel, situation: Situation) -> StepKind:
    if check.id in situation.unproven:
        return "prove"
    if situation.on_phone or check.place == PHONE:
        return "ask"
    return "look" if check.numeric is None else "measure"


def repair_drafts(kept: Kept, standing: Standing) -> list[Draft]:
    """Return the repairs that are allowed, and running the system as it is where that may be."""
    situation = standing.situation
    mass = kept.by_needs(kept.chance[:, None])[0]
    drafts = [
        _repair_draft(kept, repair, kept.needs.targets[j], mass, situation)
        for j, repair in enumerate(kept.needs.repairs)
        if repair_allowed(repair, situation)
    ]
    if standing.may_run:
        drafts.append(_system_draft(kept, situation))
    return drafts


def _system_draft(kept: Kept, situation: Situation) -> Draft:
    """Draft running the system as it is: it may turn out that nothing is wrong.

    It fails, or it works and what will stop it again is still there; then the run did not tell.
    """
    family = kept.family
    works = family.works[kept.worlds]
    unsolved = kept.by_needs(kept.chance[:, None] * np.stack([~works, works], axis=1))
    unsolved[:, 0] = 0.0
    ready = Preparation((), 0.0, situation)
    cost = family.proof_minutes * family.dollars_per_minute
    return Draft("prove", SYSTEM, "Run the system and prove that it works", cost, ready, unsolved)


def _repair_draft(
    kept: Kept,
    repair: RepairModel,
    targets: NDArray[np.intp],
    mass: NDArray[np.float64],
    situation: Situation,
) -> Draft:
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
    return Draft(kind, repair.id, repair.title, spent, ready, failing[None, :])
