"""The likeliest worlds of a belief, reduced for looking further ahead than one step.

A field holds a few hundred worlds, the needs they have, the repairs that touch these and the most
promising checks. A world of the family stands in for each of the needs a repair leaves; a share
for which there is none stays where it was. Both are approximations where worlds were left out, and
exact where the whole family fits into the field.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Literal

import numpy as np

from catchpan.diagnosis.planning.expected_cost import (
    Openings,
    free_repairs,
    openings,
    proof_cost,
)
from catchpan.diagnosis.planning.forecast import SYSTEM, likeliest_first
from catchpan.diagnosis.planning.need import NeedTable
from catchpan.diagnosis.planning.safety_order import check_allowed, prepare, repair_allowed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from catchpan.diagnosis.planning.forecast import Kept
    from catchpan.diagnosis.planning.situation import Situation


@dataclass(frozen=True, eq=False)
class Act:
    """Something that can be done in a spot.

    Parameters
    ----------
    rows
        Which of the spot's rows are its outcomes.
    position
        Of a repair: its position in the field's repairs; otherwise unused.
    """

    kind: Literal["check", "repair", "run"]
    target: str
    dollars: float
    after: Situation
    rows: slice
    position: int


@dataclass(frozen=True, eq=False)
class Spot:
    """What can be done in one situation, prepared for pricing; a row for each unsolved outcome.

    Rows of checks come first, then repairs, then running the system as it is.

    Parameters
    ----------
    columns
        Likelihood column of each row of a check.
    repaired
        Positions of the repairs of the repair rows.
    """

    acts: tuple[Act, ...]
    columns: NDArray[np.intp]
    repaired: NDArray[np.intp]
    opening: Openings
    free: NDArray[np.bool_]

    @property
    def rows(self) -> int:
        """How many rows it takes to price a belief here."""
        return len(self.free)


@dataclass(frozen=True, eq=False)
class Field:
    """The reduced problem.

    Parameters
    ----------
    needs
        The needs of these worlds and the repairs that touch them.
    need_of
        Shape (worlds,): index into ``needs.sets``, ascending.
    start
        Shape (worlds,): probability of each world now; those that only stand in have 0.
    reached
        Shape (repairs, worlds): the world a repair leads to; -1 where nothing is needed then.
    checks
        Ids of the checks looked at.
    likelihoods
        Shape (columns, worlds).
    """

    needs: NeedTable
    need_of: NDArray[np.intp]
    start: NDArray[np.float64]
    reached: NDArray[np.intp]
    checks: tuple[str, ...]
    spans: tuple[slice, ...]
    likelihoods: NDArray[np.float64]

    @cached_property
    def success(self) -> NDArray[np.float64]:
        """Shape (repairs,): chance that a repair does its work."""
        return np.array([r.success for r in self.needs.repairs], dtype=np.float64)

    @cached_property
    def _groups(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        ids, starts = np.unique(self.need_of, return_index=True)
        return ids, starts

    def by_needs(self, weights: NDArray[np.float64]) -> NDArray[np.float64]:
        """Sum rows of shape (rows, worlds) into shape (rows, needs)."""
        ids, starts = self._groups
        mass = np.zeros((len(weights), len(self.needs.sets)))
        mass[:, ids] = np.add.reduceat(weights, starts, axis=1)
        return mass

    def failing(self, weights: NDArray[np.float64], position: int) -> NDArray[np.float64]:
        """Return the weights of the worlds in which the system still fails after a repair."""
        share, left = self.success[position], self.reached[position]
        moving = np.where(left < 0, 0.0, share * weights)
        moved = np.bincount(np.maximum(left, 0), moving, minlength=len(weights))
        return self.without_sound((1.0 - share) * weights + moved)

    def without_sound(self, weights: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the weights with those of worlds that need nothing set to 0."""
        return np.where(self.need_of == 0, 0.0, weights)

    def spot(self, situation: Situation, only: frozenset[str] | None = None) -> Spot:
        """Prepare a situation: the checks and repairs allowed in it, or only some of them."""
        family, acts, columns, at = self.needs.family, list[Act](), list[int](), 0
        bare = situation.with_done(frozenset())
        for check_id, span in zip(self.checks, self.spans, strict=True):
            check = family.checks[check_id]
            if (only is not None and check_id not in only) or not check_allowed(check, situation):
                continue
            ready = prepare(family, bare, check.place, check.requires, check.group)
            spent = (ready.minutes + check.minutes) * family.dollars_per_minute + check.hazard_cost
            after = ready.after.with_done(situation.done | {check_id})
            rows = slice(at, at + span.stop - span.start)
            acts.append(Act("check", check_id, spent, after, rows, -1))
            columns += range(span.start, span.stop)
            at = rows.stop
        repaired = []
        for position, repair in enumerate(self.needs.repairs):
            wanted = only is None or repair.id in only
            if not wanted or not repair_allowed(repair, situation):
                continue
            ready = prepare(family, bare, repair.place, repair.requires)
            spent = (ready.minutes + repair.minutes) * family.dollars_per_minute
            spent += repair.dollars + repair.hazard_cost + proof_cost(family, repair)
            after = ready.after.with_done(situation.done | {repair.id})
            acts.append(Act("repair", repair.id, spent, after, slice(at, at + 1), position))
            repaired.append(position)
            at += 1
        if only is not None and SYSTEM in only:
            spent = family.proof_minutes * family.dollars_per_minute
            after = situation.with_done(situation.done | {SYSTEM})
            acts.append(Act("run", SYSTEM, spent, after, slice(at, at + 1), -1))
        where = [act.after for act in acts]
        rows_of = np.array([act.rows.stop - act.rows.start for act in acts], dtype=np.intp)
        once = openings(family, where)
        return Spot(
            tuple(acts),
            np.array(columns, dtype=np.intp),
            np.array(repaired, dtype=np.intp),
            Openings(once.places.repeat(rows_of, axis=0), once.covers.repeat(rows_of, axis=0)),
            free_repairs(self.needs, where).repeat(rows_of, axis=0),
        )

    def masses(self, weights: NDArray[np.float64], spot: Spot) -> NDArray[np.float64]:
        """Mass by needs of every outcome in a spot, shape (rows, needs)."""
        now = self.by_needs(weights[None, :])[0]
        seen = self.by_needs(weights * self.likelihoods[spot.columns])
        share = self.success[spot.repaired][:, None]
        tried = (1.0 - share) * now
        rows = np.arange(len(spot.repaired))[:, None]
        np.add.at(tried, (rows, self.needs.targets[spot.repaired]), share * now)
        tried[:, 0] = 0.0
        run = np.tile(now, (spot.rows - len(seen) - len(tried), 1))
        run[:, 0] = 0.0
        return np.vstack([seen, tried, run])

    def outcomes(self, weights: NDArray[np.float64], act: Act, spot: Spot) -> NDArray[np.float64]:
        """Weights of the worlds after every outcome of an act, shape (outcomes, worlds)."""
        if act.kind == "check":
            result: NDArray[np.float64] = weights * self.likelihoods[spot.columns[act.rows]]
            return result
        if act.kind == "repair":
            return self.failing(weights, act.position)[None, :]
        return self.without_sound(weights)[None, :]


