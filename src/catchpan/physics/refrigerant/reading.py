"""What gauges and thermometers on a refrigerant say, for people: spans are checked.

Bubble temperatures serve subcooling, dew temperatures superheat; for a blend with glide the two
differ by a degree or two, and taking one for the other is a usual mistake.
"""

import numpy as np
from numpy.typing import ArrayLike

from catchpan.physics.refrigerant.table import RefrigerantTable
from catchpan.units.span import FloatArray, within


def bubble_temperature_k(table: RefrigerantTable, pressure_pa: ArrayLike) -> FloatArray:
    """Return the temperature at which liquid begins to boil.

    Parameters
    ----------
    table : RefrigerantTable
        The refrigerant.
    pressure_pa : array_like
        Absolute pressure [Pa], within the tables (-65 to about +70 degC saturation).

    Returns
    -------
    FloatArray
        Temperature [K].

    Raises
    ------
    OutOfRange
        If a pressure is outside the tables.

    Source: CoolProp, tabulated.
    """
    return table.saturation(_pressure(table, pressure_pa)).bubble_k


def dew_temperature_k(table: RefrigerantTable, pressure_pa: ArrayLike) -> FloatArray:
    """Return the temperature at which vapour begins to condense.

    Parameters
    ----------
    table : RefrigerantTable
        The refrigerant.
    pressure_pa : array_like
        Absolute pressure [Pa], within the tables.

    Returns
    -------
    FloatArray
        Temperature [K].

    Raises
    ------
    OutOfRange
        If a pressure is outside the tables.

    Source: CoolProp, tabulated.
    """
    return table.saturation(_pressure(table, pressure_pa)).dew_k


def pressure_from_bubble_pa(table: RefrigerantTable, temperature_k: ArrayLike) -> FloatArray:
    """Return the pressure over liquid that is just boiling.

    Parameters
    ----------
    table : RefrigerantTable
        The refrigerant.
    temperature_k : array_like
        Temperature [K], within the tables.

    Returns
    -------
    FloatArray
        Absolute pressure [Pa].

    Raises
    ------
    OutOfRange
        If a temperature is outside the tables.

    Source: CoolProp, tabulated.
    """
    return table.bubble_pressure_pa(_temperature(table, temperature_k))


def pressure_from_dew_pa(table: RefrigerantTable, temperature_k: ArrayLike) -> FloatArray:
    """Return the pressure over vapour that is just condensing.

    Parameters
    ----------
    table : RefrigerantTable
        The refrigerant.
    temperature_k : array_like
        Temperature [K], within the tables.

    Returns
    -------
    FloatArray
        Absolute pressure [Pa].

    Raises
    ------
    OutOfRange
        If a temperature is outside the tables.

    Source: CoolProp, tabulated.
    """
    return table.dew_pressure_pa(_temperature(table, temperature_k))


def superheat_k(
    table: RefrigerantTable, pressure_pa: ArrayLike, temperature_k: ArrayLike
) -> FloatArray:
    """Return how far vapour is above its dew point.

    Parameters
    ----------
    table : RefrigerantTable
        The refrigerant.
    pressure_pa : array_like
        Absolute suction pressure [Pa], within the tables.
    temperature_k : array_like
        Line temperature [K].

    Returns
    -------
    FloatArray
        Temperature difference [K]; negative readings cannot be, but are returned as they are.

    Raises
    ------
    OutOfRange
        If a pressure is outside the tables.

    Source: definition.
    """
    return np.asarray(temperature_k, dtype=np.float64) - dew_temperature_k(table, pressure_pa)


def subcooling_k(
    table: RefrigerantTable, pressure_pa: ArrayLike, temperature_k: ArrayLike
) -> FloatArray:
    """Return how far liquid is below its bubble point.

    Parameters
    ----------
    table : RefrigerantTable
        The refrigerant.
    pressure_pa : array_like
        Absolute liquid pressure [Pa], within the tables.
    temperature_k : array_like
        Line temperature [K].

    Returns
    -------
    FloatArray
        Temperature difference [K]; negative readings cannot be, but are returned as they are.

    Raises
    ------
    OutOfRange
        If a pressure is outside the tables.

    Source: definition.
    """
    return bubble_temperature_k(table, pressure_pa) - np.asarray(temperature_k, dtype=np.float64)


def _pressure(table: RefrigerantTable, value: ArrayLike) -> FloatArray:
    low, high = table.lowest_pressure_pa, table.highest_pressure_pa
    return within(f"{table.fluid.name} pressure", value, low * 0.999999, high * 1.000001, "Pa")


def _temperature(table: RefrigerantTable, value: ArrayLike) -> FloatArray:
    line = table.log_pressures
    top = line.start + line.step * (len(line.values) - 1)
    return within(f"{table.fluid.name} saturation temperature", value, line.start, top, "K")
