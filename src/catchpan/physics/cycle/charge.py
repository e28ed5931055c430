"""How much refrigerant a running system holds, part by part."""

from typing import Final

from catchpan.physics.elementwise import clip, log, maximum, minimum
from catchpan.physics.refrigerant.table import Saturation
from catchpan.units.span import FloatArray

FULL_ACCUMULATOR_WETNESS: Final = 0.06
"""Liquid share at the suction while an accumulator is full: what its oil hole bleeds (assumed)."""


def void_fraction(quality: FloatArray, sat: Saturation) -> FloatArray:
    """Return the share of the pipe's cross section that vapour fills.

    Parameters
    ----------
    quality : FloatArray
        Vapour share by mass, 0 to 1.
    sat : Saturation
        Both phases.

    Returns
    -------
    FloatArray
        0 to 1.

    Source: [zivi-1964], slip ratio the cube root of the density ratio.
    """
    c = (sat.vapour_density_kg_m3 / sat.liquid_density_kg_m3) ** (2.0 / 3.0)
    return quality / (quality + c * (1.0 - quality))


def mean_density_kg_m3(one: FloatArray, other: FloatArray | float, sat: Saturation) -> FloatArray:
    """Return the mean density of a two-phase zone heated or cooled evenly.

    Parameters
    ----------
    one, other : FloatArray
        Vapour shares by mass at its ends, 0 to 1, in either order.
    sat : Saturation
        Both phases.

    Returns
    -------
    FloatArray
        Mass over volume [kg/m3].

    Source: [zivi-1964] void fraction, integrated over the quality.
    """
    c = (sat.vapour_density_kg_m3 / sat.liquid_density_kg_m3) ** (2.0 / 3.0)
    low, high = minimum(one, other), maximum(one, other)
    high = maximum(high, low + 1e-4)

    def integral(x: FloatArray) -> FloatArray:
        return x / (1.0 - c) - c / (1.0 - c) ** 2 * log(c + (1.0 - c) * x)

    void = clip((integral(high) - integral(low)) / (high - low), 0.0, 1.0)
    liquid, vapour = sat.liquid_density_kg_m3, sat.vapour_density_kg_m3
    return liquid + void * (vapour - liquid)


def accumulator_kg(volume_m3: float, suction_quality: FloatArray, sat: Saturation) -> FloatArray:
    """Return the liquid that stands in a suction accumulator.

    Parameters
    ----------
    volume_m3 : float
        Its volume; 0 for none.
    suction_quality : FloatArray
        Vapour share of what it lets through; 1 or more while it is empty.
    sat : Saturation
        Both phases at the suction.

    Returns
    -------
    FloatArray
        Mass [kg].

    Notes
    -----
    In steady state the accumulator passes on what it receives: vapour, and through its oil hole
    liquid in proportion to the root of the level. So a standing level and slightly wet gas belong
    together. Ours.
    """
    wet = maximum(1.0 - suction_quality, 0.0) / FULL_ACCUMULATOR_WETNESS
    return volume_m3 * sat.liquid_density_kg_m3 * minimum(wet, 1.0) ** 2
