"""Air flow from heat and temperature rise, heat from air flow, altitude, and the gas meter."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from catchpan.units.span import FloatArray, within

STANDARD_AIR_DENSITY_KG_M3: Final = 0.075 * 0.45359237 / 0.3048**3
"""Density of standard air, 0.075 lb/ft3 [kg/m3]."""

AIR_HEAT_CAPACITY_J_KG_K: Final = 0.24 * 4186.8
"""Specific heat of air, 0.24 Btu/(lb F) [J/(kg K)]."""

STANDARD_SENSIBLE_J_M3_K: Final = STANDARD_AIR_DENSITY_KG_M3 * AIR_HEAT_CAPACITY_J_KG_K
"""Heat that warms one cubic metre of standard air by one kelvin (the trade's 1.08) [J/(m3 K)]."""

_FOOT_M: Final = 0.3048
_HIGHEST_M: Final = 5000.0


def altitude_density_ratio(altitude_m: ArrayLike) -> FloatArray:
    """Air density at an altitude over that at sea level, at the same temperature.

    Parameters
    ----------
    altitude_m : array_like
        Height above the sea [m], -500 to 5000.

    Returns
    -------
    FloatArray
        Ratio, 1 at sea level.

    Raises
    ------
    OutOfRange
        If the altitude is outside its span.

    Notes
    -----
    ``(1 - 6.8753e-6 z)**5.2559`` with z in feet.

    Examples
    --------
    >>> round(float(altitude_density_ratio(6000 * 0.3048)), 3)
    0.801

    Source: US Bureau of Reclamation, Design Guide for HVAC, table 6a.
    """
    altitude = within("altitude", altitude_m, -500.0, _HIGHEST_M, "m")
    return np.asarray((1.0 - 6.8753e-6 * altitude / _FOOT_M) ** 5.2559)


def sensible_heat_w(
    flow_m3_s: ArrayLike, temperature_rise_k: ArrayLike, density_ratio: ArrayLike = 1.0
) -> FloatArray:
    """Heat that changes the temperature of an air stream.

    Parameters
    ----------
    flow_m3_s : array_like
        Air flow [m3/s], 0 to 100.
    temperature_rise_k : array_like
        Leaving minus entering temperature [K], -100 to 200.
    density_ratio : array_like, optional
        Air density over standard, 0.3 to 1.5.

    Returns
    -------
    FloatArray
        Sensible heat [W], negative for cooling.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: common practice, ``1.08 cfm dT``; 60 x 0.075 x 0.24 = 1.08.
    """
    flow = within("air flow", flow_m3_s, 0.0, 100.0, "m3/s")
    rise = within("temperature rise", temperature_rise_k, -100.0, 200.0, "K")
    return STANDARD_SENSIBLE_J_M3_K * _density(density_ratio) * flow * rise


def flow_from_temperature_rise_m3_s(
    heat_w: ArrayLike, temperature_rise_k: ArrayLike, density_ratio: ArrayLike = 1.0
) -> FloatArray:
    """Air flow from a known heat and the temperature rise it makes.

    The heat is volts times amps of electric strips plus the blower's power, or a gas furnace's
    input times its efficiency. Read the supply temperature out of sight of the heater.

    Parameters
    ----------
    heat_w : array_like
        Heat given to the air [W], 0 to 1e6.
    temperature_rise_k : array_like
        Supply minus return temperature [K], 0.5 to 200.
    density_ratio : array_like, optional
        Air density over standard, 0.3 to 1.5.

    Returns
    -------
    FloatArray
        Air flow [m3/s].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: common practice, ``cfm = Btu/h / (1.08 dT)``.
    """
    heat = within("heat", heat_w, 0.0, 1e6, "W")
    rise = within("temperature rise", temperature_rise_k, 0.5, 200.0, "K")
    return heat / (STANDARD_SENSIBLE_J_M3_K * _density(density_ratio) * rise)


def temperature_rise_k(
    heat_w: ArrayLike, flow_m3_s: ArrayLike, density_ratio: ArrayLike = 1.0
) -> FloatArray:
    """Temperature rise that a heat makes in an air stream.

    Parameters
    ----------
    heat_w : array_like
        Heat given to the air [W], -1e6 to 1e6.
    flow_m3_s : array_like
        Air flow [m3/s], 1e-4 to 100.
    density_ratio : array_like, optional
        Air density over standard, 0.3 to 1.5.

    Returns
    -------
    FloatArray
        Leaving minus entering temperature [K].

    Raises
    ------
    OutOfRange
        If an input is outside its span.
    """
    heat = within("heat", heat_w, -1e6, 1e6, "W")
    flow = within("air flow", flow_m3_s, 1e-4, 100.0, "m3/s")
    return heat / (STANDARD_SENSIBLE_J_M3_K * _density(density_ratio) * flow)


def total_heat_w(
    flow_m3_s: ArrayLike, enthalpy_change_j_kg: ArrayLike, density_ratio: ArrayLike = 1.0
) -> FloatArray:
    """Total heat from air flow and change of enthalpy.

    Parameters
    ----------
    flow_m3_s : array_like
        Air flow [m3/s], 0 to 100.
    enthalpy_change_j_kg : array_like
        Leaving minus entering enthalpy per kilogram of dry air [J/kg], -2e5 to 2e5.
    density_ratio : array_like, optional
        Air density over standard, 0.3 to 1.5.

    Returns
    -------
    FloatArray
        Total heat [W], negative for cooling.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: common practice, ``4.5 cfm dh``; 60 x 0.075 = 4.5.
    """
    flow = within("air flow", flow_m3_s, 0.0, 100.0, "m3/s")
    change = within("enthalpy change", enthalpy_change_j_kg, -2e5, 2e5, "J/kg")
    return STANDARD_AIR_DENSITY_KG_M3 * _density(density_ratio) * flow * change


def ventilation_m3_s(
    floor_area_m2: ArrayLike,
    bedrooms: ArrayLike,
    infiltration_m3_s: ArrayLike = 0.0,
    on_share: ArrayLike = 1.0,
) -> FloatArray:
    """Outdoor air that a dwelling's ventilation fan has to move while it runs.

    Parameters
    ----------
    floor_area_m2 : array_like
        Conditioned floor area [m2], 10 to 2000.
    bedrooms : array_like
        How many, 1 to 20.
    infiltration_m3_s : array_like, optional
        What leaks in anyhow and may be subtracted [m3/s], 0 to 1.
    on_share : array_like, optional
        Share of the time the fan runs, 0.1 to 1.

    Returns
    -------
    FloatArray
        Air flow [m3/s], 0 where infiltration is enough.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: [ashrae-62.2-2013] ``0.03 A + 7.5 (bedrooms + 1)`` cfm, A in square feet.
    """
    area = within("floor area", floor_area_m2, 10.0, 2000.0, "m2") / _FOOT_M**2
    people = within("bedrooms", bedrooms, 1.0, 20.0, "") + 1.0
    leaks = within("infiltration", infiltration_m3_s, 0.0, 1.0, "m3/s")
    share = within("share of running time", on_share, 0.1, 1.0, "")
    total = (0.03 * area + 7.5 * people) * _FOOT_M**3 / 60.0
    return np.asarray(np.maximum(total - leaks, 0.0) / share)


def gas_input_w(
    dial_m3: ArrayLike, seconds_per_turn_s: ArrayLike, heat_content_j_m3: ArrayLike
) -> FloatArray:
    """Heat input of a gas furnace from its meter: one turn of a test dial.

    Every other gas appliance has to be off while clocking.

    Parameters
    ----------
    dial_m3 : array_like
        Gas per turn of the dial [m3], 1e-4 to 1.
    seconds_per_turn_s : array_like
        Time of one turn [s], 1 to 3600.
    heat_content_j_m3 : array_like
        Heat content of the gas [J/m3], 1e7 to 1.5e8; ask the utility.

    Returns
    -------
    FloatArray
        Heat input [W].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: common practice, ``cfh = 3600 x dial / seconds``.
    """
    dial = within("dial size", dial_m3, 1e-4, 1.0, "m3")
    seconds = within("time of one turn", seconds_per_turn_s, 1.0, 3600.0, "s")
    return dial / seconds * within("heat content", heat_content_j_m3, 1e7, 1.5e8, "J/m3")


def _density(ratio: ArrayLike) -> FloatArray:
    return within("density ratio", ratio, 0.3, 1.5, "")
