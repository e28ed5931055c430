"""What a policy costs on an instance: every branch is walked, nothing is sampled."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from benchmarks.planner.exact import ELSEWHERE, Act, State, after, cost_of, weights
from catchpan.diagnosis.inference.belief import Belief
from catchpan.diagnosis.planning.situation import Situation

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchmarks.planner.instances import Instance
    from catchpan.diagnosis.planning.policy import Policy
    from catchpan.diagnosis.worlds.family import Family

Chooser = "Callable[[State], Act]"


def start(instance: Instance) -> State:
    """Return the state in which nothing is known or done."""
    return State((0,) * len(instance.yes), 0, ELSEWHERE)


def walked(instance: Instance, choose: Callable[[State], Act]) -> float:
    """Return the expected cost of a way to choose, from the start."""
    known: dict[State, float] = {}

    def cost(state: State) -> float:
        if state not in known:
            mass = float(weights(instance, state).sum())
            if mass <= 0.0:
                return 0.0
            act = choose(state)
            rest = sum(cost(s) for s in after(instance, state, act))
            known[state] = cost_of(instance, state, act) * mass + rest
        return known[state]

    return cost(start(instance))


def chooser(policy: Policy, instance: Instance, family: Family) -> Callable[[State], Act]:
    """Return a policy as a way to choose in the states of an instance."""

    def choose(state: State) -> Act:
        found = np.maximum(weights(instance, state), 1e-300)
        belief = Belief(family, np.log(found / found.sum()))
        asked = {f"check{k}" for k, a in enumerate(state.answers) if a}
        tried = {f"repair{j}" for j in range(len(instance.prior)) if state.tried >> j & 1}
        place = "" if state.place == ELSEWHERE else f"place{state.place}"
        here = Situation(place, done=frozenset(asked | tried))
        target = policy.choose(family, belief, here).target
        check = target.startswith("check")
        return Act(check, int(target.removeprefix("check" if check else "repair")))

    return choose
