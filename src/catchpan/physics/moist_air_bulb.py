"""Dew point and wet bulb of moist air, through psychrolib one element at a time.

About 10 us per dew point and 30 us per wet bulb (measured on 5000 states, one core).
"""

import numpy as np
import psychrolib
from numpy.typing import ArrayLike

from catchpan.physics.moist_air import (
    HIGHEST_K,
    LOWEST_K,
    relative_humidity,
    saturation_humidity_ratio,
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


_dew_point_c = np.vectorize(psychrolib.GetTDewPointFromVapPres, otypes=[np.float64])
_wet_bulb_c = np.vectorize(psychrolib.GetTWetBulbFromHumRatio, otypes=[np.float64])
