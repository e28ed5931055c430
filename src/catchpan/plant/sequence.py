"""The sequence of operation: what turns on and off, second by second, after a call begins."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from catchpan.plant.part import Surroundings
from catchpan.plant.plant import Plant
from catchpan.plant.settle import settle

MOMENTS_S = (1.0, 5.0, 16.0, 31.0, 46.0, 76.0, 120.0, 301.0, 600.0)
"""When to look, in seconds; each falls after one delay of the parts has run out."""

WATCHED = {
    "stat.display": "thermostat display",
    "furnace.called": "board sees the call for heat",
    "inducer.state": "inducer",
    "furnace.drafted": "pressure switch proves draft",
    "ignitor.glows": "ignitor",
    "gas_valve.flow": "gas valve",
    "burner.lit": "burners",
    "furnace.proven": "flame proven",
    "contactor.pulled_in": "contactor",
    "compressor.state": "compressor",
    "outdoor_fan.state": "outdoor fan",
    "reversing_valve.energised": "reversing valve coil",
    "defrost.in_defrost": "defrost",
    "seq1.pulled_in": "first heat strip",
    "seq2.pulled_in": "second heat strip",
    "blower.state": "indoor blower",
}


@dataclass(frozen=True)
class Change:
    """Something that turned on or off: when [s after the call], what, and to which level."""

    at_s: float
    signal: str
    what: str
    level: float


def sequence(
    plant: Plant,
    conditions: Sequence[str],
    around: Surroundings,
    moments_s: Sequence[float] = MOMENTS_S,
) -> list[Change]:
    """Follow one world through a call.

    Parameters
    ----------
    plant : Plant
        The system.
    conditions : sequence of str
        Conditions of the world.
    around : Surroundings
        Demand and weather; ``since_power_s`` counts up together with the call.
    moments_s : sequence of float
        When to look [s].
    """
    setup = plant.set_up([tuple(conditions)])
    before: dict[str, float] = {}
    changes = []
    for moment in moments_s:
        now = replace(around, since_call_s=moment, since_power_s=around.since_power_s + moment)
        signals = settle(plant, setup, now).signals
        for name, what in WATCHED.items():
            if name not in signals:
                continue
            level = float(np.asarray(signals[name])[0])
            if level != before.get(name, 0.0):
                changes.append(Change(moment, name, what, level))
            before[name] = level
    return changes
