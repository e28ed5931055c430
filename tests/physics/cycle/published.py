"""Published figures that the cycle is held against, and how our side of each is computed."""

from typing import Final

import numpy as np

from catchpan.physics.cycle.circuit import LineSet, Parts, Points
from catchpan.physics.cycle.coil import AirStream, Coil
from catchpan.physics.cycle.compressor import compressor_for
from catchpan.physics.cycle.march import march
from catchpan.physics.cycle.metering import Metering
from catchpan.physics.cycle.newton import close_circuit
from catchpan.physics.cycle.solve import OperatingPoints, operating_points
from catchpan.physics.cycle.targets import chart_superheat_k
from catchpan.physics.cycle.unit import Departures, Unit, Weather
from catchpan.physics.moist_air import (
    enthalpy_j_kg,
    humidity_ratio_from_relative_humidity,
)
from catchpan.physics.moist_air_bulb import wet_bulb_k
from catchpan.physics.refrigerant.shelf import refrigerant_table
from catchpan.units.span import FloatArray

SEA: Final = 101325.0

CHARGE_COEFFICIENTS: Final = {
    ("Q", False): (-9.46e-1, 4.93e-2, -1.18e-3, -1.15),
    ("P", False): (-3.13e-1, 1.15e-2, 2.66e-3, -1.16e-1),
    ("Q", True): (-1.63e-1, 1.14e-2, -2.10e-4, -1.40e-1),
    ("P", True): (2.19e-1, -5.01e-3, 9.89e-4, 2.84e-1),
}
"""NIST TN 1848 in the form of ANSI/RESNET/ICC 301-2022 tables 4.2.2.4, cooling."""

SECOND_FAMILY_OVERCHARGE: Final = {
    0.1: (0.9556, 1.0285),
    0.2: (0.9256, 1.0450),
    0.3: (0.9083, 1.0518),
}
"""Capacity and input-ratio with overcharge of the second family (Kim et al., Buildings 2019)."""


OUTDOOR_F = np.array([70.0, 75, 80, 85, 90, 95, 100, 105, 110, 115])
MAKER_SUCTION_PSIG = np.array([137.0, 140, 142, 144, 147, 149, 151, 152, 154, 155])
MAKER_LIQUID_PSIG = np.array([275.0, 301, 326, 351, 375, 399, 423, 446, 470, 493])
"""A maker's table of cooling pressures: R-410A, 3 tons, 80/67 degF return."""


def charge_ratio(quantity: str, fault: float, indoor_c: float, outdoor_c: float) -> float:
    """Return the published capacity (Q) or power (P) over that at the right charge."""
    a1, a2, a3, a4 = CHARGE_COEFFICIENTS[quantity, fault > 0.0]
    return 1.0 + (a1 + a2 * indoor_c + a3 * outdoor_c + a4 * fault) * fault


def ratios(points: OperatingPoints, healthy: OperatingPoints) -> tuple[FloatArray, FloatArray]:
    """Return gross capacity and the outdoor unit's power over those of the healthy unit.

    So the regressions mean them: capacity and power both without the indoor fan.
    """
    power, sound = (p.total_w - np.abs(p.coil_w - p.net_w) for p in (points, healthy))
    return points.coil_w / healthy.coil_w, power / sound


def superheat_chart() -> FloatArray:
    """Return the chart's cells: outdoor, wet bulb, superheat [degF], shape (n, 3)."""
    outdoor, wet = np.arange(55.0, 116.0, 5.0), np.arange(50.0, 77.0, 2.0)
    grid = np.stack(np.meshgrid(outdoor, wet, indexing="ij"), axis=-1).reshape(-1, 2)
    kelvin = (grid + 459.67) / 1.8
    cells = chart_superheat_k(kelvin[:, 0], kelvin[:, 1]) * 1.8
    return np.column_stack([grid, cells])[~np.isnan(cells)]


def chart_superheat_degf(unit: Unit, cells: FloatArray) -> FloatArray:
    """Return the unit's own superheat in every cell, return air at 50 % relative humidity."""
    wet, out = ((cells[:, i] + 459.67) / 1.8 for i in (1, 0))
    dry = np.array([_half_saturated_k(float(each)) for each in wet])
    return operating_points(unit, Weather(dry, wet, out)).superheat_k * 1.8


def _half_saturated_k(wet_k: float) -> float:
    dry = np.linspace(wet_k, wet_k + 20.0, 200)
    ratio = humidity_ratio_from_relative_humidity(dry, 0.5, SEA)
    return float(np.interp(wet_k, wet_bulb_k(dry, ratio, SEA), dry))


