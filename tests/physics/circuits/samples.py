"""Small circuits of the tests, and whole plants with faults to solve."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from catchpan.catalog.lint import settings_of
from catchpan.catalog.load import catalog
from catchpan.catalog.system import blueprint, effect, faults_of
from catchpan.physics.circuits.branch import Branch, Circuit, Transformer
from catchpan.physics.circuits.network import Network, Solution
from catchpan.plant.blueprint import BranchEffect, Effect
from catchpan.plant.part import Surroundings
from catchpan.plant.plant import Plant
from catchpan.plant.settle import settle


def network(branches: Sequence[Branch], transformers: Sequence[Transformer] = ()) -> Network:
    """Number a circuit."""
    return Network(Circuit(list(branches), list(transformers)))


def normal(net: Network) -> NDArray[np.uint8]:
    """Every branch at its first level, one state."""
    return np.zeros((1, len(net.branches)), dtype=np.uint8)


def solved(branches: Sequence[Branch], transformers: Sequence[Transformer] = ()) -> Solution:
    """Solve a circuit with every branch at its first level."""
    net = network(branches, transformers)
    return net.solve(normal(net))


def invented_faults(plant: Plant) -> dict[str, tuple[Effect, ...]]:
    """Faults of any circuit: each branch open, worn to 3 ohm, or its impedance halved."""
    found: dict[str, tuple[Effect, ...]] = {}
    for branch in plant.network.branches:
        found[f"open {branch.id}"] = (BranchEffect(branch.id, "open"),)
        found[f"worn {branch.id}"] = (BranchEffect(branch.id, "ohm", 3.0),)
        found[f"half {branch.id}"] = (BranchEffect(branch.id, "factor", 0.5),)
    return found


def spread(names: Sequence[str], count: int) -> list[str]:
    """Pick evenly through a list."""
    return [names[i] for i in np.linspace(0, len(names) - 1, min(count, len(names))).astype(int)]


def plant_with_faults(name: str, setting: Mapping[str, str] | None = None) -> Plant:
    """Build an archetype, likeliest options first, with the catalog's and the invented faults."""
    data = catalog()
    chosen = {**next(settings_of(name, data)), **(setting or {})}
    drawn = blueprint(name, chosen, data)
    effects = {
        fault.id: tuple(effect(e) for e in fault.effects)
        for fault in faults_of(name, chosen, data).values()
    }
    return Plant(drawn, {**invented_faults(Plant(drawn, {})), **effects})


def states_of(plant: Plant, faults: Sequence[str], demands: Sequence[str]) -> Solution:
    """Settle no fault and each single fault under each demand; one solution of them all."""
    worlds = [(), *((fault,) for fault in faults)]
    setup = plant.set_up(worlds)
    levels = [settle(plant, setup, Surroundings(d)).solution.levels for d in demands]
    return plant.network.solve(np.concatenate(levels))
