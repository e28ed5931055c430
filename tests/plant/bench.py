"""Setting up a system with one condition and looking at it."""

from collections.abc import Mapping, Sequence

import numpy as np

from catchpan.catalog.lint import settings_of
from catchpan.catalog.load import catalog
from catchpan.catalog.system import blueprint
from catchpan.plant.blueprint import BranchEffect, Effect, ShortEffect, ValueEffect
from catchpan.plant.part import Surroundings
from catchpan.plant.plant import Plant
from catchpan.plant.sequence import Change, sequence
from catchpan.plant.settle import State, settle

HEAT_PUMP = "heat-pump-air-handler"
ELECTRIC = "air-conditioner-air-handler"
GAS = "air-conditioner-furnace"
CONDENSING = "air-conditioner-condensing-furnace"
SYSTEMS = (HEAT_PUMP, ELECTRIC, GAS, CONDENSING)
FURNACES = (GAS, CONDENSING)

PLAIN = {
    "blower": "psc",
    "thermostat_power": "c_wire",
    "float_switch": "none",
    "aux_pan": "none",
    "drain": "gravity",
    "disconnect": "plain",
    "valve_call": "o",
    "ignition": "hot_surface",
    "metering": "txv",
    "strips": "two",
}


def to(name: str, value: float) -> ValueEffect:
    """Set a value of a part."""
    return ValueEffect(name, "to", value)


def opened(branch: str) -> BranchEffect:
    """Open a branch."""
    return BranchEffect(branch, "open")


def short(a: str, b: str, ohm: float = 0.2) -> ShortEffect:
    """Join two terminals."""
    return ShortEffect(a, b, ohm)


def plant(name: str, effects: Sequence[Effect] = (), **options: str) -> Plant:
    """Build a system with these options and one condition, ``it``."""
    data = catalog()
    known = next(settings_of(name, data))
    setting = {k: v for k, v in {**known, **PLAIN, **options}.items() if k in known}
    built = Plant(blueprint(name, setting, data), {"it": tuple(effects)})
    assert built.conditions == ("it",), f"{name} lacks what {effects} touch"
    return built


def look(
    name: str,
    demand: str,
    effects: Sequence[Effect] = (),
    around: Mapping[str, float] | None = None,
    **options: str,
) -> State:
    """Settle a system under one condition."""
    built = plant(name, effects, **options)
    return settle(built, built.set_up([("it",)]), surroundings(demand, around or {}))


def surroundings(demand: str, around: Mapping[str, float]) -> Surroundings:
    """Weather and delays; heating in the cold."""
    cold = {"outdoor_c": 2.0, "indoor_c": 20.0} if demand in {"heat", "emergency"} else {}
    return Surroundings(demand, **{**cold, **around})  # type: ignore[arg-type]


def signal(state: State, name: str) -> float:
    """Read a signal of the only world."""
    return float(np.asarray(state.signals[name])[0])


def followed(
    name: str, demand: str, effects: Sequence[Effect] = (), **options: str
) -> list[Change]:
    """Follow a system through a call."""
    return sequence(plant(name, effects, **options), ["it"], surroundings(demand, {}))


def begins(changes: Sequence[Change], name: str) -> float:
    """Seconds into the call at which something first turns on; inf when it never does."""
    return next((c.at_s for c in changes if c.signal == name and c.level > 0.0), float("inf"))
