"""The part of a compiled call that holds what charts are drawn from: refrigerants and moist air.

Points off the saturation lines are kept against degrees over dew and under bubble, at the same
pressures, so that a chart needs one search and straight lines between nodes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from catchpan.physics.moist_air import saturation_pressure_pa
from catchpan.physics.refrigerant.shelf import refrigerant_table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from catchpan.diagnosis.worlds.family import Family
    from catchpan.physics.refrigerant.table import RefrigerantTable

PRESSURES: Final = 32
OVER_DEW_K: Final = (0.0, 3.0, 8.0, 15.0, 25.0, 40.0, 60.0, 85.0, 110.0)
UNDER_BUBBLE_K: Final = (0.0, 4.0, 10.0, 18.0, 30.0, 45.0)
"""Nodes; between them a point is within 0.4 kJ/kg of the tables."""

LOWEST_K: Final = 233.15
"""Where liquid at its bubble point counts as having no enthalpy [K]: the usual zero of charts in
inch-pound units, -40 degF."""

AIR_K: Final = tuple(np.arange(263.15, 323.16, 2.5).tolist())
"""Temperatures at which saturation of moist air is kept [K]."""

CONTACT: Final = 0.86
"""How much of the air meets the indoor coil's surface; what is left passes by. Read off the cycle
model's usual units over the weather and charges of cooling: leaving humidity comes out within
0.4 g/kg of what the model says."""


def charts_part(family: Family) -> dict[str, Any]:
    """Return the header of the charts: of every refrigerant the call's gauges may have to do with.

    Enthalpies in kJ/kg, pressures absolute in Pa, temperatures in K.
    """
    names = {chart.refrigerant for panel in family.panels.values() for chart in panel.charts}
    return {
        "charts": {
            "refrigerants": {name: _refrigerant(name) for name in sorted(names)},
            "moist_air": {
                "temperature_k": list(AIR_K),
                "saturation_pa": [round(float(p), 2) for p in saturation_pressure_pa(AIR_K)],
                "contact": CONTACT,
            },
        }
    }


def _refrigerant(name: str) -> dict[str, Any]:
    table = refrigerant_table(name)
    lowest = float(table.bubble_pressure_pa(LOWEST_K))
    pressure = np.geomspace(lowest, 0.999 * table.highest_pressure_pa, PRESSURES)
    sat = table.saturation(pressure)
    zero = float(table.saturation(np.asarray(lowest)).liquid_enthalpy_j_kg)
    return {
        "pressure_pa": _short(pressure, 0),
        "bubble_k": _short(sat.bubble_k, 2),
        "dew_k": _short(sat.dew_k, 2),
        "liquid_kj_kg": _kilo(sat.liquid_enthalpy_j_kg - zero),
        "vapour_kj_kg": _kilo(sat.vapour_enthalpy_j_kg - zero),
        "over_dew_k": list(OVER_DEW_K),
        "over_dew_kj_kg": [_over(table, pressure, degrees) for degrees in OVER_DEW_K],
        "under_bubble_k": list(UNDER_BUBBLE_K),
        "under_bubble_kj_kg": [_under(table, pressure, degrees) for degrees in UNDER_BUBBLE_K],
    }


def _over(table: RefrigerantTable, pressure: NDArray[np.float64], degrees: float) -> list[float]:
    return _kilo(table.vapour_over_dew(pressure, degrees)[0])


def _under(table: RefrigerantTable, pressure: NDArray[np.float64], degrees: float) -> list[float]:
    return _kilo(table.liquid_under_bubble(pressure, np.full_like(pressure, degrees))[0])


def _kilo(joules: NDArray[np.float64]) -> list[float]:
    return _short(joules / 1000.0, 2)


def _short(values: NDArray[np.float64], digits: int) -> list[float]:
    return [float(value) for value in np.round(values, digits)]
