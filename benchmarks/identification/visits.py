"""Simulated visits: units of many makes, each installation a little off, one fault or none.

Nothing here uses the belief, the catalog's degrees or its panel. Every spread is assumed.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from catchpan.physics.cycle.circuit import LineSet
from catchpan.physics.cycle.design import TON_W, Design, DesignError
from catchpan.physics.cycle.limits import CUT_OUT_DEW_K, TRIP_BUBBLE_K, Limit
from catchpan.physics.cycle.rating import (
    EER_B_OVER_A,
    Rating,
    RatingFitError,
    cop_b_from_seer,
    fit_unit,
)
from catchpan.physics.cycle.solve import OperatingPoints, operating_points
from catchpan.physics.cycle.unit import Departures, Unit, Weather
from catchpan.physics.moist_air import humidity_ratio_from_relative_humidity
from catchpan.physics.moist_air_bulb import wet_bulb_k
from catchpan.physics.refrigerant.shelf import refrigerant_table

Array = NDArray[np.float64]
Random = np.random.Generator

PSI: Final = 6894.757

REFRIGERANTS: Final = {
    "r410a": ("R-410A", 0.6, (13.0, 16.0)),
    "r22": ("R-22", 0.2, (10.0, 12.5)),
    "r32": ("R-32", 0.1, (14.5, 16.5)),
    "r454b": ("R-454B", 0.1, (14.5, 16.5)),
}
"""By the catalog's option: the name, its share of the units, the span of their SEER."""

TONS: Final = {"two": 2.0, "three": 3.0, "four": 4.0, "five": 5.0}

SOUND: Final = "no fault"
CAUSES: Final = (
    SOUND,
    "low charge",
    "overcharge",
    "liquid line restricted",
    "device starves",
    "device overfeeds",
    "air in the circuit",
    "compressor valves",
    "outdoor coil or air",
    "indoor air low",
)


@dataclass(frozen=True)
class Make:
    """One make of unit, off its nameplate's model, and what its label says."""

    unit: Unit
    refrigerant: str
    tons: str
    is_valve: bool


@dataclass(frozen=True)
class Visit:
    """What is wrong, what the label says, and what the instruments read [SI, gauge pressures]."""

    cause: str
    make: Make
    readings: Mapping[str, float]


def make(random: Random) -> Make:
    """Return a make: fitted to some nameplate of its span, then bent away from the model."""
    names = list(REFRIGERANTS)
    option = names[random.choice(len(names), p=[r[1] for r in REFRIGERANTS.values()])]
    tons = list(TONS)[random.choice(len(TONS), p=[0.25, 0.4, 0.2, 0.15])]
    return make_of(random, option, tons, is_valve=bool(random.random() < 0.6))


def make_of(random: Random, option: str, tons: str, *, is_valve: bool) -> Make:
    """Return a make with a given label."""
    while True:
        try:
            unit = _bent(_fitted(random, option, TONS[tons], is_valve=is_valve), random)
        except (DesignError, RatingFitError):
            continue
        return Make(unit, option, tons, is_valve)


def _fitted(random: Random, option: str, tons: float, *, is_valve: bool) -> Unit:
    name, _, span = REFRIGERANTS[option]
    cop_b = cop_b_from_seer(random.uniform(*span))
    return fit_unit(
        refrigerant_table(name),
        Rating(tons * TON_W * random.uniform(0.94, 1.0), cop_b / EER_B_OVER_A, cop_b=cop_b),
        Design(
            tons * random.uniform(0.85, 1.2),
            is_valve=is_valve,
            evaporating_k=random.uniform(281.2, 284.2),
            superheat_k=random.uniform(5.0, 8.0),
            subcooling_k=random.uniform(4.5, 7.5),
            indoor_volume_share=random.uniform(0.33, 0.43),
            inside_over_air=2.5,
        ),
        lines=LineSet(random.uniform(5.0, 15.0)),
        of_map=refrigerant_table("R-410A"),
    )


def _bent(unit: Unit, random: Random) -> Unit:
    """Return a unit whose map, coils, volumes and device are not those of its fit."""

    def off(spread: float) -> float:
        return float(np.exp(random.normal(0.0, spread)))

    pump = unit.compressor.scaled(off(0.03), off(0.03))
    pump = replace(
        pump,
        flow_slope=pump.flow_slope + random.normal(0.0, 0.04),
        efficiency_slope=pump.efficiency_slope + random.normal(0.0, 0.06),
    )
    coils = [
        replace(
            coil,
            air_conductance_w_k=coil.air_conductance_w_k * off(0.1),
            refrigerant_conductance_w_k=coil.refrigerant_conductance_w_k * off(0.1),
            volume_m3=coil.volume_m3 * off(0.04),
        )
        for coil in (unit.indoor, unit.outdoor)
    ]
    device = replace(
        unit.metering,
        area_m2=unit.metering.area_m2 * off(0.04),
        static_superheat_k=unit.metering.static_superheat_k + random.uniform(-1.5, 1.5),
    )
    return replace(unit, compressor=pump, indoor=coils[0], outdoor=coils[1], metering=device)


