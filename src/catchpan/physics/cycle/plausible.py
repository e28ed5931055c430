"""Readings that cannot be, and the mistake that most likely made them.

Nothing here knows the unit: only that heat flows from warm to cold, that a pipe with liquid and
vapour in it is at its saturation temperature, and that a wet bulb is no warmer than a dry one. A
machine with something wrong still obeys this; a swapped hose or a loose clamp does not.
"""

from collections.abc import Iterator
from dataclasses import dataclass, fields
from enum import Enum
from typing import Final

import numpy as np

from catchpan.physics.cycle.verdict import LIQUID_GAUGE_PA, SUCTION_GAUGE_PA
from catchpan.physics.refrigerant.table import RefrigerantTable
from catchpan.units.span import within

SLACK_K: Final = 2.0
"""Two thermometers may differ by this much and still be right (1.3 degF each, and a little)."""

BULB_SLACK_K: Final = 0.5
"""Likewise for the two bulbs of one instrument (assumed)."""

SAME_PRESSURE_PA: Final = 70e3
"""Gauges that differ by less than both their errors (3.5 and 7 psi) show one pressure."""

MOST_SUBCOOLING_K: Final = 30.0
"""More subcooling than a coil gives (54 degF; assumed): in the model only a third too much
refrigerant together with half the air goes beyond it."""

MOST_BLOWER_RISE_K: Final = 2.5
"""How much the blower alone may warm the supply air (assumed)."""


class Mistake(Enum):
    """What was likely done wrong, or what else would explain it."""

    GAUGES_SWAPPED = "the hoses are on each other's ports"
    NOT_PUMPING = "the compressor does not run or does not pump, or both hoses are on one side"
    WRONG_REFRIGERANT = "another refrigerant was chosen than the one in the system"
    WRONG_UNIT = "the number was entered in another unit, or gauge for absolute pressure"
    WRONG_MODE = "the system runs in the other mode"
    CLAMPS_SWAPPED = "the two clamps are on each other's pipes"
    OFF_THE_PIPE = "the clamp is off the pipe, on the wrong pipe, or not insulated"
    BULBS_SWAPPED = "dry and wet bulb are swapped"
    PLACES_SWAPPED = "return and supply are swapped"
    DIFFERENT_AIR = "the air was not measured where it enters the coil"
    GAUGE_OFF = "the gauge is off, or the hose's core is not depressed"
    FLASHING = "no mistake: a drier or valve before the clamp lets the liquid flash"
    OVERFULL = "no mistake: far too much refrigerant"
    HOT_GAS = "no mistake: hot gas leaks through the reversing valve"


@dataclass(frozen=True)
class Readings:
    """What was read at one moment on a running system; None where nothing was.

    Parameters
    ----------
    suction_pa, liquid_pa : float or None
        Pressures at the suction and the liquid port [Pa absolute].
    suction_line_k, liquid_line_k, discharge_k : float or None
        Line temperatures [K].
    return_k, return_wet_bulb_k, supply_k, supply_wet_bulb_k : float or None
        Air before and behind the indoor coil [K].
    outdoor_k : float or None
        Air entering the outdoor coil [K].
    heating : bool
        The mode.
    """

    suction_pa: float | None = None
    liquid_pa: float | None = None
    suction_line_k: float | None = None
    liquid_line_k: float | None = None
    discharge_k: float | None = None
    return_k: float | None = None
    return_wet_bulb_k: float | None = None
    supply_k: float | None = None
    supply_wet_bulb_k: float | None = None
    outdoor_k: float | None = None
    heating: bool = False

    @property
    def evaporator_air_k(self) -> float | None:
        """Air that gives the heat [K]."""
        return self.outdoor_k if self.heating else self.return_k

    @property
    def condenser_air_k(self) -> float | None:
        """Air that takes the heat [K]."""
        return self.return_k if self.heating else self.outdoor_k


@dataclass(frozen=True)
class Doubt:
    """One thing about a set of readings that cannot be.

    Parameters
    ----------
    what : str
        What cannot be, as a clause.
    readings : tuple of str
        The fields of `Readings` it is about.
    mistakes : tuple of Mistake
        Likely mistakes, likeliest first.
    beyond : float
        How far past possible it is [K, or Pa for pressures].
    """

    what: str
    readings: tuple[str, ...]
    mistakes: tuple[Mistake, ...]
    beyond: float


