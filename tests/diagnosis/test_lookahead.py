"""The exact solver against brute force, and the planner against the exact solver."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from benchmarks.planner.exact import State, acts, after, cost_of, probability, solve
from benchmarks.planner.instances import Setting, draw
from benchmarks.planner.walk import chooser, start, walked
from catchpan.diagnosis.inference.belief import Belief
from catchpan.diagnosis.planning.lookahead import Budget
from catchpan.diagnosis.planning.planner import plan
from catchpan.diagnosis.planning.policy import Myopic, Planner
from catchpan.diagnosis.planning.situation import Situation

TINY = Setting(faults=4, checks=2, places=2, place_scale=5.0, error=0.1)
NARROW = Budget(worlds=64, checks=12, candidates=4, widths=(1,), cells=100_000)
SMALL = Setting(faults=5, checks=4, places=3, place_scale=5.0, error=0.1)


@pytest.mark.parametrize("seed", range(3))
def test_the_exact_solver_agrees_with_brute_force_and_its_policy_with_its_value(seed: int) -> None:
    instance = draw(TINY, seed)

    @cache
    def least(state: State) -> float:
        mass = probability(instance, state)
        if mass <= 0.0:
            return 0.0
        return min(
            cost_of(instance, state, act) * mass + sum(map(least, after(instance, state, act)))
            for act in acts(instance, state)
        )

    solved = solve(instance)
    assert solved.optimum == pytest.approx(least(start(instance)), rel=1e-12)
    assert solved.optimum == pytest.approx(walked(instance, solved.best), rel=1e-12)


def test_looking_further_comes_close_to_the_optimum_and_no_further_off_than_one_step() -> None:
    for seed in range(3):
        instance = draw(SMALL, seed)
        family, best = instance.family(), solve(instance).optimum
        ours = walked(instance, chooser(Planner(), instance, family))
        one_step = walked(instance, chooser(Myopic(), instance, family))
        assert best - 1e-9 <= ours <= one_step + 1e-9
        assert ours / best - 1.0 < 0.005


def test_a_followed_step_is_never_dearer_and_never_below_the_optimum() -> None:
    instance = draw(SMALL, 11)
    family, solved = instance.family(), solve(instance)
    belief = Belief(family, np.log(np.array(instance.prior)))
    one_step = plan(family, belief, Situation(""), 20, budget=None)
    before = {s.target: s.total_cost for s in one_step.steps}
    for budget in (Budget(), NARROW):
        followed = plan(family, belief, Situation(""), 20, budget=budget)
        for step in followed.steps[:-1]:
            assert step.total_cost <= before[step.target] + 1e-9
            assert step.total_cost >= solved.optimum * (1.0 - 1e-5)  # priors have six decimals
        assert followed == plan(family, belief, Situation(""), 20, budget=budget)
