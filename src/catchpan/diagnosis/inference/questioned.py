"""Readings of the circuit that cannot be as they stand, with the mistake that usually is behind.

They are questioned, never refused: the belief weighs them with a chance of a slip as it stands.
All limits are common practice of the trade, no source, unless physics alone sets them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from catchpan.diagnosis.inference.panel_reading import is_of_panel
from catchpan.diagnosis.worlds.panel_quantity import WEATHER, SaturationChart, quantity

if TYPE_CHECKING:
    from catchpan.diagnosis.inference.belief import Belief, Reading

DOUBT_K: Final = 1.5
"""Two thermometers may differ by so much without anything being wrong [K]."""

DOUBT_PA: Final = 7.0e4
"""Two gauges at rest may differ by so much [Pa]; 10 psi."""

MOST_SUBCOOLING_K: Final = 25.0
LEAST_SUPERHEAT_K: Final = -3.0
MOST_SUPERHEAT_K: Final = 50.0
"""Beyond these a sensor off its pipe or another refrigerant is likelier than the reading [K]."""

MOST_LIQUID_DROP_K: Final = 40.0
"""A liquid line does not get colder than the coil it feeds [K] (72 degF; physics, rounded)."""

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
    found = [rule.question(told) for rule in RULES]
    found.append(_refrigerant(belief, told))
    return tuple(q for q in found if q is not None)


Told = dict[str, tuple[str, float]]
"""By quantity: the check and its value [SI]."""


def told_of(belief: Belief, demand: str) -> Told:
    """Return what was read off the circuit under a demand, and of the weather, by quantity."""
    found: Told = {}
    for reading in belief.readings:
        look = belief.family.checks[reading.check_id].look
        if look is None or reading.value_si is None or not is_of_panel(belief.family, reading):
            continue
        if look.demand == demand or quantity(look.of).is_weather:
            found[look.of] = (reading.check_id, reading.value_si)
    return found


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


@dataclass(frozen=True)
class Above:
    """One reading cannot lie above another by more than so much [SI]."""

    upper: str
    lower: str
    doubt: float
    text: str

    def question(self, told: Told) -> Question | None:
        """Return what to ask where it does."""
        if self.upper not in told or self.lower not in told:
            return None
        (one, high), (two, low) = told[self.upper], told[self.lower]
        return Question(self.text, (one, two)) if high > low + self.doubt else None


@dataclass(frozen=True)
class Outside:
    """A reading lies within a span [SI]."""

    of: str
    low: float
    high: float
    text: str

    def question(self, told: Told) -> Question | None:
        """Return what to ask where it does not."""
        if self.of not in told or self.low <= told[self.of][1] <= self.high:
            return None
        return Question(self.text, (told[self.of][0],))


RULES: Final[tuple[Above | Outside, ...]] = (
    Above(
        "liquid_line",
        "discharge_line",
        DOUBT_K,
        "The liquid line reads warmer than the discharge line: are the two sensors swapped, or is "
        "one off its pipe?",
    ),
    Above(
        "suction_pressure",
        "liquid_pressure",
        DOUBT_PA,
        "The suction pressure reads above the liquid pressure: are the hoses swapped?",
    ),
    Above(
        "return_wet_bulb",
        "return_air",
        DOUBT_K / 3.0,
        "The wet bulb reads above the dry bulb, which cannot be: are the two swapped, or is the "
        "wick dry or dipped in warm water?",
    ),
    Above(
        "supply_wet_bulb",
        "supply_air",
        DOUBT_K / 3.0,
        "The wet bulb of the supply air reads above its dry bulb, which cannot be: are the two "
        "swapped, or is the wick dry or dipped in warm water?",
    ),
    Above(
        "supply_wet_bulb",
        "return_wet_bulb",
        DOUBT_K,
        "The supply air's wet bulb reads above the return air's: were the two places swapped, or "
        "do strips or a furnace heat behind the coil?",
    ),
    Above(
        "suction_line",
        "discharge_line",
        DOUBT_K,
        "The suction line reads warmer than the discharge line: are the sensors swapped?",
    ),
    Outside(
        "subcooling",
        -4.0,
        MOST_SUBCOOLING_K,
        "Such subcooling hardly occurs: is the refrigerant chosen at the gauge the one on the "
        "nameplate, and does the sensor sit tight on the liquid line?",
    ),
    Outside(
        "superheat",
        LEAST_SUPERHEAT_K,
        MOST_SUPERHEAT_K,
        "Such superheat hardly occurs: is the refrigerant chosen at the gauge the one on the "
        "nameplate, and does the sensor sit tight on the suction line, insulated?",
    ),
    Outside(
        "liquid_drop",
        -DOUBT_K,
        MOST_LIQUID_DROP_K,
        "Liquid does not warm by itself on its way, nor fall so far while it reaches the coil: are "
        "the two sensors swapped, is one off its pipe or in the sun, or does the line pass a hot "
        "attic?",
    ),
    Above(
        "supply_air",
        "discharge_line",
        DOUBT_K,
        "The supply air reads warmer than the discharge line: is the right sensor on each?",
    ),
)


OTHER_CHART: Final = (
    "By the chart of {plate} these pressures belong to no running unit in this weather, by that of "
    "{other} they do: which refrigerant is in it, and on the gauge?"
)
"""What is asked where only the chart of another refrigerant makes sense."""


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
    text = OTHER_CHART.format(plate=plate.refrigerant, other=fitting[0])
    return Question(text, (told["suction_pressure"][0], told["liquid_pressure"][0]))


def _makes_sense(told: Told, chart: SaturationChart, outdoor_k: float, indoor_k: float) -> bool:
    """Whether both pressures are those of a running unit in cooling, by one chart."""
    boiling, _ = chart.temperature(told["suction_pressure"][1], "dew")
    condensing, _ = chart.temperature(told["liquid_pressure"][1], "bubble")
    least, most = CONDENSING_OVER_AIR_K
    return boiling < indoor_k - DOUBT_K and least <= condensing - outdoor_k <= most
