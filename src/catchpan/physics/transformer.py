"""Control transformers: the voltage of a tap, the rated current, the load they bear."""

from collections.abc import Sequence

from numpy.typing import ArrayLike

from catchpan.units.span import FloatArray, within


def secondary_voltage_v(
    primary_v: ArrayLike, tap_v: ArrayLike, rated_secondary_v: ArrayLike = 24.0
) -> FloatArray:
    """Return the control voltage on a primary tap.

    Parameters
    ----------
    primary_v : array_like
        Line voltage [V], 0 to 1000.
    tap_v : array_like
        Voltage printed on the tap in use [V], 10 to 1000.
    rated_secondary_v : array_like, optional
        Rated secondary voltage [V], 1 to 100.

    Returns
    -------
    FloatArray
        Secondary voltage [V] in proportion; unloaded it is a few volts more.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Examples
    --------
    >>> round(float(secondary_voltage_v(208.0, 240.0)), 1)
    20.8
    """
    primary = within("line voltage", primary_v, 0.0, 1e3, "V")
    ratio = primary / within("tap voltage", tap_v, 10.0, 1e3, "V")
    return ratio * within("rated secondary voltage", rated_secondary_v, 1.0, 100.0, "V")


def rated_current_a(rating_va: ArrayLike, secondary_v: ArrayLike = 24.0) -> FloatArray:
    """Return the current a transformer can give for good.

    Parameters
    ----------
    rating_va : array_like
        Nameplate rating [VA], 1 to 1000.
    secondary_v : array_like, optional
        Rated secondary voltage [V], 1 to 100.

    Returns
    -------
    FloatArray
        Current [A].

    Raises
    ------
    OutOfRange
        If an input is outside its span.
    """
    rating = within("transformer rating", rating_va, 1.0, 1e3, "VA")
    return rating / within("rated secondary voltage", secondary_v, 1.0, 100.0, "V")


def load_share(loads_va: Sequence[float], rating_va: float) -> float:
    """Return the share of a transformer's rating that its loads take.

    Parameters
    ----------
    loads_va : sequence of float
        Sealed (holding) load of everything energised at once [VA], each 0 to 1000.
    rating_va : float
        Nameplate rating [VA], 1 to 1000.

    Returns
    -------
    float
        Sum over rating; keep it at or below 0.8 (common practice). Never work it out from a
        coil's dc resistance: impedance is not resistance.

    Raises
    ------
    OutOfRange
        If an input is outside its span.
    """
    total = sum(float(within("control load", each, 0.0, 1e3, "VA")) for each in loads_va)
    return total / float(within("transformer rating", rating_va, 1.0, 1e3, "VA"))
