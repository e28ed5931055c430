"""How a circuit departs from order when the faults of a world have gone further, or less far."""

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from catchpan.plant.blueprint import ValueEffect
from catchpan.plant.part import Array, Surroundings, View
from catchpan.plant.parts.air import AirPath
from catchpan.plant.parts.cooling import RefrigerantCircuit
from catchpan.plant.plant import Plant

MOTORS = (
    "blower.state",
    "blower.torque_share",
    "compressor.state",
    "outdoor_fan.state",
    "reversing_valve.cooling",
)
"""Signals that say which motors turn, how well the blower's pulls, and where the valve stands,
whatever the degree of a fault."""


def circuit_of(plant: Plant) -> RefrigerantCircuit:
    """Return the plant's refrigerant circuit."""
    return next(part for part in plant.parts if isinstance(part, RefrigerantCircuit))


def departures_at(
    plant: Plant,
    worlds: Sequence[Iterable[str]],
    shares: Sequence[Mapping[str, float]],
    motors: Mapping[str, Array],
    around: Surroundings,
) -> Array:
    """Return how each world's circuit departs from order at given degrees of its faults.

    Parameters
    ----------
    plant : Plant
        The system.
    worlds : sequence of iterables of str
        Conditions of each world.
    shares : sequence of mappings
        How far each condition of that world has gone; 1 where not named.
    motors : mapping of str to array
        The signals of ``MOTORS`` in each world as settled; a system may lack some.
    around : Surroundings
        The demand.

    Returns
    -------
    array, shape (worlds, departures)
        In the order of ``refrigeration.DEPARTURES``.
    """
    values = _values(plant, worlds, shares)
    nowhere = np.zeros((len(worlds), len(plant.column)), dtype=bool)
    view = View(len(worlds), around, values, plant.column, nowhere, plant.join)
    for name, state in motors.items():
        view.write(name, state)
    next(part for part in plant.parts if isinstance(part, AirPath)).act(view)
    circuit = circuit_of(plant)
    return circuit.departures(view, circuit.cools(view))


def _values(
    plant: Plant, worlds: Sequence[Iterable[str]], shares: Sequence[Mapping[str, float]]
) -> dict[str, Array]:
    """Every value in each world, the effects of its conditions taken as far as told."""
    found = {name: np.full(len(worlds), v) for name, v in plant.defaults.items()}
    for row, (world, share) in enumerate(zip(worlds, shares, strict=True)):
        effects = [
            (effect, share.get(name, 1.0))
            for name in sorted(world)
            for effect in plant.effects[name]
            if isinstance(effect, ValueEffect)
        ]
        for effect, far in sorted(effects, key=lambda e: ORDER.index(e[0].do)):
            old, usual = found[effect.name][row], plant.defaults[effect.name]
            found[effect.name][row] = _taken(effect, far, float(old), usual)
    return found


ORDER = ("to", "times", "add")
"""As in ``Plant.set_up``: set, then multiplied, then added to."""


def _taken(effect: ValueEffect, far: float, old: float, usual: float) -> float:
    """Return a value after an effect taken so many times as far."""
    if effect.do == "to":
        return usual + far * (effect.value - usual)
    if effect.do == "times":
        return float(old * effect.value**far)
    return old + far * effect.value
