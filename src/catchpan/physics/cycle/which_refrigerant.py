"""Which refrigerant a set of pressures and temperatures fits.

Every refrigerant gives the same pressures another saturation temperature. A machine keeps certain
distances whatever is in it: it condenses above one air stream and boils below the other, gas comes
back over its dew point and liquid leaves under its bubble point. The wrong chart breaks them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from catchpan.physics.cycle.plausible import Readings
from catchpan.physics.refrigerant.table import RefrigerantTable

WRONG_MISFIT: Final = 16.0
"""By how much a refrigerant has to fit better than the chosen one to be named, so that a faulty
machine with the right refrigerant seldom sets it off (assumed, tested)."""

ALIKE_MISFIT: Final = 4.0
"""Refrigerants that fit within this of the best are not told apart."""

OUTSIDE_MISFIT: Final = 60.0


@dataclass(frozen=True)
class _Distance:
    """How a distance between two temperatures is spread over machines, sound or not [K]."""

    usual: float
    below: float
    above: float

    def misfit(self, value: float) -> float:
        """Return the square of how many spreads the value is from the usual."""
        away = value - self.usual
        return float((away / (self.below if away < 0.0 else self.above)) ** 2)


_SUPERHEAT: Final = _Distance(6.0, 4.0, 9.0)
_SUBCOOLING: Final = _Distance(5.0, 3.5, 6.0)
_CONDENSING: Final = _Distance(11.0, 4.0, 8.0)
_BOILING_COOLING: Final = _Distance(18.0, 5.0, 7.0)
_BOILING_HEATING: Final = _Distance(9.0, 3.5, 7.0)
"""Ours, assumed: wide enough for the faults that technicians meet."""


@dataclass(frozen=True)
class Fits:
    """How well each refrigerant fits.

    Parameters
    ----------
    misfits : dict of str to float
        By name; smaller is better. Half a difference of two is the logarithm of their odds.
    alike : tuple of str
        The best, and those that cannot be told from it, best first.
    """

    misfits: dict[str, float]
    alike: tuple[str, ...]

    def speaks_against(self, chosen: str) -> bool:
        """Say whether another refrigerant fits so much better that the choice is in doubt."""
        return self.misfits[chosen] - min(self.misfits.values()) > WRONG_MISFIT


def fits(readings: Readings, tables: Mapping[str, RefrigerantTable]) -> Fits | None:
    """Return how well each of several refrigerants fits.

    Parameters
    ----------
    readings : Readings
        Of a running system.
    tables : mapping of str to RefrigerantTable
        The candidates, by name.

    Returns
    -------
    Fits or None
        None when there is no pressure, or no temperature to hold against it.

    Notes
    -----
    R-410A, R-32 and R-454B have nearly the same pressures; they often come out alike.

    Source: ours.
    """
    if not _enough(readings):
        return None
    misfits = {name: _misfit(readings, table) for name, table in tables.items()}
    best = min(misfits.values())
    ranked = sorted(misfits, key=lambda name: misfits[name])
    return Fits(misfits, tuple(name for name in ranked if misfits[name] - best <= ALIKE_MISFIT))


def _enough(r: Readings) -> bool:
    low = r.suction_pa is not None and (r.suction_line_k, r.evaporator_air_k) != (None, None)
    high = r.liquid_pa is not None and (r.liquid_line_k, r.condenser_air_k) != (None, None)
    return low or high


def _misfit(r: Readings, table: RefrigerantTable) -> float:
    for pressure in (r.suction_pa, r.liquid_pa):
        if pressure is not None and not _within(pressure, table):
            return OUTSIDE_MISFIT
    dew, bubble = _dew_k(r.suction_pa, table), _bubble_k(r.liquid_pa, table)
    boiling = _BOILING_HEATING if r.heating else _BOILING_COOLING
    terms = (
        (_SUPERHEAT, r.suction_line_k, dew),
        (boiling, r.evaporator_air_k, dew),
        (_SUBCOOLING, bubble, r.liquid_line_k),
        (_CONDENSING, bubble, r.condenser_air_k),
    )
    return sum(
        distance.misfit(one - other)
        for distance, one, other in terms
        if one is not None and other is not None
    )


def _within(pressure_pa: float, table: RefrigerantTable) -> bool:
    return table.lowest_pressure_pa <= pressure_pa <= table.highest_pressure_pa


def _dew_k(pressure_pa: float | None, table: RefrigerantTable) -> float | None:
    if pressure_pa is None:
        return None
    return float(table.saturation(np.asarray(pressure_pa)).dew_k)


def _bubble_k(pressure_pa: float | None, table: RefrigerantTable) -> float | None:
    if pressure_pa is None:
        return None
    return float(table.saturation(np.asarray(pressure_pa)).bubble_k)
