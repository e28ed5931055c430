"""What a unit in cooling is measured to do: air's enthalpies, and the airflow.

The airflow is worked out by the technician from a heater's temperature rise; where it is not, the
water tells it that the coil takes out of the air: caught in a minute, by what each kilogram of air
lost of it, it weighs the air.
"""

from collections.abc import Sequence
from typing import Final

from catchpan.physics.airflow import STANDARD_AIR_DENSITY_KG_M3
from catchpan.physics.moist_air import (
    STANDARD_PRESSURE_PA,
    enthalpy_j_kg,
    humidity_ratio_from_wet_bulb,
)
from catchpan.units.errors import CatchpanError

AIR_READ: Final = ("return_air", "return_wet_bulb", "supply_air", "supply_wet_bulb")
"""What has to be read before a capacity can be worked out, in the order it is passed on."""

WATER: Final = "condensate"
"""What has to be read besides where the airflow was not."""

AIRFLOW_CHECKS: Final = ("air/airflow-by-strips", "air/airflow-by-rise")
"""The checks that read the airflow for each ton."""

AIRFLOW_SHARE: Final = 0.08
"""Standard deviation of an airflow by temperature rise, as a share (assumed, as in the catalog)."""

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
    values: Sequence[float], spreads: Sequence[float], *, by_water: bool = True
) -> tuple[Measured | None, Measured | None]:
    """Return total and sensible capacity.

    Parameters
    ----------
    values, spreads : sequence of float
        The readings of ``AIR_READ`` and their standard deviations [K], and after them those of the
        condensate, or of the airflow as standard air [m3/s].
    by_water : bool, optional
        Whether the last reading is the condensate.

    Returns
    -------
    tuple
        Each with its standard deviation [W]; None for both where ice is on the coil, or the airflow
        hangs on water of which the air lost none to speak of.

    Source: psychrometrics [ashrae-fundamentals-2017] ch. 1; law of propagation.
    """
    start = _capacities(values, by_water=by_water)
    if start is None:
        return None, None
    squares = [0.0, 0.0]
    for i, spread in enumerate(spreads):
        moved = [*values[:i], values[i] - STEP * spread, *values[i + 1 :]]
        found = _capacities(moved, by_water=by_water)
        # Moved so that nothing is left: as uncertain as the whole.
        off = (
            start if found is None else [(a - b) / STEP for a, b in zip(found, start, strict=True)]
        )
        squares = [s + x * x for s, x in zip(squares, off, strict=True)]
    return (start[0], squares[0] ** 0.5), (start[1], squares[1] ** 0.5)


def _capacities(values: Sequence[float], *, by_water: bool) -> tuple[float, float] | None:
    return_k, return_wet_k, supply_k, supply_wet_k, flow_m3_s = values
    if min(return_wet_k, supply_wet_k) < FREEZING_K or flow_m3_s <= 0.0:
        return None
    try:
        entering = _ratio(return_k, return_wet_k)
        leaving = _ratio(supply_k, supply_wet_k)
    except CatchpanError:
        return None
    dried = entering - leaving
    if by_water and dried < LEAST_DRIED:
        return None
    dry = STANDARD_AIR_DENSITY_KG_M3 * flow_m3_s
    air_kg_s = WATER_KG_M3 * flow_m3_s / dried if by_water else dry
    start, end = enthalpy_j_kg(return_k, entering), enthalpy_j_kg(supply_k, leaving)
    felt = enthalpy_j_kg(return_k, leaving) - end
    return air_kg_s * float(start - end), air_kg_s * float(felt)


def _ratio(dry_k: float, wet_k: float) -> float:
    return float(humidity_ratio_from_wet_bulb(dry_k, min(wet_k, dry_k), STANDARD_PRESSURE_PA))