def visits(make_: Make, causes: NDArray[np.int64], random: Random) -> tuple[list[Visit], int]:
    """Return a visit for each cause (positions in `CAUSES`) that leaves the unit running.

    The second number counts those in which it does not: tripped on pressure or not solved.
    """
    count = len(causes)
    given = _installed(random, count)
    for i, cause in enumerate(causes):
        _break(given, i, CAUSES[cause], make_, random)
    weather = _weather(random, count)
    points = operating_points(make_.unit, weather, Departures(**given), heating=False)
    bad = (points.limits & int(Limit.NOT_CLOSED | Limit.BEYOND_TABLES)) > 0
    stops = (points.condensing_k > TRIP_BUBBLE_K) | (points.evaporating_k < CUT_OUT_DEW_K[False])
    read = _read(points, weather, random, count)
    kept = np.flatnonzero(~(bad | stops))
    return [
        Visit(CAUSES[causes[i]], make_, {name: float(v[i]) for name, v in read.items()})
        for i in kept
    ], count - len(kept)


def _installed(random: Random, count: int) -> dict[str, Array]:
    """Return how installations in order depart from what they should be."""
    spread = {
        "charge": 0.04,
        "indoor_air": 0.08,
        "outdoor_air": 0.06,
        "indoor_conductance": 0.08,
        "outdoor_conductance": 0.08,
        "metering_area": 0.02,
    }
    given = {name: np.exp(random.normal(0.0, sd, count)) for name, sd in spread.items()}
    given |= {"restriction": np.abs(random.normal(0.0, 0.03, count))}
    given |= {"foreign_gas": np.zeros(count), "compressor": random.uniform(0.96, 1.0, count)}
    return given | {"stuck_opening": np.full(count, np.nan)}


SEVERITIES: Final = {
    "low charge": ("charge", "times", 0.55, 0.88),
    "overcharge": ("charge", "times", 1.12, 1.45),
    "liquid line restricted": ("restriction", "add", 0.5, 1.7),
    "air in the circuit": ("foreign_gas", "to", 0.2, 1.0),
    "compressor valves": ("compressor", "to", 0.4, 0.8),
    "indoor air low": ("indoor_air", "times", 0.35, 0.7),
}
"""Of causes with one effect: on what, how, and the span it is drawn from."""

STARVES: Final = {True: (0.2, 0.5), False: (0.4, 0.85)}
"""Area of a valve and of an orifice that starves the coil, over the right one."""

COATED: Final = 0.7
"""Share of outdoor faults that take the coil's conductance with its air."""


def _break(given: dict[str, Array], i: int, cause: str, unit: Make, random: Random) -> None:
    """Put a fault of some severity into one installation."""
    if cause in SEVERITIES:
        name, how, low, high = SEVERITIES[cause]
        drawn, old = random.uniform(low, high), given[name][i]
        given[name][i] = {"times": old * drawn, "add": old + drawn, "to": drawn}[how]
    elif cause == "device starves":
        given["metering_area"][i] *= random.uniform(*STARVES[unit.is_valve])
    elif cause == "device overfeeds" and unit.is_valve:
        given["metering_area"][i] *= random.uniform(1.4, 1.8)
        given["stuck_opening"][i] = random.uniform(0.8, 1.0)
    elif cause == "device overfeeds":
        given["metering_area"][i] *= random.uniform(1.2, 2.0)
    elif cause == "outdoor coil or air":
        share = random.uniform(0.3, 0.7)
        given["outdoor_air"][i] *= share
        given["outdoor_conductance"][i] *= share if random.random() < COATED else 1.0


def _weather(random: Random, count: int) -> Weather:
    """Return summer days: 75 to 105 degF outdoors, 72 to 82 indoors at 35 to 60 %, sea to 400 m."""
    outdoor, indoor = random.uniform(297.0, 313.7, count), random.uniform(295.4, 300.9, count)
    barometer = random.uniform(96500.0, 102000.0, count)
    ratio = humidity_ratio_from_relative_humidity(
        indoor, random.uniform(0.35, 0.6, count), barometer
    )
    wet = wet_bulb_k(indoor, ratio, barometer)
    volts = random.uniform(0.95, 1.04, count) * 230.0
    return Weather(indoor, wet, outdoor, barometer_pa=barometer, voltage_v=volts)


def _read(
    points: OperatingPoints, weather: Weather, random: Random, count: int
) -> dict[str, Array]:
    """Return what the instruments read: each with its own error, and one shared by its kind."""
    warm = {
        "outdoor-air": weather.outdoor_k,
        "return-air": weather.indoor_k,
        "return-wet-bulb": weather.indoor_wet_bulb_k,
        "supply-air": points.indoor_leaving_k,
        "supply-wet-bulb": points.indoor_leaving_wet_bulb_k,
        "suction-line": points.suction_line_k,
        "liquid-line": points.liquid_line_k,
        "discharge-line": points.discharge_k,
        "outdoor-leaving": points.outdoor_leaving_k,
    }
    shared = random.normal(0.0, 0.35, count)
    read = {n: np.asarray(k) + shared + random.normal(0.0, 0.5, count) for n, k in warm.items()}
    read["liquid-drop"] = points.liquid_drop_k + random.normal(0.0, 0.6, count)
    for uneven, spread in (
        *(("supply-air", 0.6), ("supply-wet-bulb", 0.6)),
        *(("outdoor-leaving", 1.0), ("liquid-drop", 0.3)),
    ):
        read[uneven] = read[uneven] + random.normal(0.0, spread, count)
    zero = random.normal(0.0, 1.0 * PSI, count)
    for name, absolute, spread in (
        ("suction-pressure", points.suction_pa, 1.5 * PSI),
        ("liquid-pressure", points.liquid_pa, 3.0 * PSI),
    ):
        barometer = np.asarray(weather.barometer_pa)
        read[name] = absolute - barometer + zero + random.normal(0.0, spread, count)
    clamp = 1.0 + random.normal(0.0, 0.02, count)
    read["compressor-amps"] = points.compressor_a * clamp
    return read
