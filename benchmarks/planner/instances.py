"""Small troubleshooting problems with places, noisy checks and priors, drawn from a seed.

One fault is present; each fault has one repair, which always works; a check answers yes or no and
is wrong with a known chance, independently of the others given the fault; whoever works is at one
place at a time and pays for going to another. The cost to be expected until the fault is repaired
is to be made small. See ``benchmarks/planner/README.md`` for the file format.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass

import numpy as np

from catchpan.diagnosis.worlds.family import (
    CheckModel,
    Family,
    Outcome,
    PlaceModel,
    RepairModel,
    World,
)

NEVER_LEAVE = 1e7
"""Leaving costs so much that every plan goes on until the fault is repaired."""


@dataclass(frozen=True)
class Setting:
    """What a group of instances is drawn from; the scale of places and the chance of a lie."""

    faults: int
    checks: int
    places: int
    place_scale: float
    error: float


@dataclass(frozen=True)
class Instance:
    """One problem.

    Parameters
    ----------
    prior
        Probability of each fault; sums to 1.
    going
        Cost of going to each place from any other; the work starts elsewhere.
    yes
        For each check, its chance to answer yes under each fault.
    check_cost, check_place, repair_cost, repair_place
        Cost of each check and repair at its place, and that place's position.
    """

    prior: tuple[float, ...]
    going: tuple[float, ...]
    yes: tuple[tuple[float, ...], ...]
    check_cost: tuple[float, ...]
    check_place: tuple[int, ...]
    repair_cost: tuple[float, ...]
    repair_place: tuple[int, ...]

    def record(self) -> dict[str, object]:
        """Return it as plain values for a line of JSON."""
        return asdict(self)

    def family(self) -> Family:
        """Return it as a family, so that every policy can be tried on it."""
        names = [f"fault{i}" for i in range(len(self.prior))]
        places = {f"place{p}": PlaceModel(f"place{p}", "", c) for p, c in enumerate(self.going)}
        answers = (Outcome("yes", "yes"), Outcome("no", "no"))
        checks = {}
        for k, chance in enumerate(self.yes):
            table = np.stack([chance, 1.0 - np.array(chance)], axis=1)
            place, cost = f"place{self.check_place[k]}", self.check_cost[k]
            checks[f"check{k}"] = CheckModel(f"check{k}", "", place, cost, answers, table)
        repairs = {}
        for j, name in enumerate(names):
            place, cost = f"place{self.repair_place[j]}", self.repair_cost[j]
            fixes = frozenset({name})
            repairs[f"repair{j}"] = RepairModel(f"repair{j}", "", place, 0.0, cost, fixes, 1.0)
        return Family(
            worlds=tuple(World(frozenset({n}), frozenset({n}), 0) for n in names),
            log_prior=np.log(np.array(self.prior)),
            settings=({},),
            checks=checks,
            repairs=repairs,
            places=places,
            kinds={},
            dollars_per_minute=1.0,
            call_back_dollars=NEVER_LEAVE,
            proof_minutes=0.0,
        )


def draw(setting: Setting, seed: int) -> Instance:
    """Draw the instance of a seed."""
    rng = np.random.default_rng(seed)
    prior = np.maximum(rng.dirichlet(np.ones(setting.faults)), 1e-6)
    hit = rng.random((setting.checks, setting.faults)) < 0.5
    yes = np.where(hit, 1.0 - setting.error, setting.error)
    return Instance(
        prior=_rounded(prior / prior.sum()),
        going=_rounded(setting.place_scale * rng.uniform(0.3, 1.7, setting.places)),
        yes=tuple(_rounded(row) for row in yes),
        check_cost=_rounded(rng.uniform(1.0, 4.0, setting.checks)),
        check_place=tuple(rng.integers(0, setting.places, setting.checks).tolist()),
        repair_cost=_rounded(rng.uniform(5.0, 25.0, setting.faults)),
        repair_place=tuple(rng.integers(0, setting.places, setting.faults).tolist()),
    )


def _rounded(values: np.typing.NDArray[np.float64]) -> tuple[float, ...]:
    return tuple(round(float(v), 6) for v in values)
