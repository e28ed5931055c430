"""What a sound unit should read today: from its own model, from published charts, the nameplate.

Each comes with a standard deviation, so that `catchpan.physics.cycle.verdict` can say when a
reading is too close to call.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from catchpan.physics.cycle.limits import limit_words
from catchpan.physics.cycle.solve import OperatingPoints, operating_points
from catchpan.physics.cycle.targets import (
    LEAST_OUTDOOR_K,
    LEAST_TARGET_K,
    chart_superheat_k,
    published_split_k,
)
from catchpan.physics.cycle.unit import Unit, Weather
from catchpan.physics.cycle.verdict import thermometer_deviation_k, together
from catchpan.physics.moist_air import STANDARD_PRESSURE_PA
from catchpan.units.errors import OutOfRange
from catchpan.units.span import FloatArray

CHART_DEVIATION_K: Final = 0.5 / 1.8
"""Spread of the charging chart between makers' printings, 1 degF at most."""

SPLIT_DEVIATION_K: Final = 0.5 / 1.8
"""Of the split's polynomial against its rows; it is from memory."""

NAMEPLATE_DEVIATION_K: Final = 0.0
"""A maker's target is a definition."""

MODEL_DEVIATIONS: Final = {
    "superheat_k": 2.2,
    "valve superheat_k": 1.5,
    "subcooling_k": 1.7,
    "split_k": 0.8,
    "net_w": 0.05,
    "sensible_w": 0.06,
    "suction_pa": 0.05,
    "liquid_pa": 0.03,
    "discharge_k": 5.0,
    "compressor_a": 0.06,
}
"""How far a unit fitted to its nameplate is from the machine itself, one standard deviation:
kelvin, or shares where the reading is no temperature. Superheat of an orifice, split and pressures:
as measured in docs/models/refrigerant-and-cycle.md; the others assumed."""

MODEL_SOURCE: Final = "this unit's model"
CHART_SOURCE: Final = "published fixed-orifice charging chart"
SPLIT_SOURCE: Final = "published target-split table (from memory)"
VALVE_SOURCE: Final = "usual range of expansion valves"
"""Where targets come from, in words."""

NO_CHARGING: Final = f"do not charge by superheat: target under {LEAST_TARGET_K * 1.8:.0f} °F"
OFF_CHART: Final = "not on the chart: it reaches from 55 to 115 °F outdoors, 50 to 76 °F wet bulb"
OFF_SPLIT: Final = "not in the table: it holds return air of 70 to 84 °F, 50 to 76 °F wet bulb"
COLD: Final = "colder than 55 °F: no published check reaches here"
"""Why there is no target today, or what to mind."""

_STEP_K: Final = 1.0


@dataclass(frozen=True)
class Expected:
    """What a reading should be.

    Parameters
    ----------
    value : float or None
        The target, SI; None when there is none today.
    deviation : float
        One standard deviation of the target, weather counted.
    source : str
        Where it comes from.
    note : str
        Why there is none, or what to mind.
    """

    value: float | None
    deviation: float
    source: str
    note: str = ""


@dataclass(frozen=True)
class Today:
    """The air round a unit as measured, numbers.

    Parameters
    ----------
    indoor_k, indoor_wet_bulb_k : float
        Return air [K].
    outdoor_k : float
        Air entering the outdoor unit [K].
    outdoor_wet_bulb_k : float or None
        Its wet bulb [K]; matters in heating only.
    barometer_pa : float
        Barometric pressure [Pa].
    spread_k : tuple of float or None
        Standard deviations of return air, its wet bulb and outdoor air [K]; None for thermometers
        of [cec-ra3.2] accuracy.
    """

    indoor_k: float
    indoor_wet_bulb_k: float
    outdoor_k: float
    outdoor_wet_bulb_k: float | None = None
    barometer_pa: float = STANDARD_PRESSURE_PA
    spread_k: tuple[float, float, float] | None = None

    @property
    def deviations_k(self) -> tuple[float, float, float]:
        """Standard deviations of return air, its wet bulb and outdoor air [K]."""
        indoor, wet, out = map(thermometer_deviation_k, _temperatures(self))
        return self.spread_k or (indoor, wet, out)


def chart_superheat(today: Today) -> Expected:
    """Return the target superheat of a fixed-orifice unit by the published chart.

    Parameters
    ----------
    today : Today
        The weather.

    Returns
    -------
    Expected
        Without a value, and with the reason, where the chart has a dash or does not reach.

    Source: [charging-chart]; weather known to [cec-ra3.2] accuracies.
    """
    at = np.array([today.outdoor_k, today.indoor_wet_bulb_k])

    def chart(x: FloatArray) -> FloatArray:
        return chart_superheat_k(x[0], x[1])

    _, wet, out = today.deviations_k
    words = (CHART_SOURCE, NO_CHARGING, OFF_CHART)
    return _published(chart, at, (CHART_DEVIATION_K, out, wet), words)


