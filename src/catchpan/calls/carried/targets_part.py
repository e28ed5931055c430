"""The part of a compiled call that today's targets come from: the unit's own model, by weather.

A phone cannot solve the cycle, so it takes along what a sound unit of this make reads over a grid
of outdoor air, wet bulb and its depression, for the refrigerant on the plate or the likeliest,
and every metering device it may still turn out to have, in even steps. Straight lines between the
nodes are off in cooling by 0.07 degF of superheat on the mean (95 in 100 within 0.4 degF, 1.8 at
the most, where the coil turns dry or a valve wide open), by 0.05 degF of subcooling and split, and
by 0.2 % of capacity; in heating by 0.4 psi of liquid pressure.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import product
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from catchpan.catalog.system import build_plant, options_of
from catchpan.diagnosis.cases.target_words import BESIDE
from catchpan.diagnosis.cases.todays_targets import CAPACITY_BAND, TITLES, plate_of
from catchpan.physics.cycle import expected, targets, verdict
from catchpan.physics.cycle.limits import Limit, limit_words
from catchpan.physics.cycle.solve import operating_points
from catchpan.physics.cycle.unit import Weather
from catchpan.plant.degrees import circuit_of
from catchpan.plant.refrigeration import unit_of
from catchpan.units.errors import CatchpanError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from catchpan.catalog.load import Catalog
    from catchpan.diagnosis.worlds.description import Description
    from catchpan.diagnosis.worlds.family import Family
    from catchpan.plant.refrigeration import Nameplate

    Arrays = dict[str, NDArray[Any]]

GRID_K: Final = {
    "cool": (
        tuple(np.arange(286.15, 322.0, 2.5).tolist()),
        tuple(np.arange(283.15, 299.0, 1.0).tolist()),
        (1.0, 2.5, 4.0, 5.5, 7.0, 8.5, 10.0, 11.5, 13.0, 15.0),
    ),
    "heat": (
        tuple(np.arange(247.15, 295.0, 3.0).tolist()),
        (281.15, 288.15, 295.15),
        (1.0, 6.0, 12.0),
    ),
}
"""Nodes of outdoor air, wet bulb and depression [K]: in cooling 55 to 119 degF outdoors and wet
bulbs of 50 to 77 degF, in heating -15 to 68 degF. Beyond them the value at the border is held."""

BUILT: Final = ("refrigerant", "metering")
"""What of a setting makes another unit; its size scales the capacity and hardly moves the rest."""

KEPT: Final = {
    "superheat_k": (-10.0, 0.002),
    "subcooling_k": (-10.0, 0.002),
    "split_k": (-60.0, 0.002),
    "net_w": (-5000.0, 1.0),
    "sensible_w": (-5000.0, 1.0),
    "suction_pa": (0.0, 100.0),
    "liquid_pa": (0.0, 100.0),
}
"""What is kept, with lowest value and step."""


def targets_part(
    description: Description, family: Family, data: Catalog
) -> tuple[dict[str, Any], Arrays]:
    """Return header and arrays of the targets; both without units where no circuit is read.

    Temperatures and differences in K, capacities in W, absolute pressures in Pa.
    """
    units: list[dict[str, Any]] = []
    arrays: Arrays = {}
    for setting in _built(description, data):
        plate = plate_of(description, setting)
        for demand in family.panels:
            made = _grid(plate, demand)
            if made is None:
                continue
            arrays[f"targets.{len(units)}.values"], arrays[f"targets.{len(units)}.limits"] = made
            units.append({**setting, "demand": demand, **_named(plate)})
    header = {
        "units": units,
        "axes": {demand: list(map(list, GRID_K[demand])) for demand in family.panels},
        "kept": {name: list(span) for name, span in KEPT.items()},
        "tons": _tons(description, data),
        "limits": {demand: _limits(demand) for demand in family.panels},
        "titles": dict(TITLES),
        "beside": {name: list(of) for name, of in BESIDE.items()},
        **_published(),
    }
    return {"targets": header}, arrays


def _built(description: Description, data: Catalog) -> list[dict[str, str]]:
    """Return the ways the unit may be built, those first that stand in for what is not known.

    A refrigerant nobody read is the likeliest one: once it is read, the call is compiled anew.
    """
    options = options_of(description.archetype, data)
    open_values = {k: [v.id for v in options[k].values] for k in BUILT}
    open_values["refrigerant"] = open_values["refrigerant"][:1]
    known = description.options
    values = [[known[k]] if k in known else open_values[k] for k in BUILT]
    return [dict(zip(BUILT, each, strict=True)) for each in product(*values)]


def _limits(demand: str) -> dict[str, str]:
    """Return what each limit means under a demand, by its flag."""
    heating = demand == "heat"
    return {str(int(limit)): limit_words(limit, heating=heating)[0] for limit in Limit if limit}


def _named(plate: Nameplate) -> dict[str, Any]:
    return {"name": plate.refrigerant, "tons": plate.tons, "valve": plate.is_valve}


def _tons(description: Description, data: Catalog) -> dict[str, float]:
    """Return the tons that each answer about the nameplate stands for."""
    option = options_of(description.archetype, data).get("tons")
    values = () if option is None else option.values
    return {v.id: _tons_of(description.archetype, v.id) for v in values}


def _tons_of(archetype: str, value: str) -> float:
    return circuit_of(build_plant(archetype, {"tons": value})).plate.tons


@lru_cache(maxsize=64)
def _grid(plate: Nameplate, demand: str) -> tuple[NDArray[np.uint16], NDArray[np.uint16]] | None:
    """Return a unit's steps by quantity and node, and its limits by node; None without a unit."""
    outdoor, wet, under = np.array(list(product(*GRID_K[demand]))).T
    try:
        unit = unit_of(plate)
        weather = Weather(wet + under, wet, outdoor)
        points = operating_points(unit, weather, heating=demand == "heat")
    except CatchpanError:
        return None
    found = expected.quantities(points, wet + under)
    steps = [np.round((found[name] - low) / step) for name, (low, step) in KEPT.items()]
    held = np.clip(np.stack(steps), 0, np.iinfo(np.uint16).max)
    return held.astype(np.uint16), points.limits.astype(np.uint16)


