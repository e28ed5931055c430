"""Moist air in closed form: humidity, enthalpy and volume, on whole arrays.

Dew point and wet bulb, which have no closed form, are in `catchpan.physics.moist_air_bulb`.
"""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from catchpan.physics.elementwise import exp, is_plain, log, where
from catchpan.units.errors import OutOfRange
from catchpan.units.span import FloatArray, within

STANDARD_PRESSURE_PA: Final = 101325.0
"""Standard atmospheric pressure at sea level [Pa]."""

_ICE_POINT_K: Final = 273.15
_TRIPLE_POINT_K: Final = 273.16
_WATER_TO_AIR: Final = 0.621945
LOWEST_K: Final = 223.15
HIGHEST_K: Final = 373.15


def standard_pressure_pa(altitude_m: ArrayLike) -> FloatArray:
    """Return the barometric pressure of the standard atmosphere.

    Parameters
    ----------
    altitude_m : array_like
        Height above the sea [m], -500 to 5000.

    Returns
    -------
    FloatArray
        Pressure [Pa].

    Raises
    ------
    OutOfRange
        If the altitude is outside its span.

    Source: [ashrae-fundamentals-2017] ch. 1 eq. 3.
    """
    altitude = within("altitude", altitude_m, -500.0, 5000.0, "m")
    return np.asarray(STANDARD_PRESSURE_PA * (1.0 - 2.25577e-5 * altitude) ** 5.2559)


def saturation_pressure_pa(temperature_k: ArrayLike) -> FloatArray:
    """Return the vapour pressure over water, or over ice below the triple point.

    Parameters
    ----------
    temperature_k : array_like
        Temperature [K], 223.15 to 373.15.

    Returns
    -------
    FloatArray
        Pressure [Pa].

    Raises
    ------
    OutOfRange
        If the temperature is outside its span.

    Examples
    --------
    >>> round(float(saturation_pressure_pa(298.15)), 1)
    3169.2

    Source: [ashrae-fundamentals-2017] ch. 1 eq. 5 and 6.
    """
    return np.asarray(saturation_pressure_inside_pa(_temperature(temperature_k)))


def saturation_pressure_inside_pa(temperature_k: FloatArray) -> FloatArray:
    """Return what `saturation_pressure_pa` does, of temperatures known to lie in its span.

    Parameters
    ----------
    temperature_k : FloatArray
        Temperature [K]; arrays or a plain float (see `catchpan.physics.elementwise`).

    Returns
    -------
    FloatArray
        Pressure [Pa].

    Source: as there.
    """
    t = temperature_k
    if is_plain(t):
        return exp(_log_over_ice(t) if t <= _TRIPLE_POINT_K else _log_over_water(t))
    return exp(where(t <= _TRIPLE_POINT_K, _log_over_ice(t), _log_over_water(t)))


def saturation_humidity_ratio(temperature_k: ArrayLike, pressure_pa: ArrayLike) -> FloatArray:
    """Return the humidity ratio of saturated air.

    Parameters
    ----------
    temperature_k : array_like
        Dry-bulb temperature [K], 223.15 to 373.15.
    pressure_pa : array_like
        Barometric pressure [Pa], 50 000 to 110 000; must exceed the vapour pressure.

    Returns
    -------
    FloatArray
        Humidity ratio [kg water / kg dry air].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: [ashrae-fundamentals-2017] ch. 1 eq. 23.
    """
    return humidity_ratio_from_relative_humidity(temperature_k, 1.0, pressure_pa)


def humidity_ratio_from_relative_humidity(
    temperature_k: ArrayLike, relative_humidity: ArrayLike, pressure_pa: ArrayLike
) -> FloatArray:
    """Return the humidity ratio at a relative humidity.

    Parameters
    ----------
    temperature_k : array_like
        Dry-bulb temperature [K], 223.15 to 373.15.
    relative_humidity : array_like
        Share of saturation, 0 to 1.
    pressure_pa : array_like
        Barometric pressure [Pa], 50 000 to 110 000; must exceed the vapour pressure.

    Returns
    -------
    FloatArray
        Humidity ratio [kg water / kg dry air].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: [ashrae-fundamentals-2017] ch. 1 eq. 12 and 20.
    """
    pressure = _pressure(pressure_pa)
    share = within("relative humidity", relative_humidity, 0.0, 1.0, "")
    vapour = share * saturation_pressure_pa(temperature_k)
    within("vapour pressure over barometric pressure", vapour / pressure, 0.0, 0.95, "")
    return _WATER_TO_AIR * vapour / (pressure - vapour)


def humidity_ratio_from_wet_bulb(
    temperature_k: ArrayLike, wet_bulb_k: ArrayLike, pressure_pa: ArrayLike
) -> FloatArray:
    """Return the humidity ratio from dry and wet bulb.

    Parameters
    ----------
    temperature_k : array_like
        Dry-bulb temperature [K], 223.15 to 373.15.
    wet_bulb_k : array_like
        Wet-bulb temperature [K], not above the dry bulb; below freezing the bulb is iced.
    pressure_pa : array_like
        Barometric pressure [Pa], 50 000 to 110 000.

    Returns
    -------
    FloatArray
        Humidity ratio [kg water / kg dry air]; not below 1e-7.

    Raises
    ------
    OutOfRange
        If an input is outside its span, or the wet bulb above the dry bulb.

    Source: [ashrae-fundamentals-2017] ch. 1 eq. 33 and 35.
    """
    dry, wet = _temperature(temperature_k), _temperature(wet_bulb_k)
    _not_above("wet bulb above dry bulb by", wet - dry)
    dry_c, wet_c = dry - _ICE_POINT_K, wet - _ICE_POINT_K
    saturated = saturation_humidity_ratio(wet, pressure_pa)
    water = ((2501 - 2.326 * wet_c) * saturated - 1.006 * (dry_c - wet_c)) / (
        2501 + 1.86 * dry_c - 4.186 * wet_c
    )
    ice = ((2830 - 0.24 * wet_c) * saturated - 1.006 * (dry_c - wet_c)) / (
        2830 + 1.86 * dry_c - 2.1 * wet_c
    )
    return np.maximum(np.where(wet_c >= 0.0, water, ice), 1e-7)


