"""Repair-only jobs with pay-once places and covers: ``python -m benchmarks.planner.trees``.

1,000 random trees (a house of places, each with a cover behind which some repairs lie) of six
repairs, single fault. The order in which the planner's bound repairs is walked, every place and
cover paid for once, and compared with the best of all 720 orders. Bottom-up chance over cost is
optimal here (Ottosen & Jensen, UAI 2010).
"""

from __future__ import annotations

import sys
from itertools import permutations

import numpy as np

from catchpan.diagnosis.planning.expected_cost import free_repairs, openings, tail_cost
from catchpan.diagnosis.planning.need import need_table
from catchpan.diagnosis.planning.situation import Situation
from catchpan.diagnosis.worlds.family import Family, PlaceModel, RepairModel, World

TREES, REPAIRS, PLACES, FIRST_SEED = 1000, 6, 3, 900_000
ORDERS = np.array(list(permutations(range(REPAIRS))))


def tree(seed: int) -> tuple[Family, np.typing.NDArray[np.float64]]:
    """Draw a tree: its family, and the cost of every order."""
    rng = np.random.default_rng(seed)
    going, lid = rng.uniform(1.0, 12.0, PLACES), rng.uniform(1.0, 8.0, PLACES)
    place, behind = rng.integers(0, PLACES, REPAIRS), rng.random(REPAIRS) < 0.5
    price, prior = rng.uniform(1.0, 20.0, REPAIRS), rng.dirichlet(np.ones(REPAIRS))
    sites = {f"p{p}": PlaceModel(f"p{p}", "", g, {f"lid{p}": lid[p]}) for p, g in enumerate(going)}
    repairs = {
        f"r{j}": RepairModel(
            f"r{j}", "", f"p{place[j]}", 0.0, float(price[j]), frozenset({f"f{j}"}), 1.0,
            requires=frozenset({f"cover:lid{place[j]}"} if behind[j] else ()),
        )
        for j in range(REPAIRS)
    }  # fmt: skip
    names = [frozenset({f"f{j}"}) for j in range(REPAIRS)]
    worlds = tuple(World(n, n, 0) for n in names)
    family = Family(
        worlds, np.log(prior), ({},), {}, repairs, sites, {}, 1.0, 1e7, proof_minutes=0.0
    )
    paid = price[ORDERS]
    for p in range(PLACES):
        for member, cost in ((place == p, going[p]), ((place == p) & behind, lid[p])):
            inside = member[ORDERS]
            first = inside & (np.cumsum(inside, axis=1) == 1)
            paid = paid + first * cost
    return family, (np.cumsum(paid, axis=1) * prior[ORDERS]).sum(axis=1)


def excess(seed: int) -> float:
    """Share by which our order costs more than the best one."""
    family, costs = tree(seed)
    needs, here = need_table(family), [Situation("elsewhere")]
    mass = np.zeros((1, len(needs.sets)))
    np.add.at(mass[0], needs.of_world, np.exp(family.log_prior))
    found = tail_cost(needs, mass, openings(family, here), free_repairs(needs, here))
    row = int(np.flatnonzero((found.order[0] == ORDERS).all(axis=1))[0])
    return float(costs[row] / costs.min() - 1.0)


def main() -> None:
    """Print how many of the trees are solved exactly."""
    found = np.array([excess(FIRST_SEED + i) for i in range(TREES)])
    sys.stdout.write(
        f"{TREES} trees of {REPAIRS} repairs in {PLACES} places, against {len(ORDERS)} orders: "
        f"optimal in {int((found < 1e-9).sum())}, worst {100.0 * found.max():.2g} % over\n"
    )


if __name__ == "__main__":
    main()
