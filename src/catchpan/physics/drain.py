"""Drain lines: partly filled pipes, least sizes and least slope."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from catchpan.units.span import FloatArray, within

LEAST_SLOPE: Final = 1.0 / 96.0
"""Least fall of horizontal condensate piping, 1/8 in per ft (IMC 307.2.1) [m/m]."""

_INCH_M: Final = 0.0254
_TON_W: Final = 12000.0 * 1055.05585262 / 3600.0

BORE_M: Final[dict[float, float]] = {
    size: bore * _INCH_M
    for size, bore in (
        (0.5, 0.622),
        (0.75, 0.824),
        (1.0, 1.049),
        (1.25, 1.380),
        (1.5, 1.610),
        (2.0, 2.067),
    )
}
"""Average bore of schedule 40 PVC pipe by nominal size in inches [m] (ASTM D1785, from memory)."""

_LEAST_SIZES: Final = ((20.0, 0.75), (40.0, 1.0), (90.0, 1.25), (125.0, 1.5), (250.0, 2.0))


def flow_section(diameter_m: ArrayLike, fill: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return the wet area and the hydraulic radius of a round pipe.

    Parameters
    ----------
    diameter_m : array_like
        Bore [m], 0.001 to 10.
    fill : array_like
        Depth of water over bore, 0 to 1.

    Returns
    -------
    area : FloatArray
        Wet area [m2].
    hydraulic_radius : FloatArray
        Wet area over wet perimeter [m].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: geometry of the circle.
    """
    diameter = within("pipe bore", diameter_m, 1e-3, 10.0, "m")
    angle = 2.0 * np.arccos(1.0 - 2.0 * within("fill", fill, 0.0, 1.0, ""))
    area = diameter**2 / 8.0 * (angle - np.sin(angle))
    perimeter = diameter / 2.0 * angle
    radius = area / np.where(perimeter > 0, perimeter, 1.0)
    return area, radius


def drain_velocity_m_s(
    diameter_m: ArrayLike, slope: ArrayLike, fill: ArrayLike, roughness: ArrayLike = 0.011
) -> FloatArray:
    """Return the speed of water in a sloping, partly filled pipe.

    Parameters
    ----------
    diameter_m : array_like
        Bore [m], 0.001 to 10.
    slope : array_like
        Fall per length [m/m], 0 to 1.
    fill : array_like
        Depth of water over bore, 0 to 1.
    roughness : array_like, optional
        Manning's n, 0.005 to 0.05: smooth plastic 0.009, drain tables 0.011 to 0.015.

    Returns
    -------
    FloatArray
        Speed [m/s].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Notes
    -----
    ``R**(2/3) sqrt(S) / n``. Steady flow; says nothing about sags, slime and traps, which govern
    in practice.

    Source: Manning's formula (textbook).
    """
    _, radius = flow_section(diameter_m, fill)
    fall = within("slope", slope, 0.0, 1.0, "m/m")
    return radius ** (2 / 3) * np.sqrt(fall) / within("roughness", roughness, 0.005, 0.05, "")


def drain_flow_m3_s(
    diameter_m: ArrayLike, slope: ArrayLike, fill: ArrayLike, roughness: ArrayLike = 0.011
) -> FloatArray:
    """Return the flow in a sloping, partly filled pipe.

    Parameters
    ----------
    diameter_m : array_like
        Bore [m], 0.001 to 10.
    slope : array_like
        Fall per length [m/m], 0 to 1.
    fill : array_like
        Depth of water over bore, 0 to 1.
    roughness : array_like, optional
        Manning's n, 0.005 to 0.05.

    Returns
    -------
    FloatArray
        Flow [m3/s].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Examples
    --------
    >>> gpm = drain_flow_m3_s(0.824 * 0.0254, 1 / 96, 0.5, 0.009) * 60 / 3.785411784e-3
    >>> round(float(gpm), 3)
    0.932

    Source: Manning's formula (textbook).
    """
    area, _ = flow_section(diameter_m, fill)
    return area * drain_velocity_m_s(diameter_m, slope, fill, roughness)


def drain_capacity_m3_s(
    diameter_m: ArrayLike, slope: ArrayLike, roughness: ArrayLike = 0.011
) -> FloatArray:
    """Return the design capacity of a condensate line: half full.

    Parameters
    ----------
    diameter_m : array_like
        Bore [m], 0.001 to 10.
    slope : array_like
        Fall per length [m/m], 0 to 1; none for a level line.
    roughness : array_like, optional
        Manning's n, 0.005 to 0.05.

    Returns
    -------
    FloatArray
        Flow [m3/s].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: [nspc-2009] appendix K: horizontal waste lines are sized half full.
    """
    return drain_flow_m3_s(diameter_m, slope, 0.5, roughness)


def has_enough_slope(slope: ArrayLike) -> np.ndarray:
    """Say whether horizontal condensate piping falls enough.

    Parameters
    ----------
    slope : array_like
        Fall per length [m/m], -1 to 1; negative when it falls back to the pan.

    Returns
    -------
    numpy.ndarray of bool
        Whether it falls at least 1/8 in per ft.

    Raises
    ------
    OutOfRange
        If the slope is outside its span.

    Source: International Mechanical Code 307.2.1; check local amendments.
    """
    return within("slope", slope, -1.0, 1.0, "m/m") >= LEAST_SLOPE * (1.0 - 1e-9)


def least_nominal_size_m(cooling_w: ArrayLike) -> FloatArray:
    """Return the least nominal pipe size for condensate, several units on one line included.

    Parameters
    ----------
    cooling_w : array_like
        Total cooling capacity drained by the line [W], 0 to 250 tons.

    Returns
    -------
    FloatArray
        Nominal size [m]; it must not be smaller than the pan's outlet either.

    Raises
    ------
    OutOfRange
        If the capacity is outside the table.

    Source: International Mechanical Code table 307.2.2; check local amendments.
    """
    watts = within("cooling capacity", cooling_w, 0.0, 250.0 * _TON_W * (1 + 1e-9), "W")
    limits = np.array([tons for tons, _ in _LEAST_SIZES]) * _TON_W * (1 + 1e-9)
    sizes = np.array([inches for _, inches in _LEAST_SIZES]) * _INCH_M
    return sizes[np.searchsorted(limits, watts)]