def doubts(readings: Readings, table: RefrigerantTable | None = None) -> list[Doubt]:
    """Question a set of readings.

    Parameters
    ----------
    readings : Readings
        Any part of them.
    table : RefrigerantTable, optional
        The refrigerant as chosen; without it only what holds for any refrigerant is looked at.

    Returns
    -------
    list of Doubt
        Empty when nothing is impossible.

    Raises
    ------
    OutOfRange
        If a reading is no number or no temperature or pressure at all.

    Examples
    --------
    >>> [doubt.what for doubt in doubts(Readings(return_k=297.0, return_wet_bulb_k=299.0))]
    ['return wet bulb above dry bulb']

    Source: second law, and the definition of saturation; slacks [cec-ra3.2] accuracies.
    """
    for each in fields(readings):
        value = getattr(readings, each.name)
        if each.name != "heating" and value is not None:
            _checked(each.name, value)
    found = [*_of_air(readings), *_of_lines(readings), *_of_gauges(readings)]
    if table is not None:
        found += [*_of_low_side(readings, table), *_of_high_side(readings, table)]
    return found


def _checked(name: str, value: float) -> None:
    words = name.rsplit("_", 1)[0].replace("_", " ")
    if name.endswith("_pa"):
        within(f"{words} pressure", value, 0.0, 1e8, "Pa")
    else:
        within(f"{words} temperature", value, 150.0, 500.0, "K")


def _above(one: float | None, other: float | None, slack: float) -> float:
    """Return how far one reading is above another beyond the slack; 0 if either is missing."""
    if one is None or other is None:
        return 0.0
    return max(one - other - slack, 0.0)


def _of_air(r: Readings) -> Iterator[Doubt]:
    bulbs = (Mistake.BULBS_SWAPPED, Mistake.DIFFERENT_AIR)
    for place in ("return", "supply"):
        wet, dry = f"{place}_wet_bulb_k", f"{place}_k"
        over = _above(getattr(r, wet), getattr(r, dry), BULB_SLACK_K)
        if over:
            yield Doubt(f"{place} wet bulb above dry bulb", (wet, dry), bulbs, over)
    warm, cool = ("return", "supply") if r.heating else ("supply", "return")
    over = _above(getattr(r, f"{warm}_k"), getattr(r, f"{cool}_k"), SLACK_K + MOST_BLOWER_RISE_K)
    places = (Mistake.PLACES_SWAPPED, Mistake.WRONG_MODE, Mistake.NOT_PUMPING)
    if over:
        mode = "heating" if r.heating else "cooling"
        what = f"{warm} air warmer than {cool} air in {mode}"
        yield Doubt(what, (f"{warm}_k", f"{cool}_k"), places, over)
    if not r.heating:
        over = _above(r.supply_wet_bulb_k, r.return_wet_bulb_k, SLACK_K)
        if over:
            what = "supply wet bulb above return wet bulb in cooling"
            yield Doubt(what, ("supply_wet_bulb_k", "return_wet_bulb_k"), places, over)


def _of_lines(r: Readings) -> Iterator[Doubt]:
    off = (Mistake.OFF_THE_PIPE, Mistake.CLAMPS_SWAPPED)
    over = _above(r.liquid_line_k, r.discharge_k, SLACK_K)
    if over:
        what = "liquid line warmer than the discharge line"
        yield Doubt(what, ("liquid_line_k", "discharge_k"), off[::-1], over)
    over = _above(r.suction_line_k, r.discharge_k, SLACK_K)
    if over:
        what = "suction line warmer than the discharge line"
        yield Doubt(what, ("suction_line_k", "discharge_k"), off[::-1], over)
    over = _above(r.condenser_air_k, r.liquid_line_k, SLACK_K)
    if over:
        what = "liquid line colder than the air that cools it"
        mistakes = (Mistake.OFF_THE_PIPE, Mistake.FLASHING, Mistake.DIFFERENT_AIR)
        yield Doubt(what, ("liquid_line_k", _condenser_air(r)), mistakes, over)
    if r.evaporator_air_k is not None and r.outdoor_k is not None:
        over = _above(r.suction_line_k, max(r.evaporator_air_k, r.outdoor_k), SLACK_K)
        if over:
            what = "suction line warmer than any air round it"
            mistakes = (Mistake.OFF_THE_PIPE, Mistake.CLAMPS_SWAPPED, Mistake.HOT_GAS)
            yield Doubt(what, ("suction_line_k",), mistakes, over)


def _of_gauges(r: Readings) -> Iterator[Doubt]:
    if r.suction_pa is None or r.liquid_pa is None:
        return
    names = ("suction_pa", "liquid_pa")
    over = r.suction_pa - r.liquid_pa
    if over > SAME_PRESSURE_PA:
        mistakes = (Mistake.GAUGES_SWAPPED, Mistake.GAUGE_OFF)
        yield Doubt("suction pressure above liquid pressure", names, mistakes, over)
    elif over > -SAME_PRESSURE_PA:
        mistakes = (Mistake.NOT_PUMPING, Mistake.GAUGE_OFF)
        what = "suction and liquid pressure are the same on a running system"
        yield Doubt(what, names, mistakes, SAME_PRESSURE_PA + over)


