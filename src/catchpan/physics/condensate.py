"""How much water a cooling coil makes."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from catchpan.units.span import FloatArray, within

CONDENSING_HEAT_J_KG: Final = 1060 * 2326.0
"""Heat that condenses out with a kilogram of water on a cooling coil [J/kg] (1060 Btu/lb)."""

WATER_DENSITY_KG_M3: Final = 998.2
"""Density of water at 20 C [kg/m3]."""


def dry_air_flow_kg_s(flow_m3_s: ArrayLike, specific_volume_m3_kg: ArrayLike) -> FloatArray:
    """Return the dry-air mass flow of a volume flow.

    Parameters
    ----------
    flow_m3_s : array_like
        Air flow [m3/s], 0 to 100.
    specific_volume_m3_kg : array_like
        Specific volume at the same place [m3/kg dry air], 0.5 to 2.

    Returns
    -------
    FloatArray
        Mass flow [kg dry air / s].

    Raises
    ------
    OutOfRange
        If an input is outside its span.
    """
    flow = within("air flow", flow_m3_s, 0.0, 100.0, "m3/s")
    return flow / within("specific volume", specific_volume_m3_kg, 0.5, 2.0, "m3/kg")


def condensate_kg_s(
    dry_air_kg_s: ArrayLike, entering_humidity_ratio: ArrayLike, leaving_humidity_ratio: ArrayLike
) -> FloatArray:
    """Return the condensate from what the air lost.

    Parameters
    ----------
    dry_air_kg_s : array_like
        Dry-air mass flow [kg/s], 0 to 100.
    entering_humidity_ratio, leaving_humidity_ratio : array_like
        Humidity ratios before and after the coil [kg/kg], 0 to 1.

    Returns
    -------
    FloatArray
        Condensate [kg/s]; 0 when the air did not get drier.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: [ashrae-fundamentals-2017] ch. 1, mass balance of moist air cooling.
    """
    flow = within("dry-air flow", dry_air_kg_s, 0.0, 100.0, "kg/s")
    entering = within("entering humidity ratio", entering_humidity_ratio, 0.0, 1.0, "")
    leaving = within("leaving humidity ratio", leaving_humidity_ratio, 0.0, 1.0, "")
    return flow * np.maximum(entering - leaving, 0.0)


def condensate_from_capacity_kg_s(
    total_cooling_w: ArrayLike, sensible_heat_ratio: ArrayLike
) -> FloatArray:
    """Return the condensate of a coil from its capacity.

    Parameters
    ----------
    total_cooling_w : array_like
        Total cooling [W], 0 to 1e6.
    sensible_heat_ratio : array_like
        Share of it that lowers the temperature, 0 to 1.

    Returns
    -------
    FloatArray
        Condensate [kg/s].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Notes
    -----
    Latent heat over 1060 Btu/lb (the heat of vaporisation near 50 to 60 F).

    Source: common practice; value from memory of steam tables.
    """
    total = within("total cooling", total_cooling_w, 0.0, 1e6, "W")
    share = within("sensible heat ratio", sensible_heat_ratio, 0.0, 1.0, "")
    return total * (1.0 - share) / CONDENSING_HEAT_J_KG


def water_volume_m3_s(water_kg_s: ArrayLike) -> FloatArray:
    """Return the volume flow of a mass flow of water.

    Parameters
    ----------
    water_kg_s : array_like
        Water [kg/s], 0 to 1000.

    Returns
    -------
    FloatArray
        Water [m3/s] at 20 C.

    Raises
    ------
    OutOfRange
        If the input is outside its span.
    """
    return within("water flow", water_kg_s, 0.0, 1e3, "kg/s") / WATER_DENSITY_KG_M3