def relative_humidity(
    temperature_k: ArrayLike, humidity_ratio: ArrayLike, pressure_pa: ArrayLike
) -> FloatArray:
    """Return the relative humidity at a humidity ratio.

    Parameters
    ----------
    temperature_k : array_like
        Dry-bulb temperature [K], 223.15 to 373.15.
    humidity_ratio : array_like
        Humidity ratio [kg water / kg dry air], 0 to 1.
    pressure_pa : array_like
        Barometric pressure [Pa], 50 000 to 110 000.

    Returns
    -------
    FloatArray
        Share of saturation; above 1 when the air holds more than it can (fog).

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: [ashrae-fundamentals-2017] ch. 1 eq. 12 and 20.
    """
    ratio = _humidity_ratio(humidity_ratio)
    vapour = _pressure(pressure_pa) * ratio / (_WATER_TO_AIR + ratio)
    return vapour / saturation_pressure_pa(temperature_k)


def enthalpy_j_kg(temperature_k: ArrayLike, humidity_ratio: ArrayLike) -> FloatArray:
    """Return the enthalpy of moist air per kilogram of dry air.

    Parameters
    ----------
    temperature_k : array_like
        Dry-bulb temperature [K], 223.15 to 373.15.
    humidity_ratio : array_like
        Humidity ratio [kg water / kg dry air], 0 to 1.

    Returns
    -------
    FloatArray
        Enthalpy [J/kg dry air]; 0 for dry air and liquid water at 273.15 K.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: [ashrae-fundamentals-2017] ch. 1 eq. 30.
    """
    celsius = _temperature(temperature_k) - _ICE_POINT_K
    ratio = _humidity_ratio(humidity_ratio)
    return (1.006 * celsius + ratio * (2501.0 + 1.86 * celsius)) * 1000.0


def temperature_from_enthalpy_k(enthalpy_j_kg: ArrayLike, humidity_ratio: ArrayLike) -> FloatArray:
    """Return the dry-bulb temperature from enthalpy and humidity ratio.

    Parameters
    ----------
    enthalpy_j_kg : array_like
        Enthalpy [J/kg dry air], -1e5 to 3e6.
    humidity_ratio : array_like
        Humidity ratio [kg water / kg dry air], 0 to 1.

    Returns
    -------
    FloatArray
        Temperature [K].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: [ashrae-fundamentals-2017] ch. 1 eq. 30, solved for the temperature.
    """
    enthalpy = within("enthalpy", enthalpy_j_kg, -1e5, 3e6, "J/kg") / 1000.0
    ratio = _humidity_ratio(humidity_ratio)
    return (enthalpy - 2501.0 * ratio) / (1.006 + 1.86 * ratio) + _ICE_POINT_K


def specific_volume_m3_kg(
    temperature_k: ArrayLike, humidity_ratio: ArrayLike, pressure_pa: ArrayLike
) -> FloatArray:
    """Return the volume of moist air per kilogram of dry air.

    Parameters
    ----------
    temperature_k : array_like
        Dry-bulb temperature [K], 223.15 to 373.15.
    humidity_ratio : array_like
        Humidity ratio [kg water / kg dry air], 0 to 1.
    pressure_pa : array_like
        Barometric pressure [Pa], 50 000 to 110 000.

    Returns
    -------
    FloatArray
        Specific volume [m3/kg dry air].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: [ashrae-fundamentals-2017] ch. 1 eq. 26.
    """
    kelvin, ratio = _temperature(temperature_k), _humidity_ratio(humidity_ratio)
    return 287.042 * kelvin * (1.0 + 1.607858 * ratio) / _pressure(pressure_pa)


def _log_over_ice(t: FloatArray) -> FloatArray:
    return (
        -5.6745359e3 / t
        + 6.3925247
        + t * (-9.677843e-3 + t * (6.2215701e-7 + t * (2.0747825e-9 - 9.484024e-13 * t)))
        + 4.1635019 * log(t)
    )


def _log_over_water(t: FloatArray) -> FloatArray:
    return (
        -5.8002206e3 / t
        + 1.3914993
        + t * (-4.8640239e-2 + t * (4.1764768e-5 - 1.4452093e-8 * t))
        + 6.5459673 * log(t)
    )


def _temperature(value: ArrayLike) -> FloatArray:
    return within("air temperature", value, LOWEST_K, HIGHEST_K, "K")


def _humidity_ratio(value: ArrayLike) -> FloatArray:
    return within("humidity ratio", value, 0.0, 1.0, "")


def _pressure(value: ArrayLike) -> FloatArray:
    return within("barometric pressure", value, 5e4, 1.1e5, "Pa")


def _not_above(what: str, difference: FloatArray) -> None:
    if (difference > 1e-9).any():
        raise OutOfRange(what, float(np.max(difference)), -np.inf, 0.0, "K")
