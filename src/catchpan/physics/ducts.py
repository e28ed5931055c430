"""Air paths: resistances in a row and side by side, and the pressure along the way.

A part of the path loses the pressure ``R q**2``: R is its resistance [Pa s2/m6] at standard air
density, q the volume flow. Filters and wet coils follow a somewhat smaller exponent in reality
(about 1.2 to 1.9, common practice, no source); 2 keeps the answers in closed form.
"""

from collections.abc import Sequence
from functools import reduce

import numpy as np
from numpy.typing import ArrayLike

from catchpan.units.span import FloatArray, within


def resistance_from_point(pressure_drop_pa: ArrayLike, flow_m3_s: ArrayLike) -> FloatArray:
    """Resistance of a part from one known point.

    Parameters
    ----------
    pressure_drop_pa : array_like
        Pressure lost [Pa], 0 to 10 000.
    flow_m3_s : array_like
        Air flow at which it is lost [m3/s], 1e-6 to 1000.

    Returns
    -------
    FloatArray
        Resistance [Pa s2/m6].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Examples
    --------
    >>> float(resistance_from_point(50.0, 0.5))
    200.0
    """
    drop = within("pressure drop", pressure_drop_pa, 0.0, 1e4, "Pa")
    return drop / within("air flow", flow_m3_s, 1e-6, 1e3, "m3/s") ** 2


def pressure_drop_pa(resistance_pa_s2_m6: ArrayLike, flow_m3_s: ArrayLike) -> FloatArray:
    """Pressure lost in a part at a flow.

    Parameters
    ----------
    resistance_pa_s2_m6 : array_like
        Resistance [Pa s2/m6], 0 to infinite.
    flow_m3_s : array_like
        Air flow [m3/s], 0 to 1000.

    Returns
    -------
    FloatArray
        Pressure drop [Pa]; 0 without flow, even through a closed part.

    Raises
    ------
    OutOfRange
        If an input is outside its span.
    """
    resistance = _resistance(resistance_pa_s2_m6)
    flow = within("air flow", flow_m3_s, 0.0, 1e3, "m3/s")
    return np.where(flow > 0, resistance, 0.0) * flow**2


def in_series(*resistances_pa_s2_m6: ArrayLike) -> FloatArray:
    """Resistance of parts one after the other.

    Parameters
    ----------
    *resistances_pa_s2_m6 : array_like
        Resistances [Pa s2/m6], 0 to infinite.

    Returns
    -------
    FloatArray
        Their sum [Pa s2/m6].

    Raises
    ------
    OutOfRange
        If one is negative or not a number.
    """
    total: FloatArray = reduce(np.add, map(_resistance, resistances_pa_s2_m6), np.zeros(()))
    return total


def in_parallel(*resistances_pa_s2_m6: ArrayLike) -> FloatArray:
    """Resistance of branches side by side, such as registers.

    Parameters
    ----------
    *resistances_pa_s2_m6 : array_like
        Resistances [Pa s2/m6], above 0 to infinite (a closed branch).

    Returns
    -------
    FloatArray
        ``1 / (sum of 1/sqrt(R))**2`` [Pa s2/m6]; infinite when every branch is closed.

    Raises
    ------
    OutOfRange
        If one is not above 0.
    """
    branches = [within("resistance", r, 1e-12, np.inf, "Pa s2/m6") for r in resistances_pa_s2_m6]
    opening = reduce(np.add, [1.0 / np.sqrt(branch) for branch in branches])
    return np.where(opening > 0, 1.0 / np.where(opening > 0, opening, 1.0) ** 2, np.inf)


def partly_blocked(resistance_pa_s2_m6: ArrayLike, blocked: ArrayLike) -> FloatArray:
    """Resistance once a share of the face is closed by dust, ice, or a shut damper.

    Parameters
    ----------
    resistance_pa_s2_m6 : array_like
        Clean resistance [Pa s2/m6].
    blocked : array_like
        Share of the face that lets nothing through, 0 to 1.

    Returns
    -------
    FloatArray
        ``R / (1 - blocked)**2`` [Pa s2/m6]; infinite when wholly blocked.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Notes
    -----
    All the air speeds up in the open share and the loss goes with the square of the speed.
    """
    left = 1.0 - within("blocked share", blocked, 0.0, 1.0, "")
    resistance = _resistance(resistance_pa_s2_m6)
    return np.where(left > 0, resistance / np.where(left > 0, left, 1.0) ** 2, np.inf)


def pressure_profile_pa(
    resistances_pa_s2_m6: Sequence[ArrayLike], parts_before_fan: int, flow_m3_s: ArrayLike
) -> FloatArray:
    """Give the static pressure against the room after each part, return grille to supply grille.

    Use it for the pressure at the drain pan (after the coil) and for the external static
    pressure (the difference between two test holes).

    Parameters
    ----------
    resistances_pa_s2_m6 : sequence of array_like
        Resistances in the order of the flow [Pa s2/m6].
    parts_before_fan : int
        How many of them stand on the suction side of the fan.
    flow_m3_s : array_like
        Air flow [m3/s], 0 to 1000.

    Returns
    -------
    FloatArray
        Static pressure [Pa], shape (parts, ...): before the fan what has been lost so far,
        negative; after the fan what is still to be lost, positive. Grilles end at 0.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Examples
    --------
    >>> pressure_profile_pa([100.0, 300.0, 200.0, 50.0], 2, 0.5).tolist()
    [-25.0, -100.0, 12.5, 0.0]
    """
    drops = [pressure_drop_pa(resistance, flow_m3_s) for resistance in resistances_pa_s2_m6]
    lost = np.cumsum(np.stack(np.broadcast_arrays(*drops)), axis=0)
    after = np.arange(len(drops)) >= parts_before_fan
    rise = np.where(after.reshape(-1, *[1] * (lost.ndim - 1)), lost[-1], 0.0)
    return np.asarray(rise - lost, dtype=np.float64)


def _resistance(value: ArrayLike) -> FloatArray:
    return within("resistance", value, 0.0, np.inf, "Pa s2/m6")
