"""Electric strip heat at the voltage it really gets."""

from numpy.typing import ArrayLike

from catchpan.units.span import FloatArray, within


def strip_resistance_ohm(rated_power_w: ArrayLike, rated_voltage_v: ArrayLike) -> FloatArray:
    """Return the resistance of a heating element.

    Parameters
    ----------
    rated_power_w : array_like
        Nameplate power [W], 1 to 1e5.
    rated_voltage_v : array_like
        Nameplate voltage [V], 10 to 1000.

    Returns
    -------
    FloatArray
        ``V**2 / P`` [ohm]; its small rise with temperature is left out.

    Raises
    ------
    OutOfRange
        If an input is outside its span.
    """
    power = within("rated power", rated_power_w, 1.0, 1e5, "W")
    return within("rated voltage", rated_voltage_v, 10.0, 1e3, "V") ** 2 / power


def strip_current_a(
    rated_power_w: ArrayLike, rated_voltage_v: ArrayLike, supply_v: ArrayLike
) -> FloatArray:
    """Return the current a heating element draws.

    Parameters
    ----------
    rated_power_w : array_like
        Nameplate power [W], 1 to 1e5.
    rated_voltage_v : array_like
        Nameplate voltage [V], 10 to 1000.
    supply_v : array_like
        Voltage at the element [V], 0 to 1000.

    Returns
    -------
    FloatArray
        Current [A].

    Raises
    ------
    OutOfRange
        If an input is outside its span.
    """
    supply = within("supply voltage", supply_v, 0.0, 1e3, "V")
    return supply / strip_resistance_ohm(rated_power_w, rated_voltage_v)


def strip_power_w(
    rated_power_w: ArrayLike, rated_voltage_v: ArrayLike, supply_v: ArrayLike
) -> FloatArray:
    """Return the heat a heating element gives; it goes with the square of the voltage.

    Parameters
    ----------
    rated_power_w : array_like
        Nameplate power [W], 1 to 1e5.
    rated_voltage_v : array_like
        Nameplate voltage [V], 10 to 1000.
    supply_v : array_like
        Voltage at the element [V], 0 to 1000.

    Returns
    -------
    FloatArray
        Heat [W].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Examples
    --------
    >>> round(float(strip_power_w(10_000.0, 240.0, 208.0)))
    7511
    """
    current = strip_current_a(rated_power_w, rated_voltage_v, supply_v)
    return current * within("supply voltage", supply_v, 0.0, 1e3, "V")