def chart_split(today: Today) -> Expected:
    """Return the published temperature split across the indoor coil.

    Parameters
    ----------
    today : Today
        The weather.

    Returns
    -------
    Expected
        Without a value where the table does not reach.

    Source: [cec-ra3.2] table RA3.2-3, from memory.
    """
    at = np.array([today.indoor_k, today.indoor_wet_bulb_k])

    def split(x: FloatArray) -> FloatArray:
        return published_split_k(x[0], x[1])

    indoor, wet, _ = today.deviations_k
    words = (SPLIT_SOURCE, "no target", OFF_SPLIT)
    return _published(split, at, (SPLIT_DEVIATION_K, indoor, wet), words)


def nameplate_subcooling(subcooling_k: float) -> Expected:
    """Return the maker's own target subcooling [K].

    Source: the nameplate; tolerance is in `catchpan.physics.cycle.verdict`.
    """
    return Expected(subcooling_k, NAMEPLATE_DEVIATION_K, "nameplate")


def model_expected(unit: Unit, today: Today, *, heating: bool = False) -> dict[str, Expected]:
    """Return what a sound unit of this make should read today, from its own model.

    Parameters
    ----------
    unit : Unit
        Fitted to its nameplate.
    today : Today
        The weather as measured.
    heating : bool
        The mode.

    Returns
    -------
    dict of str to Expected
        ``superheat_k``, ``subcooling_k`` (at the outdoor unit), ``split_k`` (return minus supply;
        negative in heating), ``net_w``, ``sensible_w``, ``suction_pa``, ``liquid_pa`` (absolute),
        ``discharge_k``, ``compressor_a``.

    Raises
    ------
    OutOfRange
        If the weather is outside the model's span.
    BadValue
        If an air conditioner is asked to heat.

    Source: docs/models/refrigerant-and-cycle.md; weather known to [cec-ra3.2] accuracies.
    """
    moved = _moved(today)
    points = operating_points(unit, moved, heating=heating)
    found = quantities(points, np.asarray(moved.indoor_k))
    deviations = today.deviations_k
    note = "; ".join(limit_words(int(points.limits[0]), heating=heating))
    if not heating and today.outdoor_k < LEAST_OUTDOOR_K:
        note = "; ".join(filter(None, [note, COLD]))
    expected = {}
    for name, values in found.items():
        weather = together(
            *(
                float(values[1 + i] - values[0]) / _STEP_K * each
                for i, each in enumerate(deviations)
            )
        )
        own = _own_deviation(name, float(values[0]), is_valve=unit.metering.is_valve)
        expected[name] = Expected(float(values[0]), together(weather, own), MODEL_SOURCE, note)
    return expected


def _temperatures(today: Today) -> tuple[float, float, float]:
    return today.indoor_k, today.indoor_wet_bulb_k, today.outdoor_k


def _moved(today: Today) -> Weather:
    """Return today and three neighbours: a degree less indoors, wet bulb, outdoors."""
    indoor, wet, out = (
        np.array([each] * 4) - _STEP_K * (np.arange(4) == i)
        for i, each in enumerate(_temperatures(today), 1)
    )
    given = today.outdoor_wet_bulb_k
    outdoor_wet = None if given is None else np.minimum(given, out)
    return Weather(indoor, np.minimum(wet, indoor), out, outdoor_wet, today.barometer_pa)


def quantities(points: OperatingPoints, indoor_k: FloatArray) -> dict[str, FloatArray]:
    """Return what `model_expected` speaks of at solved points, by name [SI].

    Parameters
    ----------
    points : OperatingPoints
        Of a sound unit.
    indoor_k : FloatArray
        Return air at each point [K].

    Source: docs/models/refrigerant-and-cycle.md.
    """
    return {
        "superheat_k": points.superheat_k,
        "subcooling_k": points.subcooling_k,
        "split_k": indoor_k - points.indoor_leaving_k,
        "net_w": points.net_w,
        "sensible_w": points.sensible_w,
        "suction_pa": points.suction_pa,
        "liquid_pa": points.liquid_pa,
        "discharge_k": points.discharge_k,
        "compressor_a": points.compressor_a,
    }


def _own_deviation(name: str, value: float, *, is_valve: bool) -> float:
    named = f"valve {name}" if is_valve and name == "superheat_k" else name
    own = MODEL_DEVIATIONS[named]
    return own if name.endswith("_k") else own * abs(value)


def _published(
    relation: Callable[[FloatArray], FloatArray],
    at: FloatArray,
    deviations_k: tuple[float, float, float],
    words: tuple[str, str, str],
) -> Expected:
    """Return a published relation's value, with what its own and the weather's errors do to it."""
    what, missing, off = words
    try:
        value = float(relation(at))
    except OutOfRange:
        return Expected(None, 0.0, what, off)
    if np.isnan(value):
        return Expected(None, 0.0, what, missing)
    own, *weather = deviations_k
    parts = [_slope(relation, at, i) * each for i, each in enumerate(weather)]
    return Expected(value, together(own, *parts), what)


def _slope(relation: Callable[[FloatArray], FloatArray], at: FloatArray, i: int) -> float:
    """Return a relation's slope, from whichever side it is defined on."""
    for step in (_STEP_K, -_STEP_K):
        try:
            moved = float(relation(at + step * (np.arange(at.size) == i)))
        except OutOfRange:
            continue
        if not np.isnan(moved):
            return (moved - float(relation(at))) / step
    return 0.0