def _of_low_side(r: Readings, table: RefrigerantTable) -> Iterator[Doubt]:
    if r.suction_pa is None:
        return
    mistakes: tuple[Mistake, ...]
    outside = _outside(r.suction_pa, table)
    if outside:
        what = f"suction pressure at which no {table.fluid.name} system runs"
        mistakes = (Mistake.WRONG_UNIT, Mistake.WRONG_REFRIGERANT, Mistake.GAUGE_OFF)
        yield Doubt(what, ("suction_pa",), mistakes, outside)
        return
    lowest = max(r.suction_pa - SUCTION_GAUGE_PA, table.lowest_pressure_pa)
    dew = float(table.saturation(np.asarray(lowest)).dew_k)
    over = _above(dew, r.suction_line_k, SLACK_K)
    if over:
        what = "suction line colder than the refrigerant boils at that pressure"
        mistakes = (Mistake.WRONG_REFRIGERANT, Mistake.GAUGE_OFF, Mistake.OFF_THE_PIPE)
        yield Doubt(what, ("suction_line_k", "suction_pa"), mistakes, over)
    over = _above(dew, r.evaporator_air_k, SLACK_K)
    if over:
        what = "refrigerant boils warmer than the air that heats it"
        mistakes = (*_equalised(r), Mistake.WRONG_REFRIGERANT, Mistake.GAUGES_SWAPPED)
        yield Doubt(what, ("suction_pa", _evaporator_air(r)), mistakes, over)


def _of_high_side(r: Readings, table: RefrigerantTable) -> Iterator[Doubt]:
    if r.liquid_pa is None:
        return
    mistakes: tuple[Mistake, ...]
    outside = _outside(r.liquid_pa, table)
    if outside:
        what = f"liquid pressure at which no {table.fluid.name} system runs"
        mistakes = (Mistake.WRONG_REFRIGERANT, Mistake.WRONG_UNIT, Mistake.GAUGE_OFF)
        yield Doubt(what, ("liquid_pa",), mistakes, outside)
        return
    lowest = max(r.liquid_pa - LIQUID_GAUGE_PA, table.lowest_pressure_pa)
    highest = min(r.liquid_pa + LIQUID_GAUGE_PA, table.highest_pressure_pa)
    bubble = float(table.saturation(np.asarray(lowest)).bubble_k)
    dew = float(table.saturation(np.asarray(highest)).dew_k)
    wrong = (*_equalised(r), Mistake.WRONG_REFRIGERANT)
    over = _above(r.condenser_air_k, dew, SLACK_K)
    if over:
        what = "refrigerant condenses colder than the air that cools it"
        mistakes = (*wrong, Mistake.GAUGES_SWAPPED, Mistake.GAUGE_OFF)
        yield Doubt(what, ("liquid_pa", _condenser_air(r)), mistakes, over)
    over = _above(r.liquid_line_k, dew, SLACK_K)
    if over:
        what = "liquid line warmer than the refrigerant condenses at that pressure"
        mistakes = (*wrong, Mistake.GAUGE_OFF, Mistake.OFF_THE_PIPE)
        yield Doubt(what, ("liquid_line_k", "liquid_pa"), mistakes, over)
    over = _above(bubble, r.liquid_line_k, MOST_SUBCOOLING_K)
    if over:
        what = "more subcooling than a coil gives"
        mistakes = (Mistake.OFF_THE_PIPE, Mistake.WRONG_REFRIGERANT, Mistake.GAUGE_OFF)
        mistakes = (*mistakes, Mistake.OVERFULL)
        yield Doubt(what, ("liquid_line_k", "liquid_pa"), mistakes, over)
    over = _above(bubble, r.discharge_k, SLACK_K)
    if over:
        what = "discharge line colder than the refrigerant condenses at that pressure"
        mistakes = (Mistake.OFF_THE_PIPE, Mistake.WRONG_REFRIGERANT)
        yield Doubt(what, ("discharge_k", "liquid_pa"), mistakes, over)


def _outside(pressure_pa: float, table: RefrigerantTable) -> float:
    under = table.lowest_pressure_pa - pressure_pa
    return max(under, pressure_pa - table.highest_pressure_pa, 0.0)


def _equalised(r: Readings) -> tuple[Mistake, ...]:
    """Return that nothing is pumped, if both pressures are known and near each other."""
    if r.suction_pa is None or r.liquid_pa is None or r.liquid_pa > 1.3 * r.suction_pa:
        return ()
    return (Mistake.NOT_PUMPING,)


def _condenser_air(r: Readings) -> str:
    return "return_k" if r.heating else "outdoor_k"


def _evaporator_air(r: Readings) -> str:
    return "outdoor_k" if r.heating else "return_k"
