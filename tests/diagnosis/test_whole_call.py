"""Whole calls against hidden worlds: they end, they end mended, and they cost as promised."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import pytest

from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.planning.forecast import SYSTEM
from catchpan.diagnosis.planning.planner import Situation, Step, plan
from catchpan.diagnosis.planning.safety_order import prepare
from catchpan.diagnosis.worlds.family import (
    OTHER,
    CheckModel,
    Family,
    Outcome,
    PlaceModel,
    RepairModel,
    World,
)

if TYPE_CHECKING:
    from numpy.random import Generator

CALLS = 60


def house(seed: int, *, call_back: float = 400.0) -> Family:
    """Ten faults and their pairs, fifteen checks wrong one time in twenty, three places."""
    rng = np.random.default_rng(seed)
    names = [f"f{i}" for i in range(10)]
    share = dict(zip(names, rng.dirichlet(np.ones(10)), strict=True))
    sets = [frozenset[str](), *(frozenset({n}) for n in names)]
    sets += [frozenset(p) for p in combinations(names, 2)]
    prior = [0.02, *share.values(), *(0.1 * share[a] * share[b] for a, b in combinations(names, 2))]
    worlds = [World(s, s, 0) for s in sets] + [World(frozenset({OTHER}), frozenset({OTHER}), 0)]
    places = {p: PlaceModel(p, p, 4.0, {f"lid-{p}": 2.0}) for p in ("attic", "yard", "hall")}
    checks = {f"k{k}": _check(rng, f"k{k}", names, worlds) for k in range(15)}
    repairs = {}
    for i, name in enumerate(names):
        place = ("attic", "yard", "hall")[i % 3]
        behind = frozenset({f"cover:lid-{place}"})
        dollars = float(rng.uniform(5, 80))
        repairs[f"r{i}"] = RepairModel(
            f"r{i}", f"r{i}", place, 10.0, dollars, frozenset({name}), 0.97, requires=behind
        )
    chance = np.log(np.maximum([*prior, 0.01], 1e-12))
    return Family(tuple(worlds), chance, ({},), checks, repairs, places, {}, 1.5, call_back)


def _check(rng: Generator, check_id: str, names: list[str], worlds: list[World]) -> CheckModel:
    seen = set(rng.choice(names, size=int(rng.integers(1, 6)), replace=False).tolist())
    yes = np.array([0.95 if w.conditions & seen else 0.05 for w in worlds])
    answers = (Outcome("yes", "yes"), Outcome("no", "no"))
    table = np.stack([yes, 1 - yes], axis=1).astype(np.float32)
    place = ("attic", "yard", "hall")[int(rng.integers(3))]
    return CheckModel(check_id, check_id, place, float(rng.uniform(1, 6)), answers, table)


def play(family: Family, world: int, rng: Generator) -> tuple[float, int, Step, float]:
    """Dollars spent, world at the end, last step, and what the first plan promised."""
    belief, where, spent = Belief.prior(family), Situation("street"), 0.0
    promised = plan(family, belief, where, 1).steps[0].total_cost
    for _ in range(60):
        step = plan(family, belief, where, 1).steps[0]
        if step.target == "leave":
            break
        spent += step.own_cost
        if step.target == SYSTEM:
            belief = belief.system_tried(bool(family.works[world]))
            where = replace(where, done=where.done | {SYSTEM})
            continue
        item = family.checks.get(step.target) or family.repairs[step.target]
        after = prepare(family, where, item.place, item.requires).after
        where = replace(after, done=after.done | {step.target})
        if isinstance(item, CheckModel):
            answer = item.outcomes[int(rng.random() >= item.table[world, 0])]
            belief = belief.observe(Reading(item.id, answer.id))
        else:
            if rng.random() < item.success:
                world = int(family.targets(item.fixes)[world])
            belief = belief.repair_tried(item.id, worked=bool(family.works[world]))
    else:
        pytest.fail("the call did not end within 60 steps")
    return spent + (0.0 if family.works[world] else family.call_back_dollars), world, step, promised


def test_calls_end_nearly_always_mended_and_close_only_what_works() -> None:
    mended = closed_wrongly = 0
    costs, promises = [], []
    for k in range(CALLS):
        family, rng = house(k % 4), np.random.default_rng(500 + k)
        chance = np.exp(family.log_prior)
        world = int(rng.choice(len(chance), p=chance / chance.sum()))
        cost, last, step, promised = play(family, world, rng)
        mended += bool(family.works[last])
        closed_wrongly += step.kind == "stop" and not family.works[last]
        costs.append(cost)
        promises.append(promised)
    assert mended >= 0.9 * CALLS
    assert closed_wrongly == 0
    spread = np.std(costs) / np.sqrt(len(costs))
    assert np.mean(costs) <= np.mean(promises) + 2.0 * spread
