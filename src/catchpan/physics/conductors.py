"""Copper and aluminium wire: size, resistance, voltage drop."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from catchpan.units.span import FloatArray, within

COPPER_OHM_M: Final = 1.7241e-8
"""Resistivity of annealed copper at 20 C, the international standard [ohm m]."""

ALUMINIUM_OHM_M: Final = 2.8264e-8
"""Resistivity of hard-drawn aluminium at 20 C [ohm m] (from memory)."""

COPPER_PER_K: Final = 0.00393
"""Rise of copper's resistance per kelvin, referred to 20 C [1/K]."""

_STRANDED: Final = 1.02
_REFERENCE_K: Final = 293.15


def awg_area_m2(awg: ArrayLike) -> FloatArray:
    """Return the cross-section of a wire gauge.

    Parameters
    ----------
    awg : array_like
        American wire gauge number, -3 (4/0) to 40.

    Returns
    -------
    FloatArray
        Area [m2].

    Raises
    ------
    OutOfRange
        If the number is outside its span.

    Notes
    -----
    Diameter ``0.127 mm * 92**((36 - n)/39)``.

    Source: definition of the American wire gauge, ASTM B258.
    """
    gauge = within("wire gauge", awg, -3.0, 40.0, "AWG")
    diameter = 0.127e-3 * 92.0 ** ((36.0 - gauge) / 39.0)
    return np.asarray(np.pi / 4.0 * diameter**2)


def resistance_ohm(
    resistivity_ohm_m: ArrayLike, length_m: ArrayLike, area_m2: ArrayLike
) -> FloatArray:
    """Return the resistance of one conductor.

    Parameters
    ----------
    resistivity_ohm_m : array_like
        Resistivity [ohm m], 1e-9 to 1e-5.
    length_m : array_like
        Length of the conductor, one way [m], 0 to 10 000.
    area_m2 : array_like
        Cross-section [m2], 1e-9 to 1.

    Returns
    -------
    FloatArray
        Resistance [ohm].

    Raises
    ------
    OutOfRange
        If an input is outside its span.
    """
    resistivity = within("resistivity", resistivity_ohm_m, 1e-9, 1e-5, "ohm m")
    length = within("length", length_m, 0.0, 1e4, "m")
    return resistivity * length / within("cross-section", area_m2, 1e-9, 1.0, "m2")


def copper_resistance_ohm(
    awg: ArrayLike,
    length_m: ArrayLike,
    *,
    temperature_k: ArrayLike = _REFERENCE_K,
    stranded: ArrayLike = False,
) -> FloatArray:
    """Return the resistance of one copper wire.

    Parameters
    ----------
    awg : array_like
        American wire gauge number, -3 (4/0) to 40.
    length_m : array_like
        Length, one way [m], 0 to 10 000.
    temperature_k : array_like, optional
        Temperature of the wire [K], 200 to 450.
    stranded : array_like of bool, optional
        Whether it is stranded (2 % more).

    Returns
    -------
    FloatArray
        Resistance [ohm]; within 0.5 % of the usual tables.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Examples
    --------
    >>> round(float(copper_resistance_ohm(18, 304.8)), 3)
    6.385

    Source: copper wire tables (ASTM B258, international standard annealed copper).
    """
    warmer = within("wire temperature", temperature_k, 200.0, 450.0, "K") - _REFERENCE_K
    lay = np.where(np.asarray(stranded, dtype=bool), _STRANDED, 1.0)
    cold = resistance_ohm(COPPER_OHM_M, length_m, awg_area_m2(awg))
    return cold * (1.0 + COPPER_PER_K * warmer) * lay


def loop_voltage_drop_v(one_way_ohm: ArrayLike, current_a: ArrayLike) -> FloatArray:
    """Return the voltage lost in the two wires to a load.

    Parameters
    ----------
    one_way_ohm : array_like
        Resistance of one wire [ohm], 0 to 1e6.
    current_a : array_like
        Current [A], 0 to 1000.

    Returns
    -------
    FloatArray
        ``2 R I`` [V].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: Ohm's law for a two-wire circuit; reactance left out.
    """
    ohm = within("wire resistance", one_way_ohm, 0.0, 1e6, "ohm")
    return 2.0 * ohm * within("current", current_a, 0.0, 1e3, "A")
