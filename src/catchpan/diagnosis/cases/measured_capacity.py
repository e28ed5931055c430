"""What a unit in cooling is measured to do: air's enthalpies, and the airflow its water tells.

No check reads the airflow itself. But the water that a coil takes out of the air is the airflow
times what the air lost of it: caught in a minute, it weighs the air.
"""

from collections.abc import Sequence
from typing import Final

from catchpan.physics.moist_air import (
    STANDARD_PRESSURE_PA,
    enthalpy_j_kg,
    humidity_ratio_from_wet_bulb,
)
from catchpan.units.errors import CatchpanError

CAPACITY_READ: Final = (
    "return_air",
    "return_wet_bulb",
    "supply_air",
    "supply_wet_bulb",
    "condensate",
)
"""What has to be read before a capacity can be worked out, in the order it is passed on."""

LEAST_DRIED: Final = 5e-4
"""Water the air must have lost [kg/kg]: below this thermometers cannot tell it from none (assumed,
about a third of their spread)."""

STEP: Final = 0.01
"""Share of its deviation by which a reading is moved to see what hangs on it."""

WATER_KG_M3: Final = 1000.0
FREEZING_K: Final = 273.15
"""A wet bulb below it means ice on the coil: the water caught tells nothing."""

Measured = tuple[float, float]
"""A capacity and its standard deviation [W]."""


def measured_capacities(
    values: Sequence[float], spreads: Sequence[float]
) -> tuple[Measured | None, Measured | None]:
    """Return total and sensible capacity.

    Parameters
    ----------
    values, spreads : sequence of float
        The readings of ``CAPACITY_READ`` and their standard deviations: temperatures [K] and the
        condensate [m3/s].

    Returns
    -------
    tuple
        Each with its standard deviation [W]; None for both where the air lost no water to speak of.

    Source: psychrometrics [ashrae-fundamentals-2017] ch. 1; law of propagation.
    """
    start = _capacities(values)
    if start is None:
        return None, None
    squares = [0.0, 0.0]
    for i, spread in enumerate(spreads):
        moved = [*values[:i], values[i] - STEP * spread, *values[i + 1 :]]
        found = _capacities(moved)
        # Moved so that nothing is left: as uncertain as the whole.
        off = (
            start if found is None else [(a - b) / STEP for a, b in zip(found, start, strict=True)]
        )
        squares = [s + x * x for s, x in zip(squares, off, strict=True)]
    return (start[0], squares[0] ** 0.5), (start[1], squares[1] ** 0.5)


def _capacities(values: Sequence[float]) -> tuple[float, float] | None:
    return_k, return_wet_k, supply_k, supply_wet_k, water_m3_s = values
    if min(return_wet_k, supply_wet_k) < FREEZING_K:
        return None
    try:
        entering = _ratio(return_k, return_wet_k)
        leaving = _ratio(supply_k, supply_wet_k)
    except CatchpanError:
        return None
    dried = entering - leaving
    if dried < LEAST_DRIED or water_m3_s <= 0.0:
        return None
    air_kg_s = WATER_KG_M3 * water_m3_s / dried
    start, end = enthalpy_j_kg(return_k, entering), enthalpy_j_kg(supply_k, leaving)
    felt = enthalpy_j_kg(return_k, leaving) - end
    return air_kg_s * float(start - end), air_kg_s * float(felt)


def _ratio(dry_k: float, wet_k: float) -> float:
    return float(humidity_ratio_from_wet_bulb(dry_k, min(wet_k, dry_k), STANDARD_PRESSURE_PA))
