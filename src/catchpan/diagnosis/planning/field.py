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

from catchpan.diagnosis.planning.expected_cost import Openings, openings, proof_cost
from catchpan.diagnosis.planning.forecast import SYSTEM, likeliest_first
from catchpan.diagnosis.planning.need import NeedTable
from catchpan.diagnosis.planning.safety_order import check_allowed, prepare, repair_allowed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from catchpan.diagnosis.planning.forecast import Kept
    from catchpan.diagnosis.planning.situation import Situation
    from catchpan.diagnosis.worlds.family import Family


@dataclass(frozen=True, eq=False)
class Act:
    """Something that can be done in a spot.

    Parameters
    ----------
    there, done
        Where it leaves the technician, and what was done before it.
    rows
        Which of the spot's rows are its outcomes.
    way
        Which of the spot's ways to get at work it takes.
    position
        Of a repair: its position in the field's repairs; otherwise unused.
    """

    kind: Literal["check", "repair", "run"]
    target: str
    dollars: float
    there: Situation
    done: frozenset[str]
    rows: slice
    way: int
    position: int

    @property
    def after(self) -> Situation:
        """The situation afterwards."""
        return self.there.with_done(self.done | {self.target})


class _Ways:
    """The ways to get at work from a situation; each is prepared once."""

    def __init__(self, family: Family, situation: Situation) -> None:
        self.family, self.situation = family, situation
        self.after: list[Situation] = []
        self.known: dict[tuple[str, frozenset[str], str], tuple[float, int]] = {}

    def to(self, place: str, requires: frozenset[str], group: str = "") -> tuple[float, int]:
        """Return the minutes to get ready, and which of the ways it is."""
        key = (place, requires, group)
        found = self.known.get(key)
        if found is None:
            ready = prepare(self.family, self.situation, place, requires, group)
            found = self.known[key] = (ready.minutes, len(self.after))
            self.after.append(ready.after)
        return found

    def stay(self) -> int:
        """Return the way that stays where one is."""
        self.after.append(self.situation)
        return len(self.after) - 1


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
    def _besides(self) -> list[float]:
        """Dollars of each repair besides its minutes: parts, hazards and the proof."""
        family, repairs = self.needs.family, self.needs.repairs
        return [r.dollars + r.hazard_cost + proof_cost(family, r) for r in repairs]

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
        bare, rate = situation.with_done(frozenset()), family.dollars_per_minute
        ways = _Ways(family, bare)
        for check_id, span in zip(self.checks, self.spans, strict=True):
            check = family.checks[check_id]
            if (only is not None and check_id not in only) or not check_allowed(check, situation):
                continue
            minutes, way = ways.to(check.place, check.requires, check.group)
            spent = (minutes + check.minutes) * rate + check.hazard_cost
            rows = slice(at, at + span.stop - span.start)
            acts.append(
                Act("check", check_id, spent, ways.after[way], situation.done, rows, way, -1)
            )
            columns += range(span.start, span.stop)
            at = rows.stop
        free = np.array([r.id not in situation.done for r in self.needs.repairs], dtype=np.bool_)
        repaired = []
        for position, repair in enumerate(self.needs.repairs):
            wanted = only is None or repair.id in only
            if not wanted or not repair_allowed(repair, situation):
                continue
            minutes, way = ways.to(repair.place, repair.requires)
            spent = (minutes + repair.minutes) * rate + self._besides[position]
            rows = slice(at, at + 1)
            after = ways.after[way]
            acts.append(Act("repair", repair.id, spent, after, situation.done, rows, way, position))
            repaired.append(position)
            at += 1
        if only is not None and SYSTEM in only:
            spent, way = family.proof_minutes * rate, ways.stay()
            rows = slice(at, at + 1)
            acts.append(Act("run", SYSTEM, spent, situation, situation.done, rows, way, -1))
            at += 1
        once = openings(family, ways.after)
        way_of = np.array([act.way for act in acts for _ in range(at)[act.rows]], dtype=np.intp)
        had = np.tile(free, (at, 1))
        had[len(columns) + np.arange(len(repaired)), repaired] = False
        return Spot(
            tuple(acts),
            np.array(columns, dtype=np.intp),
            np.array(repaired, dtype=np.intp),
            Openings(once.places[way_of], once.covers[way_of]),
            had,
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
    told = kept.told
    spans, columns, at = [], [np.empty(0, dtype=np.intp)], 0
    for check_id in checks:
        span = told.spans[check_id]
        columns.append(np.arange(span.start, span.stop))
        spans.append(slice(at, at + len(columns[-1])))
        at = spans[-1].stop
    table = told.at(worlds, np.concatenate(columns))
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