def independent_sample() -> Parts:
    """Return the three-ton sample of [achp]: its map, air flows, line set and ideal valve.

    The four numbers that its geometry would give (two conductances, inside volume, valve area) are
    fitted to the four readings of its base row: evaporating and condensing dew temperature,
    subcooling, superheat.
    """
    table = refrigerant_table("R-410A")
    evaporator = Coil(0.975 * 1928.8, 3.0 * 1928.8, 0.563 * 1.18, 0.061, 0.0022 * 0.8257)
    condenser = Coil(1.05 * 3031.6, 3.0 * 3031.6, 1.793 * 1.13, 0.061, 0.0036 * 0.8257)
    valve = Metering(2.1154e-6, is_valve=True, static_superheat_k=4.59, opening_superheat_k=2.0)
    compressor = compressor_for(table)
    tight = type(compressor)(compressor.sheet, heat_loss_share=0.0)
    return Parts(table, tight, evaporator, condenser, valve, LineSet())


def independent_point(
    charge: float = 1.0,
    indoor_air: float = 1.0,
    outdoor_air: float = 1.0,
    outdoor_c: float = 35.0,
) -> dict[str, float]:
    """Return the readings of the sample with one thing changed, by the names of the sweep."""
    parts = independent_sample()
    one = np.ones(1)
    indoor = _air(23.89, 0.5, 0.563 * 1.18 * indoor_air)
    outdoor = _air(outdoor_c, 0.3, 1.793 * 1.13 * outdoor_air)
    points = Points(
        *(indoor, outdoor, one, one, one * 2.05 * charge, one, one * np.nan),
        *(0.0 * one, 0.0 * one, one, 0.0 * one, one * (outdoor_c + 273.15)),
    )
    state = march(parts, points, close_circuit(parts, points).guess)
    under = state.condenser.liquid_enthalpy_j_kg - state.condensing.leaving_j_kg
    heat = state.flow_kg_s * (state.evaporator_leaving_j_kg - state.condensing.leaving_j_kg)
    return {
        "Tdew_evap_C": float(state.evaporator.dew_k[0]) - 273.15,
        "Tdew_cond_C": float(state.condenser.dew_k[0]) - 273.15,
        "subcool_K": float(parts.table.subcooling(state.condenser_pa, under)[0][0]),
        "superheat_K": float(state.bulb_superheat_k[0]),
        "Q_evap_W": float(heat[0]),
        "W_comp_W": float(state.compression.power_w[0]),
    }


def _air(celsius: float, share: float, flow_kg_s: float) -> AirStream:
    dry = np.array([celsius + 273.15])
    ratio = humidity_ratio_from_relative_humidity(dry, share, SEA)
    return AirStream(dry, ratio, enthalpy_j_kg(dry, ratio), np.array([flow_kg_s]), np.array([SEA]))


def signs(unit: Unit, weather: Weather, off: Departures) -> dict[str, float]:
    """Return how seven readings move [K]."""
    sound, faulty = operating_points(unit, weather), operating_points(unit, weather, off)
    moved = {
        "Tevap": faulty.evaporating_k - sound.evaporating_k,
        "Tsh": faulty.superheat_k - sound.superheat_k,
        "Tcond": faulty.condensing_k - sound.condensing_k,
        "Tsc": faulty.subcooling_k - sound.subcooling_k,
        "Tdis": faulty.discharge_k - sound.discharge_k,
        "dTcond air": faulty.outdoor_leaving_k - sound.outdoor_leaving_k,
        "dTevap air": sound.indoor_leaving_k - faulty.indoor_leaving_k,
    }
    return {name: float(value[0]) for name, value in moved.items()}


RESNET_HEATING = (0.568706266, -0.000747282, -1.03432e-5, 0.00945408, 5.0812e-5, -6.77828e-6)
"""Heating capacity over that at 47 degF, by indoor and outdoor dry bulb [degF]. Source: RESNET
addendum 82 (facts, physics 4b)."""

TP_HEATING = (0.876825, -0.002955, -0.000058, 0.025335, 0.000196, -0.000043)
"""The same by degC, not 1 at 8.33. Source: NREL/TP-5500-56354 (facts, physics 4b)."""


def heating_share(
    coefficients: tuple[float, ...], indoor: float, outdoor: FloatArray
) -> FloatArray:
    """Return what a published heating curve has, in its own degrees."""
    c = coefficients
    own = c[0] + c[1] * indoor + c[2] * indoor**2
    return own + c[3] * outdoor + c[4] * outdoor**2 + c[5] * indoor * outdoor


def regressed_heating(outdoor_f: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return heating capacity over that at 47 degF of both published curves, 70 degF indoors."""
    outdoor_c, rated_c = (outdoor_f - 32.0) / 1.8, np.array(8.333)
    other = heating_share(TP_HEATING, 21.11, outdoor_c)
    return (
        heating_share(RESNET_HEATING, 70.0, outdoor_f),
        other / heating_share(TP_HEATING, 21.11, rated_c),
    )
