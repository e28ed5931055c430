"""Which limit an operating point meets, and how to say it."""

from enum import IntFlag
from typing import Final

import numpy as np
from numpy.typing import NDArray

from catchpan.physics.cycle.march import Marched
from catchpan.units.span import FloatArray

TRIP_BUBBLE_K: Final = 338.65
"""Bubble temperature at which high-pressure switches open: 610 psig R-410A, 400 R-22 (assumed)."""

CUT_OUT_DEW_K: Final = {False: 255.15, True: 233.15}
"""Dew temperature at which low-pressure switches open, cooling and heating (assumed)."""

HOT_DISCHARGE_K: Final = 388.15
"""Discharge-line temperature above which oil suffers (240 degF; common practice, no source)."""

FREEZING_K: Final = 273.15


class Limit(IntFlag):
    """Limits of a steady operating point; several may be met at once."""

    NONE = 0
    FLOODBACK = 1
    NO_SUBCOOLING = 2
    FREEZE = 4
    HIGH_PRESSURE = 8
    LOW_PRESSURE = 16
    HOT_DISCHARGE = 32
    VALVE_WIDE_OPEN = 64
    BEYOND_TABLES = 128
    NOT_CLOSED = 256


FROSTS: Final = "outdoor coil below freezing: it frosts; read ten minutes or more after a defrost"

_WORDS: Final = {
    Limit.FLOODBACK: "liquid comes back to the compressor",
    Limit.NO_SUBCOOLING: "no solid column of liquid: bubbles in the liquid line",
    Limit.FREEZE: "coil surface below freezing: it ices, readings will not stay steady",
    Limit.HIGH_PRESSURE: "the high-pressure switch would open",
    Limit.LOW_PRESSURE: "the low-pressure switch, if there is one, would open",
    Limit.HOT_DISCHARGE: "discharge line hotter than oil endures",
    Limit.VALVE_WIDE_OPEN: "the expansion valve is wide open and no longer in control",
    Limit.BEYOND_TABLES: "no steady state below the end of the property tables",
    Limit.NOT_CLOSED: "no steady state found, it may hunt; the values are the last try",
}


def limit_words(limits: int, *, heating: bool = False) -> list[str]:
    """Return what the limits of one point mean, in plain words.

    Parameters
    ----------
    limits : int
        Flags of `Limit`, added up.
    heating : bool
        The mode: a heat pump's outdoor coil frosts as a matter of course.

    Returns
    -------
    list of str
        One clause a limit; empty when none is met.

    Examples
    --------
    >>> limit_words(Limit.HIGH_PRESSURE)
    ['the high-pressure switch would open']
    """
    words = {**_WORDS, Limit.FREEZE: FROSTS} if heating else _WORDS
    return [said for limit, said in words.items() if limits & limit]


def limits_of(
    state: Marched,
    temperatures_k: tuple[FloatArray, FloatArray],
    left_open: NDArray[np.bool_],
    *,
    is_valve: bool,
    heating: bool,
) -> NDArray[np.int64]:
    """Return the flags of every point.

    Parameters
    ----------
    state : Marched
        The circuit.
    temperatures_k : tuple of FloatArray
        Evaporator surface and discharge line [K].
    left_open : NDArray[bool]
        Whether the search did not settle.
    is_valve : bool
        Whether an expansion valve meters.
    heating : bool
        The mode.

    Returns
    -------
    NDArray[int64]
        Sums of `Limit`.
    """
    surface_k, discharge_k = temperatures_k
    wet = state.suction.quality(state.suction_j_kg) < 1.0 - 1e-6
    at_end = state.condenser.dew_k > state.table_end_k - 1.0
    met = {
        Limit.FLOODBACK: wet,
        Limit.NO_SUBCOOLING: state.inlet.quality > 0.0,
        Limit.FREEZE: surface_k < FREEZING_K,
        Limit.HIGH_PRESSURE: (state.high.bubble_k > TRIP_BUBBLE_K) | (left_open & at_end),
        Limit.LOW_PRESSURE: state.suction.dew_k < CUT_OUT_DEW_K[heating],
        Limit.HOT_DISCHARGE: discharge_k > HOT_DISCHARGE_K,
        Limit.VALVE_WIDE_OPEN: is_valve & (state.opening >= 1.0 - 1e-9),
        Limit.BEYOND_TABLES: left_open & at_end,
        Limit.NOT_CLOSED: left_open & (at_end ^ True),
    }
    return np.asarray(sum(int(flag) * where for flag, where in met.items()), dtype=np.int64)