def _published() -> dict[str, Any]:
    """Return charts, bands and deviations that belong to no unit."""
    outdoor, wet, cells = targets.chart()
    return {
        "chart": {
            "outdoor_k": outdoor.tolist(),
            "wet_bulb_k": wet.tolist(),
            "superheat_k": [[None if np.isnan(x) else x for x in row] for row in cells.tolist()],
            "deviation_k": expected.CHART_DEVIATION_K,
        },
        "split": {
            "polynomial": list(targets.SPLIT),
            "dry_k": list(targets.SPLIT_DRY_K),
            "wet_bulb_k": list(targets.SPLIT_WET_K),
            "deviation_k": expected.SPLIT_DEVIATION_K,
        },
        "valve_superheat_k": list(verdict.VALVE_SUPERHEAT_INSTALLER_K),
        "bands_k": {
            "superheat": verdict.SUPERHEAT_INSTALLER.above,
            "subcooling": verdict.SUBCOOLING_INSTALLER.above,
            "split": verdict.SPLIT_INSTALLER.above,
        },
        "own": dict(expected.MODEL_DEVIATIONS),
        "coldest_k": targets.LEAST_OUTDOOR_K,
        "capacity_band": CAPACITY_BAND,
        "words": _words(),
    }


def _words() -> Mapping[str, str]:
    return {
        "model": expected.MODEL_SOURCE,
        "chart": expected.CHART_SOURCE,
        "split": expected.SPLIT_SOURCE,
        "valve": expected.VALVE_SOURCE,
        "dash": expected.NO_CHARGING,
        "off_chart": expected.OFF_CHART,
        "off_split": expected.OFF_SPLIT,
        "cold": expected.COLD,
    }
