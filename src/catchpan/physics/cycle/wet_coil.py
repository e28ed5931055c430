"""Heat and water from air to an evaporator, by the larger of all dry and all wet."""

from dataclasses import dataclass

import numpy as np

from catchpan.physics.cycle.coil import (
    LEAST_DIFFERENCE_K,
    AirStream,
    Conductances,
    Evaporating,
)
from catchpan.physics.moist_air import (
    HIGHEST_K,
    LOWEST_K,
    enthalpy_j_kg,
    saturation_humidity_ratio,
    saturation_pressure_pa,
)
from catchpan.physics.refrigerant.table import RefrigerantTable, Saturation
from catchpan.units.span import FloatArray

SURFACE_SHARE = 0.3
"""How far from refrigerant to wet bulb the surface is when the slope of saturation is taken."""


@dataclass(frozen=True)
class LeavingAir:
    """What becomes of the air at an evaporator.

    Parameters
    ----------
    temperature_k, humidity_ratio : FloatArray
        Of the air that leaves [K], [kg/kg].
    surface_k : FloatArray
        Temperature of a surface that would do the same by itself [K] (apparatus dew point).
    sensible_w, condensate_kg_s : FloatArray
        Sensible heat taken [W] and water (or frost) left on the coil [kg/s].
    """

    temperature_k: FloatArray
    humidity_ratio: FloatArray
    surface_k: FloatArray
    sensible_w: FloatArray
    condensate_kg_s: FloatArray


def saturated_enthalpy_j_kg(temperature_k: FloatArray, barometer_pa: FloatArray) -> FloatArray:
    """Return the enthalpy of saturated air [J/kg dry air] (over ice below freezing).

    Source: [ashrae-fundamentals-2017] ch. 1; ideal mixture, clipped to the formula's span.
    """
    t = np.clip(temperature_k, LOWEST_K, HIGHEST_K)
    vapour = np.minimum(saturation_pressure_pa(t), 0.5 * barometer_pa)
    ratio = 0.621945 * vapour / (barometer_pa - vapour)
    celsius = t - 273.15
    return np.asarray((1.006 * celsius + ratio * (2501.0 + 1.86 * celsius)) * 1000.0)


def two_phase_heat_w(air: AirStream, ua: Conductances, refrigerant_k: FloatArray) -> FloatArray:
    """Return the heat a coil wholly filled with boiling refrigerant would take.

    Parameters
    ----------
    air : AirStream
        The air.
    ua : Conductances
        The coil's.
    refrigerant_k : FloatArray
        Boiling temperature [K].

    Returns
    -------
    FloatArray
        Total heat [W]: the larger of an all-dry and an all-wet coil.

    Source: [braun-klein-mitchell-1989] (wet coil by enthalpy effectiveness; larger of dry and wet).
    """
    difference = np.maximum(air.temperature_k - refrigerant_k, LEAST_DIFFERENCE_K)
    capacity = air.capacity_w_k
    dry = capacity * -np.expm1(-ua.overall(ua.two_phase) / capacity) * difference
    middle = refrigerant_k + SURFACE_SHARE * difference
    low = saturated_enthalpy_j_kg(refrigerant_k, air.barometer_pa)
    slope = (saturated_enthalpy_j_kg(middle, air.barometer_pa) - low) / (SURFACE_SHARE * difference)
    heat = capacity / air.flow_kg_s
    wet_ua = 1.0 / (slope / ua.two_phase + heat / ua.air)
    effect = -np.expm1(-wet_ua / air.flow_kg_s)
    return np.maximum(dry, air.flow_kg_s * effect * (air.enthalpy_j_kg - low))


