"""The refrigerant circuit of a plant: its nameplate, what departs from it, and what it then reads.

The cycle model answers for points that run; this module answers besides for a compressor that does
not pump and for a circuit that is all but empty, for which there is no steady cycle.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from catchpan.physics.cycle.circuit import LineSet
from catchpan.physics.cycle.design import TON_W, Design
from catchpan.physics.cycle.rating import EER_B_OVER_A, Rating, cop_b_from_seer, fit_unit
from catchpan.physics.cycle.solve import operating_points
from catchpan.physics.cycle.unit import Departures, Unit, Weather
from catchpan.physics.moist_air import (
    HIGHEST_K,
    STANDARD_PRESSURE_PA,
    humidity_ratio_from_relative_humidity,
    humidity_ratio_from_wet_bulb,
)
from catchpan.physics.moist_air_bulb import wet_bulb_inside_k, wet_bulb_k
from catchpan.physics.refrigerant.shelf import refrigerant_table

Array = NDArray[np.float64]

DEPARTURES: Final = (
    "charge",
    "indoor_air",
    "outdoor_air",
    "indoor_conductance",
    "outdoor_conductance",
    "restriction",
    "metering_area",
    "stuck_opening",
    "foreign_gas",
    "compressor",
    "reversing_leak",
)
"""What of a circuit may depart from order, column by column; a stuck opening of 0 means none."""

HEALTHY: Final = (1.0, 1.0, 1.0, 1.0, 1.0, 0.0, 1.0, 0.0, 0.0, 1.0, 0.0)

LEAST: Final = (0.4, 0.1, 0.1, 0.05, 0.05, 0.0, 0.02, 0.0, 0.0, 0.05, 0.0)
MOST: Final = (2.0, 2.0, 2.0, 2.0, 2.0, 20.0, 5.0, 1.0, 3.0, 1.0, 0.5)
"""Spans within those of the cycle model: what lies outside is held at the border (air, valves) or
carried on from there (charge)."""

EMPTY_CHARGE: Final = 0.1
"""Share of the charge at which nothing circulates any more (assumed)."""

INSTRUMENTS: Final = (
    "evaporating_k",
    "condensing_k",
    "suction_line_k",
    "liquid_line_k",
    "discharge_k",
    "indoor_leaving_k",
    "outdoor_leaving_k",
    "compressor_a",
    "condensate_kg_s",
    "liquid_drop_k",
    "indoor_leaving_wet_bulb_k",
)
"""What instruments tell of the circuit."""

READINGS: Final = (*INSTRUMENTS, "surface_k", "net_w", "sensible_w")
"""What is kept of an operating point, column by column, as the cycle model names it."""

COLUMN: Final = {name: j for j, name in enumerate(READINGS)}

DECIMALS: Final = 4
"""Departures are compared to so many decimals: what differs by less is one operating point."""

EMPTY_FALL_K: Final = 20.0
"""How much further the evaporating temperature falls from the least charge the cycle model solves
to none (assumed; the gauge then shows a vacuum or nearly)."""


@dataclass(frozen=True)
class Nameplate:
    """What an outdoor unit's plate says, as far as it is known.

    Parameters
    ----------
    refrigerant : str
        As printed.
    tons : float
        Nominal cooling [tons].
    seer : float
        Seasonal efficiency, SEER or SEER2 [Btu/Wh].
    is_valve : bool
        Expansion valve, or fixed orifice, at the indoor coil.
    heat_pump : bool
        Whether it heats as well.
    charge_kg : float
        Factory charge [kg]; 0 for the usual one of its size.
    line_m : float
        Length of the line set [m].
    """

    refrigerant: str = "R-410A"
    tons: float = 3.0
    seer: float = 14.0
    is_valve: bool = True
    heat_pump: bool = False
    charge_kg: float = 0.0
    line_m: float = 7.62


CHARGE_PER_SIZE_KG: Final = {False: 1.0, True: 1.15}
"""Usual factory charge by ton, air conditioner and heat pump (assumed, 2.2 to 2.5 lb a ton)."""

NET_SHARE: Final = 0.97
"""Net cooling at test A over the nominal tons (assumed)."""

HEATING_COP: Final = 3.5
"""Efficiency of a heat pump at test H1 where the plate does not say (assumed)."""


@lru_cache(maxsize=32)
def unit_of(plate: Nameplate) -> Unit:
    """Return the unit that reproduces its ratings; fitted once for each nameplate.

    Parameters
    ----------
    plate : Nameplate
        What is known of it.

    Raises
    ------
    UnknownName
        For a refrigerant there are no tables of.
    RatingFitError, DesignError
        Where no unit of sensible make has these ratings.
    """
    capacity = plate.tons * TON_W * NET_SHARE
    cop_b = cop_b_from_seer(plate.seer)
    rating = Rating(
        capacity,
        cop_b / EER_B_OVER_A,
        cop_b=cop_b,
        heating_w=capacity if plate.heat_pump else None,
        heating_cop=HEATING_COP if plate.heat_pump else None,
    )
    charge = plate.charge_kg or plate.tons * CHARGE_PER_SIZE_KG[plate.heat_pump]
    return fit_unit(
        refrigerant_table(plate.refrigerant),
        rating,
        Design(charge, is_valve=plate.is_valve),
        lines=LineSet(plate.line_m),
        of_map=refrigerant_table("R-410A"),
    )


@dataclass(frozen=True)
class Air:
    """The air round a unit; numbers, or arrays that broadcast against the points.

    Parameters
    ----------
    outdoor_k, indoor_k, indoor_wet_bulb_k : float or array
        Outdoor air, return air and its wet bulb [K].
    """

    outdoor_k: float | Array
    indoor_k: float | Array
    indoor_wet_bulb_k: float | Array


@lru_cache(maxsize=256)
def air_of(outdoor_c: float, indoor_c: float, indoor_rh: float) -> Air:
    """Return the air of a place from temperatures [degC] and relative humidity (0 to 1)."""
    indoor = np.asarray(indoor_c + 273.15)
    share = min(max(indoor_rh, 0.05), 1.0)
    ratio = humidity_ratio_from_relative_humidity(indoor, share, 101325.0)
    return Air(outdoor_c + 273.15, float(indoor), float(wet_bulb_k(indoor, ratio, 101325.0)))


def running(plate: Nameplate, air: Air, rows: Array, *, heating: bool) -> Array:
    """Return what running circuits read.

    Parameters
    ----------
    plate : Nameplate
        The unit.
    air : Air
        Broadcasts against the rows.
    rows : array, shape (n, departures)
        In the order of ``DEPARTURES``; held within the spans of the cycle model.
    heating : bool
        The mode.

    Returns
    -------
    array, shape (n, readings)
        In the order of ``READINGS``; powers are positive towards what the mode wants.
    """
    held = np.clip(rows, LEAST, MOST)
    eased, beyond_k = _within_tables(held, air, heating=heating)
    named = dict(zip(DEPARTURES, held.T, strict=True))
    condenser = "indoor_air" if heating else "outdoor_air"
    named[condenser] = np.maximum(named[condenser], LEAST_CONDENSER_AIR[heating])
    stuck = named["stuck_opening"]
    named["stuck_opening"] = np.where(stuck > 0.0, np.maximum(stuck, 0.01), np.nan)
    weather = Weather(eased.indoor_k, eased.indoor_wet_bulb_k, eased.outdoor_k)
    found = operating_points(unit_of(plate), weather, Departures(**named), heating=heating)
    table = np.stack([getattr(found, name) for name in READINGS], axis=1)
    table[:, [COLUMN[name] for name in _CARRIED[heating]]] += beyond_k[:, None]
    return _nearly_empty(table, rows[:, 0], air)


LEAST_CONDENSER_AIR: Final = {False: 0.15, True: 0.25}
"""Below this share of a condenser's air, cooling and heating, no steady state lies below the end of
the property tables: the pressure climbs until a switch or an overload ends it."""

USUAL_RISE_K: Final = {False: 11.0, True: 20.0}
AIR_POWER, CONDUCTANCE_POWER = -0.7, -0.25
OVERCHARGE_K, FOREIGN_GAS_K = 28.0, 4.0
HOTTEST_K: Final = 339.0
"""Condensing over air temperature, how it goes with the condenser's air and conductance and with
charge and foreign gas in excess, and the highest condensing temperature left to the cycle model:
read off its own solutions, to within a few kelvin."""

_CARRIED: Final = {
    False: ("condensing_k", "liquid_line_k", "discharge_k", "outdoor_leaving_k"),
    True: ("condensing_k", "liquid_line_k", "discharge_k", "indoor_leaving_k"),
}


def _within_tables(rows: Array, air: Air, *, heating: bool) -> tuple[Air, Array]:
    """Return air in which each circuit stays within the property tables, and what it is short of.

    A point beyond them is solved in air so much cooler and its hot side carried on by as much: it
    lies far above any switch's setting, and how far does not matter.
    """
    named = dict(zip(DEPARTURES, rows.T, strict=True))
    side = "indoor" if heating else "outdoor"
    flow = np.maximum(named[f"{side}_air"], LEAST_CONDENSER_AIR[heating])
    rise = USUAL_RISE_K[heating] * flow**AIR_POWER
    rise = rise * named[f"{side}_conductance"] ** CONDUCTANCE_POWER
    rise += OVERCHARGE_K * np.maximum(named["charge"] - 1.0, 0.0)
    rise += FOREIGN_GAS_K * named["foreign_gas"]
    entering = air.indoor_k if heating else air.outdoor_k
    beyond_k = np.maximum(entering + rise - HOTTEST_K, 0.0)
    if heating:
        wet = np.asarray(air.indoor_wet_bulb_k) - beyond_k
        return Air(air.outdoor_k, entering - beyond_k, wet), beyond_k
    return Air(entering - beyond_k, air.indoor_k, air.indoor_wet_bulb_k), beyond_k


def _nearly_empty(table: Array, charge: Array, air: Air) -> Array:
    """Carry the readings on from the least charge the model solves to none (assumed)."""
    left = np.clip((charge - EMPTY_CHARGE) / (LEAST[0] - EMPTY_CHARGE), 0.0, 1.0)
    if (left >= 1.0).all():
        return table
    at_rest = standing(air, len(table))
    mixed = left[:, None] * table + (1.0 - left[:, None]) * at_rest
    fallen = table[:, 0] - EMPTY_FALL_K * (1.0 - left)
    mixed[:, COLUMN["evaporating_k"]] = np.maximum(fallen, 215.0)
    amps = COLUMN["compressor_a"]
    mixed[:, amps] = table[:, amps] * (0.75 + 0.25 * left)
    return np.asarray(mixed)


def standing(air: Air, count: int) -> Array:
    """Return what gauges and thermometers read on a circuit at rest, shape (count, readings).

    Pressures have equalised at saturation of the colder of the two coils' air, lines and coils are
    as warm as what surrounds them (physics of a closed vessel; the time it takes is left out).
    """
    cold = np.minimum(air.outdoor_k, air.indoor_k)
    table = np.zeros((count, len(READINGS)))
    for name in ("evaporating_k", "condensing_k"):
        table[:, COLUMN[name]] = cold
    for name in ("suction_line_k", "liquid_line_k", "discharge_k", "outdoor_leaving_k"):
        table[:, COLUMN[name]] = air.outdoor_k
    for name in ("indoor_leaving_k", "surface_k"):
        table[:, COLUMN[name]] = air.indoor_k
    table[:, COLUMN["indoor_leaving_wet_bulb_k"]] = air.indoor_wet_bulb_k
    return table


def warmed_wet_bulb_k(dry_k: Array, wet_k: Array, added_k: Array | float) -> Array:
    """Return the wet bulb of supply air once furnace or strips have warmed it by so much [K].

    Air hotter than moist-air tables reach (hardly any air over a hot coil) is taken at their end.

    Source: its humidity ratio stays; at sea level.
    """
    dry = np.minimum(dry_k, HIGHEST_K)
    ratio = humidity_ratio_from_wet_bulb(dry, np.minimum(wet_k, dry), STANDARD_PRESSURE_PA)
    warmed = np.minimum(dry + added_k, HIGHEST_K)
    return np.asarray(wet_bulb_inside_k(warmed, ratio, np.asarray(STANDARD_PRESSURE_PA)))


class Memory:
    """Operating points already solved for one unit, mode and weather."""

    def __init__(self, plate: Nameplate, air: Air, *, heating: bool) -> None:
        self._plate, self._air, self._heating = plate, air, heating
        self._known: dict[bytes, Array] = {}

    def read(self, rows: Array) -> Array:
        """Return the readings of each row; what was met before is not solved again."""
        distinct, place = np.unique(np.round(rows, DECIMALS), axis=0, return_inverse=True)
        keys = [row.tobytes() for row in distinct]
        fresh = [i for i, key in enumerate(keys) if key not in self._known]
        if fresh:
            solved = running(self._plate, self._air, distinct[fresh], heating=self._heating)
            self._known |= {keys[i]: row for i, row in zip(fresh, solved, strict=True)}
        return np.stack([self._known[key] for key in keys])[place.ravel()]


@lru_cache(maxsize=64)
def memory(plate: Nameplate, air: Air, *, heating: bool) -> Memory:
    """Return the memory of a unit in one mode and weather."""
    return Memory(plate, air, heating=heating)
