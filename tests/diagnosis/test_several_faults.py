"""The planner against the exact optimum where up to two faults are there at once."""

from __future__ import annotations

from functools import cache
from itertools import combinations

import numpy as np
import pytest

from catchpan.diagnosis.inference.belief import Belief
from catchpan.diagnosis.planning.planner import Situation, next_steps
from catchpan.diagnosis.planning.safety_order import prepare
from catchpan.diagnosis.worlds.family import (
    CheckModel,
    Family,
    Outcome,
    PlaceModel,
    RepairModel,
    World,
)

FAULTS, CHECKS = 3, 3
SEEDS = range(12)

Weights = tuple[float, ...]


def job(seed: int) -> Family:
    """Three faults, alone or two together; three noisy checks; two places; repairs that work."""
    rng = np.random.default_rng([41, seed])
    names = [f"f{i}" for i in range(FAULTS)]
    sets = [frozenset[str](), *(frozenset({n}) for n in names)]
    sets += [frozenset(pair) for pair in combinations(names, 2)]
    prior = np.array([1e-12, *rng.dirichlet(np.ones(FAULTS)), *(0.25 * rng.dirichlet(np.ones(3)))])
    places = {p: PlaceModel(p, p, float(rng.uniform(1.5, 8.5))) for p in ("x", "y")}
    checks = {}
    for k in range(CHECKS):
        speaks = rng.random(FAULTS) < 0.5
        told = [any(speaks[names.index(f)] for f in s) for s in sets]
        yes = np.where(told, 0.9, 0.1).astype(np.float32)
        table = np.stack([yes, 1 - yes], axis=1)
        answers = (Outcome("yes", "yes"), Outcome("no", "no"))
        place, cost = "xy"[k % 2], float(rng.uniform(1, 4))
        checks[f"k{k}"] = CheckModel(f"k{k}", f"k{k}", place, cost, answers, table)
    repairs = {
        f"r{i}": RepairModel(
            f"r{i}", f"r{i}", "xy"[i % 2], 0.0, float(rng.uniform(5, 25)), frozenset({n}), 1.0
        )
        for i, n in enumerate(names)
    }
    worlds = tuple(World(s, s, 0) for s in sets)
    return Family(
        worlds, np.log(prior), ({},), checks, repairs, places, {}, 1.0, 1e7, proof_minutes=0.0
    )


class Walk:
    """Every branch of a job: the least over all acts, or what the planner chooses."""

    def __init__(self, family: Family) -> None:
        self.family = family
        self.optimum = cache(self._optimum)
        self.planned = cache(self._planned)

    def start(self) -> Weights:
        return tuple(np.exp(self.family.log_prior).tolist())

    def after(self, target: str, weights: Weights) -> list[Weights]:
        """Weights of the worlds in which it still fails, for each way an act may come out."""
        held = np.array(weights)
        if target in self.family.checks:
            table = self.family.checks[target].table.astype(float)
            return [tuple((held * table[:, a]).round(15).tolist()) for a in (0, 1)]
        reached = self.family.targets(self.family.repairs[target].fixes)
        left = np.bincount(reached, held, minlength=len(held))
        left[0] = 0.0
        return [tuple(left.round(15).tolist())]

    def own(self, target: str, place: str) -> tuple[float, str]:
        item = self.family.checks.get(target) or self.family.repairs[target]
        ready = prepare(self.family, Situation(place), item.place, item.requires)
        dollars = item.dollars if isinstance(item, RepairModel) else 0.0
        return ready.minutes + item.minutes + dollars, item.place

    def price(self, target: str, weights: Weights, place: str) -> float:
        return self.own(target, place)[0] * sum(weights)

    def _optimum(self, weights: Weights, done: frozenset[str], place: str) -> float:
        if sum(weights[1:]) <= 1e-11:
            return 0.0
        best = np.inf
        for target in (*self.family.checks, *self.family.repairs):
            if target not in done:
                there = self.own(target, place)[1]
                rest = sum(
                    self.optimum(w, done | {target}, there) for w in self.after(target, weights)
                )
                best = min(best, self.price(target, weights, place) + rest)
        return best

    def _planned(self, weights: Weights, done: frozenset[str], place: str) -> float:
        if sum(weights[1:]) <= 1e-11:
            return 0.0
        chance = np.maximum(np.array(weights), 1e-300)
        belief = Belief(self.family, np.log(chance / chance.sum()))
        target = next_steps(self.family, belief, Situation(place, done=done), 1)[0].target
        there = self.own(target, place)[1]
        rest = sum(self.planned(w, done | {target}, there) for w in self.after(target, weights))
        return self.price(target, weights, place) + rest


def test_two_faults_at_once_are_found_and_mended_close_to_the_optimum() -> None:
    """All orders of checks and repairs, by enumeration; a check is made once, as in the search."""
    excess = []
    for seed in SEEDS:
        walk = Walk(job(seed))
        best = walk.optimum(walk.start(), frozenset(), "")
        mine = walk.planned(walk.start(), frozenset(), "")
        assert mine >= best * (1.0 - 1e-6)
        excess.append(mine / best - 1.0)
    assert np.mean(excess) <= 0.005, excess
    assert max(excess) <= 0.03, excess


def test_the_optimum_of_a_job_with_nothing_to_look_at_is_the_best_order_of_repairs() -> None:
    """By hand: both faults are there; each repair is due, so the order only decides the going."""
    family = job(0)
    walk = Walk(family)
    both = [float(w.conditions == {"f0", "f2"}) for w in family.worlds]
    own = sum(family.repairs[r].dollars for r in ("r0", "r2")) + family.places["x"].travel_minutes
    assert walk.optimum(tuple(both), frozenset(family.checks), "") == pytest.approx(own)
    assert walk.planned(tuple(both), frozenset(family.checks), "") == pytest.approx(own)
