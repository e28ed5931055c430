"""Dew point and wet bulb of moist air.

Through psychrolib one element at a time, about 10 us per dew point and 30 us per wet bulb
(measured on 5000 states, one core); a wet bulb inside the formulas' span also for arrays at once.
"""

from typing import Final

import numpy as np
import psychrolib
from numpy.typing import ArrayLike

from catchpan.physics.elementwise import clip, log, maximum, minimum, where
from catchpan.physics.moist_air import (
    HIGHEST_K,
    LOWEST_K,
    relative_humidity,
    saturation_humidity_ratio,
    saturation_pressure_inside_pa,
)
from catchpan.units.span import FloatArray, within

psychrolib.SetUnitSystem(psychrolib.SI)


def dew_point_k(humidity_ratio: ArrayLike, pressure_pa: ArrayLike) -> FloatArray:
    """Return the temperature at which water begins to fall out.

    Parameters
    ----------
    humidity_ratio : array_like
        Humidity ratio [kg water / kg dry air], 1e-5 to 1.
    pressure_pa : array_like
        Barometric pressure [Pa], 50 000 to 110 000.

    Returns
    -------
    FloatArray
        Dew point [K], or frost point below the triple point.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: psychrolib, inverting [ashrae-fundamentals-2017] ch. 1 eq. 5 and 6.
    """
    ratio = within("humidity ratio", humidity_ratio, 1e-5, 1.0, "")
    vapour = (
        within("barometric pressure", pressure_pa, 5e4, 1.1e5, "Pa") * ratio / (0.621945 + ratio)
    )
    return np.asarray(_dew_point_c(100.0, vapour) + 273.15, dtype=np.float64)


def wet_bulb_k(
    temperature_k: ArrayLike, humidity_ratio: ArrayLike, pressure_pa: ArrayLike
) -> FloatArray:
    """Return the wet-bulb temperature.

    Parameters
    ----------
    temperature_k : array_like
        Dry-bulb temperature [K], 223.15 to 373.15.
    humidity_ratio : array_like
        Humidity ratio [kg water / kg dry air], 1e-5 to 1, not above saturation.
    pressure_pa : array_like
        Barometric pressure [Pa], 50 000 to 110 000.

    Returns
    -------
    FloatArray
        Wet bulb [K], within 0.001 K.

    Raises
    ------
    OutOfRange
        If an input is outside its span or the air is over-saturated by more than 0.1 %.

    Source: psychrolib, inverting [ashrae-fundamentals-2017] ch. 1 eq. 33 and 35.
    """
    kelvin = within("air temperature", temperature_k, LOWEST_K, HIGHEST_K, "K")
    ratio = within("humidity ratio", humidity_ratio, 1e-5, 1.0, "")
    pressure = within("barometric pressure", pressure_pa, 5e4, 1.1e5, "Pa")
    within("relative humidity", relative_humidity(kelvin, ratio, pressure), 0.0, 1.001, "")
    most = np.minimum(ratio, saturation_humidity_ratio(kelvin, pressure))
    celsius = _wet_bulb_c(kelvin - 273.15, most, pressure)
    return np.asarray(celsius + 273.15, dtype=np.float64)


def wet_bulb_inside_k(
    temperature_k: FloatArray, humidity_ratio: FloatArray, pressure_pa: FloatArray
) -> FloatArray:
    """Return the wet bulb of air that is known to lie inside the formulas' span.

    Parameters
    ----------
    temperature_k, humidity_ratio, pressure_pa : FloatArray
        Dry bulb [K], 230 to 350; humidity ratio [kg/kg]; barometer [Pa]. Arrays or plain floats
        (see `catchpan.physics.elementwise`).

    Returns
    -------
    FloatArray
        Wet bulb [K], within 0.001 K of `wet_bulb_k`, but within 0.7 K round freezing, where a wick
        of ice and one of water both fit; of oversaturated air, the dry bulb.

    Source: [ashrae-fundamentals-2017] ch. 1 eq. 33 and 35, by Newton steps from the temperature of
    saturated air of the same enthalpy (a fit, ours).
    """
    dry = temperature_k - 273.15
    enthalpy = 1.006 * dry + humidity_ratio * (2501.0 + 1.86 * dry)
    wet = clip(28.7 * log(maximum(enthalpy + 38.2, 2.0) / 47.7), -55.0, dry)
    for _ in range(_NEWTON_STEPS):
        here = _ratio_at_wet_bulb(dry, wet, pressure_pa)
        slope = (_ratio_at_wet_bulb(dry, wet + 0.01, pressure_pa) - here) / 0.01
        wet = minimum(clip(wet - (here - humidity_ratio) / slope, -55.0, 95.0), dry)
    return wet + 273.15


_NEWTON_STEPS: Final = 3


def _ratio_at_wet_bulb(dry: FloatArray, wet: FloatArray, pressure_pa: FloatArray) -> FloatArray:
    """Return the humidity ratio at a dry and a wet bulb [degC]; over ice below freezing."""
    vapour = minimum(saturation_pressure_inside_pa(wet + 273.15), 0.5 * pressure_pa)
    full = 0.621945 * vapour / (pressure_pa - vapour)
    water = ((2501.0 - 2.326 * wet) * full - 1.006 * (dry - wet)) / (
        2501.0 + 1.86 * dry - 4.186 * wet
    )
    ice = ((2830.0 - 0.24 * wet) * full - 1.006 * (dry - wet)) / (2830.0 + 1.86 * dry - 2.1 * wet)
    return where(wet >= 0.0, water, ice)


_dew_point_c = np.vectorize(psychrolib.GetTDewPointFromVapPres, otypes=[np.float64])
_wet_bulb_c = np.vectorize(psychrolib.GetTWetBulbFromHumRatio, otypes=[np.float64])
