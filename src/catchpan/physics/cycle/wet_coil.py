"""Heat and water from air to an evaporator, by the larger of all dry and all wet."""

from dataclasses import dataclass
from typing import Final

from catchpan.physics.cycle.coil import (
    LEAST_DIFFERENCE_K,
    AirStream,
    Conductances,
    Evaporating,
)
from catchpan.physics.elementwise import clip, expm1, log, maximum, minimum, where
from catchpan.physics.moist_air import (
    HIGHEST_K,
    LOWEST_K,
    saturation_pressure_inside_pa,
)
from catchpan.physics.refrigerant.table import RefrigerantTable, Saturation
from catchpan.units.span import FloatArray

_COLDEST_K: Final = LOWEST_K + 1.0
_WARMEST_K: Final = 333.15
_NEWTON_STEPS: Final = 5

SURFACE_SHARE: Final = 0.3
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
    t = clip(temperature_k, LOWEST_K, HIGHEST_K)
    ratio = saturated_ratio(t, barometer_pa)
    celsius = t - 273.15
    return (1.006 * celsius + ratio * (2501.0 + 1.86 * celsius)) * 1000.0


def saturated_ratio(temperature_k: FloatArray, barometer_pa: FloatArray) -> FloatArray:
    """Return the humidity ratio of saturated air [kg/kg]; temperatures [K] within the formula's.

    Source: [ashrae-fundamentals-2017] ch. 1; ideal mixture.
    """
    vapour = minimum(saturation_pressure_inside_pa(temperature_k), 0.5 * barometer_pa)
    return 0.621945 * vapour / (barometer_pa - vapour)


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
    difference = maximum(air.temperature_k - refrigerant_k, LEAST_DIFFERENCE_K)
    capacity = air.capacity_w_k
    dry = capacity * -expm1(-ua.overall(ua.two_phase) / capacity) * difference
    middle = refrigerant_k + SURFACE_SHARE * difference
    low = saturated_enthalpy_j_kg(refrigerant_k, air.barometer_pa)
    slope = (saturated_enthalpy_j_kg(middle, air.barometer_pa) - low) / (SURFACE_SHARE * difference)
    heat = capacity / air.flow_kg_s
    wet_ua = 1.0 / (slope / ua.two_phase + heat / ua.air)
    effect = -expm1(-wet_ua / air.flow_kg_s)
    return maximum(dry, air.flow_kg_s * effect * (air.enthalpy_j_kg - low))


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
    quality = clip(sat.quality(entering), 0.0, 0.98)
    glide = sat.dew_k - sat.bubble_k
    boiling = sat.dew_k - 0.5 * (1.0 - quality) * glide
    whole = two_phase_heat_w(air, ua, boiling)
    wanted = flow * maximum(sat.vapour_enthalpy_j_kg - entering, 1e3)
    share = minimum(wanted / whole, 1.0)
    capacity = air.capacity_w_k
    e_vapour = capacity * -expm1(-ua.overall(ua.vapour) / capacity)
    over_10, _, _ = table.vapour_over_dew(pressure, 10.0)
    difference = maximum(air.temperature_k - sat.dew_k, LEAST_DIFFERENCE_K)
    rise = difference * -expm1(-e_vapour * (1.0 - share) * 10.0 / (flow * over_10))
    leaving = where(
        wanted < whole, sat.vapour_enthalpy_j_kg + rise / 10.0 * over_10, entering + whole / flow
    )
    return Evaporating(leaving, share, quality, clip(sat.quality(leaving), quality, 1.0))


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
    contact = -expm1(-ua.air / air.capacity_w_k)
    icy = _wet_surface_k(air, heat_w / contact)
    humidity = saturated_ratio(icy, air.barometer_pa)
    wet = humidity < air.humidity_ratio
    drop = where(wet, contact * (air.humidity_ratio - humidity), 0.0)
    leaving_w = air.humidity_ratio - drop
    leaving_h = air.enthalpy_j_kg - heat_w / air.flow_kg_s
    celsius = (leaving_h / 1000.0 - 2501.0 * leaving_w) / (1.006 + 1.86 * leaving_w)
    dry = air.temperature_k - heat_w / (air.capacity_w_k * contact)
    water = air.flow_kg_s * drop
    as_damp = (1.006 * celsius + air.humidity_ratio * (2501.0 + 1.86 * celsius)) * 1000.0
    sensible = air.flow_kg_s * (air.enthalpy_j_kg - as_damp)
    return LeavingAir(celsius + 273.15, leaving_w, where(wet, icy, dry), sensible, water)


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
    flow = air.flow_kg_s * clip(boiling_share, 0.02, 1.0)
    contact = -expm1(-ua.air / air.capacity_w_k)
    part = AirStream(
        *(air.temperature_k, air.humidity_ratio, air.enthalpy_j_kg, flow, air.barometer_pa)
    )
    icy = _wet_surface_k(part, boiling_w / contact)
    dry = air.temperature_k - boiling_w / (part.capacity_w_k * contact)
    wet = saturated_ratio(icy, air.barometer_pa) < air.humidity_ratio
    return where(wet, icy, dry)


def _wet_surface_k(air: AirStream, heat_w: FloatArray) -> FloatArray:
    """Return where saturated air has so much less enthalpy than the stream, by Newton steps."""
    enthalpy = air.enthalpy_j_kg - heat_w / air.flow_kg_s
    start = 273.15 + 28.7 * log(maximum(enthalpy / 1000.0 + 38.2, 2.0) / 47.7)
    kelvin = clip(start, _COLDEST_K, _WARMEST_K)
    for _ in range(_NEWTON_STEPS):
        here = saturated_enthalpy_j_kg(kelvin, air.barometer_pa)
        slope = (saturated_enthalpy_j_kg(kelvin + 0.01, air.barometer_pa) - here) / 0.01
        kelvin = clip(kelvin - (here - enthalpy) / slope, _COLDEST_K, _WARMEST_K)
    return kelvin
