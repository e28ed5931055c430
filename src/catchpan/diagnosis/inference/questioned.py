"""Readings of the circuit that cannot be as they stand, with the mistake that usually is behind.

They are questioned, never refused: the belief weighs them with a chance of a slip as it stands.
All limits are common practice of the trade, no source, unless physics alone sets them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from catchpan.diagnosis.inference.panel_reading import is_of_panel
from catchpan.diagnosis.worlds.panel_quantity import WEATHER, SaturationChart

if TYPE_CHECKING:
    from collections.abc import Callable

    from catchpan.diagnosis.inference.belief import Belief, Reading

DOUBT_K: Final = 1.5
"""Two thermometers may differ by so much without anything being wrong [K]."""

DOUBT_PA: Final = 7.0e4
"""Two gauges at rest may differ by so much [Pa]; 10 psi."""

MOST_SUBCOOLING_K: Final = 25.0
LEAST_SUPERHEAT_K: Final = -3.0
MOST_SUPERHEAT_K: Final = 50.0
"""Beyond these a sensor off its pipe or another refrigerant is likelier than the reading [K]."""

CONDENSING_OVER_AIR_K: Final = (2.0, 40.0)
"""Span in which a running unit condenses above the air it blows through its coil [K]."""


@dataclass(frozen=True)
class Question:
    """What is odd, the likely mistake, and the checks to look at again."""

    text: str
    checks: tuple[str, ...]


def questions(belief: Belief) -> tuple[Question, ...]:
    """Return what must be asked back about the readings of the circuit taken so far.

    Parameters
    ----------
    belief
        Its readings of the present stage; of repeats the last one counts.

    Returns
    -------
    tuple of Question
        In a fixed order; empty where everything can be.
    """
    told = _told(belief)
    found = [rule(told) for rule in _RULES]
    found.append(_refrigerant(belief, told))
    return tuple(q for q in found if q is not None)


Told = dict[str, tuple[str, float]]
"""By quantity: the check and its value [SI]."""


def _told(belief: Belief) -> Told:
    """Return the readings, with superheat and subcooling worked out where their parts are there."""
    found: Told = {}
    for reading in belief.readings:
        if is_of_panel(belief.family, reading):
            found |= _one(belief, reading)
    view = belief.views.get("cool")
    if view is not None:
        _add_differences(found, view.panel.charts[0])
    return found


def _one(belief: Belief, reading: Reading) -> Told:
    look = belief.family.checks[reading.check_id].look
    if look is None or reading.value_si is None:
        return {}
    return {look.of: (reading.check_id, reading.value_si)}


def _add_differences(told: Told, chart: SaturationChart) -> None:
    if "suction_pressure" in told and "suction_line" in told:
        check, pressure = told["suction_pressure"]
        boiling, _ = chart.temperature(pressure, "dew")
        told.setdefault("superheat", (check, told["suction_line"][1] - boiling))
    if "liquid_pressure" in told and "liquid_line" in told:
        check, pressure = told["liquid_pressure"]
        condensing, _ = chart.temperature(pressure, "bubble")
        told.setdefault("subcooling", (check, condensing - told["liquid_line"][1]))


def _above(upper: str, lower: str, doubt: float, text: str) -> Callable[[Told], Question | None]:
    """Return the rule that one reading cannot lie above another."""

    def rule(told: Told) -> Question | None:
        if upper not in told or lower not in told:
            return None
        (one, high), (two, low) = told[upper], told[lower]
        return Question(text, (one, two)) if high > low + doubt else None

    return rule


def _outside(name: str, low: float, high: float, text: str) -> Callable[[Told], Question | None]:
    """Return the rule that a reading lies within a span."""

    def rule(told: Told) -> Question | None:
        if name not in told or low <= told[name][1] <= high:
            return None
        return Question(text, (told[name][0],))

    return rule


_RULES: Final = (
    _above(
        "liquid_line",
        "discharge_line",
        DOUBT_K,
        "The liquid line reads warmer than the discharge line: are the two sensors swapped, or is "
        "one off its pipe?",
    ),
    _above(
        "suction_pressure",
        "liquid_pressure",
        DOUBT_PA,
        "The suction pressure reads above the liquid pressure: are the hoses swapped?",
    ),
    _above(
        "return_wet_bulb",
        "return_air",
        DOUBT_K / 3.0,
        "The wet bulb reads above the dry bulb, which cannot be: are the two swapped, or is the "
        "wick dry or dipped in warm water?",
    ),
    _above(
        "suction_line",
        "discharge_line",
        DOUBT_K,
        "The suction line reads warmer than the discharge line: are the sensors swapped?",
    ),
    _outside(
        "subcooling",
        -4.0,
        MOST_SUBCOOLING_K,
        "Such subcooling hardly occurs: is the refrigerant chosen at the gauge the one on the "
        "nameplate, and does the sensor sit tight on the liquid line?",
    ),
    _outside(
        "superheat",
        LEAST_SUPERHEAT_K,
        MOST_SUPERHEAT_K,
        "Such superheat hardly occurs: is the refrigerant chosen at the gauge the one on the "
        "nameplate, and does the sensor sit tight on the suction line, insulated?",
    ),
    _above(
        "supply_air",
        "discharge_line",
        DOUBT_K,
        "The supply air reads warmer than the discharge line: is the right sensor on each?",
    ),
)


def _refrigerant(belief: Belief, told: Told) -> Question | None:
    """Ask whether another refrigerant is in the system when only its chart makes sense."""
    view = belief.views.get("cool")
    if view is None or not {"suction_pressure", "liquid_pressure"} <= set(told):
        return None
    outdoor, indoor = (float(view.weather.mean_k[WEATHER.index(n)]) for n in WEATHER[:2])
    plate, *others = view.panel.charts
    if _makes_sense(told, plate, outdoor, indoor):
        return None
    fitting = [c.refrigerant for c in others if _makes_sense(told, c, outdoor, indoor)]
    if not fitting:
        return None
    text = (
        f"By the chart of {plate.refrigerant} these pressures belong to no running unit in this "
        f"weather, by that of {fitting[0]} they do: which refrigerant is in it, and on the gauge?"
    )
    return Question(text, (told["suction_pressure"][0], told["liquid_pressure"][0]))


def _makes_sense(told: Told, chart: SaturationChart, outdoor_k: float, indoor_k: float) -> bool:
    """Whether both pressures are those of a running unit in cooling, by one chart."""
    boiling, _ = chart.temperature(told["suction_pressure"][1], "dew")
    condensing, _ = chart.temperature(told["liquid_pressure"][1], "bubble")
    least, most = CONDENSING_OVER_AIR_K
    return boiling < indoor_k - DOUBT_K and least <= condensing - outdoor_k <= most
