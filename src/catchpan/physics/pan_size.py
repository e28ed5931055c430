"""How large a pan is or must be, and how long it takes to fill."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from catchpan.units.span import FloatArray, within

_INCH_M: Final = 0.0254


def pan_volume_m3(area_m2: ArrayLike, depth_m: ArrayLike) -> FloatArray:
    """Volume a straight-walled pan holds to a depth.

    Parameters
    ----------
    area_m2 : array_like
        Plan area [m2], 0 to 100.
    depth_m : array_like
        Depth of water [m], 0 to 10.

    Returns
    -------
    FloatArray
        Volume [m3].

    Raises
    ------
    OutOfRange
        If an input is outside its span.
    """
    area = within("plan area", area_m2, 0.0, 100.0, "m2")
    return area * within("depth", depth_m, 0.0, 10.0, "m")


def fill_time_s(
    area_m2: ArrayLike, rise_m: ArrayLike, inflow_m3_s: ArrayLike, outflow_m3_s: ArrayLike = 0.0
) -> FloatArray:
    """Time for the level to rise by a height.

    Parameters
    ----------
    area_m2 : array_like
        Plan area [m2], 0 to 100.
    rise_m : array_like
        Rise of the level [m], 0 to 10.
    inflow_m3_s, outflow_m3_s : array_like
        Water that comes and goes [m3/s], 0 or more.

    Returns
    -------
    FloatArray
        Time [s]; infinite when no more comes than goes.

    Raises
    ------
    OutOfRange
        If an input is outside its span.
    """
    volume = pan_volume_m3(area_m2, rise_m)
    net = within("inflow", inflow_m3_s, 0.0, 1e3, "m3/s") - within(
        "outflow", outflow_m3_s, 0.0, 1e3, "m3/s"
    )
    rising = net > 0
    return np.where(rising, volume, np.inf) / np.where(rising, net, 1.0)


@dataclass(frozen=True)
class AuxiliaryPanSize:
    """Smallest auxiliary pan, in the two readings of "3 inches larger".

    Parameters
    ----------
    length_total_m, width_total_m : float
        When the margin is the whole difference [m].
    length_each_side_m, width_each_side_m : float
        When the margin is meant on each side [m].
    depth_m : float
        Least depth [m].
    """

    length_total_m: float
    width_total_m: float
    length_each_side_m: float
    width_each_side_m: float
    depth_m: float


def auxiliary_pan_size(unit_length_m: float, unit_width_m: float) -> AuxiliaryPanSize:
    """Smallest auxiliary pan for a unit, by both readings of the rule.

    Parameters
    ----------
    unit_length_m, unit_width_m : float
        Outside dimensions of the unit (or coil) above the pan [m], 0.1 to 5.

    Returns
    -------
    AuxiliaryPanSize
        Inside dimensions of the pan.

    Raises
    ------
    OutOfRange
        If a dimension is outside its span.

    Notes
    -----
    At least 1.5 in deep and 3 in larger in length and width. Read plainly that is 3 in in total;
    many inspectors want 3 in on each side. Check local amendments.

    Source: International Residential Code 2018, section M1411.3.1, item 1.
    """
    length = float(within("unit length", unit_length_m, 0.1, 5.0, "m"))
    width = float(within("unit width", unit_width_m, 0.1, 5.0, "m"))
    margin = 3 * _INCH_M
    return AuxiliaryPanSize(
        length + margin, width + margin, length + 2 * margin, width + 2 * margin, 1.5 * _INCH_M
    )
