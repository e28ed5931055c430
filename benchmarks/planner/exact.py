"""The optimum of an instance by dynamic programming over everything that can be known.

A state is what each check has answered (not asked, yes, no), which repairs have been tried, and the
place. Values are for the unnormalised belief, so no division is needed; a state's cost is that of
the best act from it. All answers of one level (checks still open) are solved at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from benchmarks.planner.instances import Instance

ELSEWHERE = -1
"""The place where the work starts: the last column of every table of values."""


class State(NamedTuple):
    """Answers (0 not asked, 1 yes, 2 no), repairs tried as bits, and the place."""

    answers: tuple[int, ...]
    tried: int
    place: int


class Act(NamedTuple):
    """A check or a repair, by its position."""

    check: bool
    position: int


@dataclass(frozen=True, eq=False)
class Solved:
    """The optimal costs of every state: ``values[tried]`` has shape (answers, places + 1)."""

    instance: Instance
    mass: NDArray[np.float64]
    values: list[NDArray[np.float64]]

    @property
    def optimum(self) -> float:
        """Expected cost from the start."""
        return float(self.values[0][0, ELSEWHERE])

    def value(self, state: State) -> float:
        """Optimal cost from a state, times the probability of its answers and failures."""
        return float(self.values[state.tried][number(state.answers), state.place])

    def best(self, state: State) -> Act:
        """Return the act that attains the optimum."""
        return min(acts(self.instance, state), key=lambda act: (self.price(state, act), act))

    def price(self, state: State, act: Act) -> float:
        """Cost of an act and the optimum after it."""
        spent = cost_of(self.instance, state, act) * probability(self.instance, state)
        return spent + sum(self.value(s) for s in after(self.instance, state, act))


def number(answers: tuple[int, ...]) -> int:
    """Return the row of the answers."""
    return sum(a * 3**k for k, a in enumerate(answers))


def acts(instance: Instance, state: State) -> list[Act]:
    """Return what can be done in a state."""
    asked = [Act(check=True, position=k) for k, a in enumerate(state.answers) if a == 0]
    repairs = range(len(instance.prior))
    return asked + [Act(check=False, position=j) for j in repairs if not state.tried >> j & 1]


def cost_of(instance: Instance, state: State, act: Act) -> float:
    """Return what an act costs, going to its place included."""
    places = instance.check_place if act.check else instance.repair_place
    costs = instance.check_cost if act.check else instance.repair_cost
    place = places[act.position]
    return costs[act.position] + (instance.going[place] if place != state.place else 0.0)


def after(instance: Instance, state: State, act: Act) -> list[State]:
    """Return the states an act may lead to in which the fault is still there."""
    if not act.check:
        place = instance.repair_place[act.position]
        return [State(state.answers, state.tried | 1 << act.position, place)]
    place, k = instance.check_place[act.position], act.position
    told = [(*state.answers[:k], a, *state.answers[k + 1 :]) for a in (1, 2)]
    return [State(answers, state.tried, place) for answers in told]


def weights(instance: Instance, state: State) -> NDArray[np.float64]:
    """Prior times the chance of the answers, for the faults not repaired yet."""
    found = np.array(instance.prior)
    for answer, yes in zip(state.answers, instance.yes, strict=True):
        if answer:
            found = found * (np.array(yes) if answer == 1 else 1.0 - np.array(yes))
    return found * [not state.tried >> j & 1 for j in range(len(found))]


def probability(instance: Instance, state: State) -> float:
    """Probability of coming to a state when these acts are done."""
    return float(weights(instance, state).sum())


@lru_cache(maxsize=4)
def _levels(checks: int) -> list[tuple[NDArray[np.intp], list[NDArray[np.intp]]]]:
    """Rows by how many checks are open, fewest first; and for each check those that lack it."""
    rows = np.arange(3**checks)
    digits = np.stack([rows // 3**k % 3 for k in range(checks)], axis=1)
    levels = []
    for left in range(checks + 1):
        chosen = np.flatnonzero((digits == 0).sum(axis=1) == left)
        levels.append((chosen, [np.flatnonzero(digits[chosen, k] == 0) for k in range(checks)]))
    return levels


def solve(instance: Instance) -> Solved:
    """Solve an instance exactly."""
    faults, places = len(instance.prior), len(instance.going)
    rows = np.ones((1, faults)) * np.array(instance.prior)
    for yes in instance.yes:
        told = np.array(yes)
        rows = np.concatenate([rows, rows * told, rows * (1.0 - told)])
    going = np.array([*instance.going])
    moves = np.array([[g if p != q else 0.0 for p, g in enumerate(going)] for q in range(places)])
    moves = np.vstack([moves, going])
    full = 2**faults
    values: list[NDArray[np.float64]] = [np.zeros((0, 0))] * full
    values[full - 1] = np.zeros((len(rows), places + 1))
    for tried in range(full - 2, -1, -1):
        values[tried] = _solved_for(instance, tried, rows, moves, values)
    return Solved(instance, rows, values)


def _solved_for(
    instance: Instance,
    tried: int,
    rows: NDArray[np.float64],
    moves: NDArray[np.float64],
    values: list[NDArray[np.float64]],
) -> NDArray[np.float64]:
    left = [j for j in range(len(instance.prior)) if not tried >> j & 1]
    mass = rows[:, left].sum(axis=1)
    best = np.full((len(rows), len(moves)), np.inf)
    for j in left:
        place = instance.repair_place[j]
        spent = (instance.repair_cost[j] + moves[:, place])[None, :] * mass[:, None]
        np.minimum(best, spent + values[tried | 1 << j][:, [place]], out=best)
    for chosen, lacking in _levels(len(instance.yes))[1:]:
        for k, inside in enumerate(lacking):
            if len(inside) == 0:
                continue
            at, place = chosen[inside], instance.check_place[k]
            spent = (instance.check_cost[k] + moves[:, place])[None, :] * mass[at, None]
            rest = best[at + 3**k, place] + best[at + 2 * 3**k, place]
            best[at] = np.minimum(best[at], spent + rest[:, None])
    return best