def evaporate(
    table: RefrigerantTable,
    state: tuple[FloatArray, Saturation, FloatArray, FloatArray],
    air: AirStream,
    ua: Conductances,
) -> Evaporating:
    """March refrigerant through an evaporator.

    Parameters
    ----------
    table : RefrigerantTable
        The refrigerant.
    state : tuple
        Pressure [Pa], saturation there, entering enthalpy [J/kg] and flow [kg/s].
    air : AirStream
        The air.
    ua : Conductances
        The coil's.

    Returns
    -------
    Evaporating
        Defined for any input; a coil too small leaves liquid in the suction line.

    Source: effectiveness-NTU per zone; the superheating zone is taken as dry.
    """
    pressure, sat, entering, flow = state
    quality = np.clip(sat.quality(entering), 0.0, 0.98)
    glide = sat.dew_k - sat.bubble_k
    boiling = sat.dew_k - 0.5 * (1.0 - quality) * glide
    whole = two_phase_heat_w(air, ua, boiling)
    wanted = flow * np.maximum(sat.vapour_enthalpy_j_kg - entering, 1e3)
    share = np.minimum(wanted / whole, 1.0)
    capacity = air.capacity_w_k
    e_vapour = capacity * -np.expm1(-ua.overall(ua.vapour) / capacity)
    over_10, _, _ = table.vapour_over_dew(pressure, np.asarray(10.0))
    difference = np.maximum(air.temperature_k - sat.dew_k, LEAST_DIFFERENCE_K)
    rise = difference * -np.expm1(-e_vapour * (1.0 - share) * 10.0 / (flow * over_10))
    leaving = np.where(
        wanted < whole, sat.vapour_enthalpy_j_kg + rise / 10.0 * over_10, entering + whole / flow
    )
    return Evaporating(leaving, share, quality, np.clip(sat.quality(leaving), quality, 1.0))


def leaving_air(air: AirStream, ua: Conductances, heat_w: FloatArray) -> LeavingAir:
    """Return the air behind a coil that has taken so much heat.

    Parameters
    ----------
    air : AirStream
        The air before it.
    ua : Conductances
        The coil's.
    heat_w : FloatArray
        Total heat taken from the air [W].

    Returns
    -------
    LeavingAir
        Shape by broadcasting; dry when the surface is above the dew point.

    Source: bypass (contact factor) method, as in [ashrae-fundamentals-2017] coil calculations.
    """
    contact = -np.expm1(-ua.air / air.capacity_w_k)
    saturated = air.enthalpy_j_kg - heat_w / (air.flow_kg_s * contact)
    surface = _saturation_temperature_k(saturated, air.barometer_pa)
    humidity = saturation_humidity_ratio(surface, air.barometer_pa)
    wet = humidity < air.humidity_ratio
    leaving_w = np.where(
        wet, air.humidity_ratio - contact * (air.humidity_ratio - humidity), air.humidity_ratio
    )
    leaving_h = air.enthalpy_j_kg - heat_w / air.flow_kg_s
    celsius = (leaving_h / 1000.0 - 2501.0 * leaving_w) / (1.006 + 1.86 * leaving_w)
    temperature = celsius + 273.15
    surface = np.where(wet, surface, air.temperature_k - heat_w / (air.capacity_w_k * contact))
    water = air.flow_kg_s * (air.humidity_ratio - leaving_w)
    sensible = air.flow_kg_s * (
        air.enthalpy_j_kg
        - enthalpy_j_kg(np.clip(temperature, LOWEST_K, HIGHEST_K), air.humidity_ratio)
    )
    return LeavingAir(temperature, leaving_w, surface, sensible, water)


def boiling_surface_k(
    air: AirStream, ua: Conductances, boiling_share: FloatArray, boiling_w: FloatArray
) -> FloatArray:
    """Return the surface temperature of the part of an evaporator where refrigerant boils.

    Parameters
    ----------
    air : AirStream
        The air before the coil.
    ua : Conductances
        The coil's.
    boiling_share : FloatArray
        Share of the coil, and of its air, where refrigerant boils.
    boiling_w : FloatArray
        Heat taken there [W].

    Returns
    -------
    FloatArray
        Temperature [K]; a starved coil ices here while its mean surface is still warm.

    Source: ours; as `leaving_air`, for that part alone.
    """
    share = np.clip(boiling_share, 0.02, 1.0)
    part = AirStream(
        *(air.temperature_k, air.humidity_ratio, air.enthalpy_j_kg),
        *(air.flow_kg_s * share, air.barometer_pa),
    )
    part_ua = Conductances(ua.air * share, ua.two_phase, ua.vapour, ua.hot_gas, ua.liquid)
    return leaving_air(part, part_ua, boiling_w).surface_k


def _saturation_temperature_k(enthalpy: FloatArray, barometer_pa: FloatArray) -> FloatArray:
    """Invert `saturated_enthalpy_j_kg` by bisection."""
    low = np.full(np.broadcast(enthalpy, barometer_pa).shape, LOWEST_K)
    high = np.full_like(low, 333.15)
    for _ in range(30):
        middle = 0.5 * (low + high)
        above = saturated_enthalpy_j_kg(middle, barometer_pa) > enthalpy
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return np.asarray(0.5 * (low + high))