@lru_cache(maxsize=4)
def _stand_ins(needs: NeedTable) -> NDArray[np.intp]:
    """Shape (n_needs,): the likeliest world with each of the needs, -1 where there is none."""
    order = np.argsort(needs.family.log_prior, kind="stable")
    found = np.full(len(needs.sets), -1, dtype=np.intp)
    found[needs.of_world[order]] = order
    return found


def field_of(kept: Kept, checks: Sequence[str], most: int) -> Field:
    """Reduce the likeliest worlds, at most so many, and the checks given."""
    full, family = kept.needs, kept.family
    likely = likeliest_first(kept.chance)[:most]
    worlds, chance = kept.worlds[likely], kept.chance[likely]
    touched = np.unique(full.of_world[worlds])
    helping = np.flatnonzero((full.targets[:, touched] != touched).any(axis=1))
    left = np.unique(full.targets[np.ix_(helping, touched)])
    stand_in = _stand_ins(full)[left]
    added = np.setdiff1d(stand_in[stand_in >= 0], worlds)
    worlds = np.concatenate([worlds, added])
    chance = np.concatenate([chance, np.zeros(len(added))])
    held = np.union1d(np.union1d(touched, left), [0])
    number = np.full(len(full.sets), -1, dtype=np.intp)
    number[held] = np.arange(len(held))
    order = np.argsort(number[full.of_world[worlds]], kind="stable")
    worlds, chance = worlds[order], chance[order]
    targets = number[full.targets[np.ix_(helping, held)]]
    targets = np.where(targets < 0, np.arange(len(held)), targets)
    need_of = number[full.of_world[worlds]]
    needs = NeedTable(
        family,
        tuple(full.sets[i] for i in held),
        need_of,
        tuple(full.repairs[j] for j in helping),
        targets,
    )
    side_by_side = kept.belief.side_by_side
    spans, columns, at = [], [np.empty(0, dtype=np.intp)], 0
    for check_id in checks:
        span = side_by_side.spans[check_id]
        columns.append(np.arange(span.start, span.stop))
        spans.append(slice(at, at + len(columns[-1])))
        at = spans[-1].stop
    table = side_by_side.table[np.ix_(worlds, np.concatenate(columns))]
    return Field(
        needs,
        need_of,
        chance,
        _reached(needs, _stand_ins(full)[held], worlds),
        tuple(checks),
        tuple(spans),
        np.ascontiguousarray(table.T),
    )


def _reached(
    needs: NeedTable, stand_in: NDArray[np.intp], worlds: NDArray[np.intp]
) -> NDArray[np.intp]:
    """Shape (repairs, worlds): the world each repair leads to; -1 where nothing is needed then."""
    own = np.arange(len(worlds))
    position = {int(w): i for i, w in enumerate(worlds)}
    by_need = np.array([position.get(int(w), -1) for w in stand_in], dtype=np.intp)
    left = needs.targets[:, needs.of_world]
    stays = (left == needs.of_world) | (by_need[left] < 0)
    return np.where(left == 0, -1, np.where(stays, own, by_need[left]))
