"""Readings of the circuit that cannot be as they stand, with the mistake that usually is behind.

They are questioned, never refused: the belief weighs them with a chance of a slip as it stands.
What cannot be is physics (`catchpan.physics.cycle.plausible`); so is which refrigerant it fits.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from catchpan.diagnosis.inference.panel_reading import is_of_panel
from catchpan.diagnosis.worlds.panel_quantity import ATMOSPHERE_PA, WEATHER, quantity
from catchpan.physics.cycle.plausible import MOST_SUBCOOLING_K, Doubt, Readings, doubts
from catchpan.physics.cycle.which_refrigerant import fits
from catchpan.physics.refrigerant.shelf import refrigerant_table

if TYPE_CHECKING:
    from collections.abc import Iterator

    from catchpan.diagnosis.inference.belief import Belief
    from catchpan.diagnosis.worlds.panel_likelihood import PanelView

SPANS_K: Final = {"superheat": (-3.0, 50.0), "subcooling": (-4.0, MOST_SUBCOOLING_K)}
"""Beyond these a superheat or subcooling told without its parts hardly occurs [K] (assumed)."""

FIELDS: Final = {
    "suction_pressure": "suction_pa",
    "liquid_pressure": "liquid_pa",
    "suction_line": "suction_line_k",
    "liquid_line": "liquid_line_k",
    "discharge_line": "discharge_k",
    "return_air": "return_k",
    "return_wet_bulb": "return_wet_bulb_k",
    "supply_air": "supply_k",
    "outdoor_air": "outdoor_k",
}
"""Quantities of the panel, by what the physics calls them."""


@dataclass(frozen=True)
class Question:
    """What is odd, the likely mistake, and the checks to look at again."""

    text: str
    checks: tuple[str, ...]


Told = dict[str, tuple[str, float]]
"""By quantity: the check and its value [SI]."""


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
    found: dict[str, Question] = {}
    for demand, view in belief.views.items():
        told = told_of(belief, demand)
        for question in _of_circuit(told, view):
            found.setdefault(question.text, question)
    return tuple(found.values())


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


def _of_circuit(told: Told, view: PanelView) -> Iterator[Question]:
    if not told:
        return
    readings = _readings(told, heating=view.panel.demand == "heat")
    of_pressure = {"suction_pressure", "liquid_pressure"} & set(told)
    plate = view.panel.charts[0].refrigerant
    table = refrigerant_table(plate) if of_pressure else None
    named: set[str] = set()
    for doubt in doubts(readings, table):
        if not named & set(doubt.readings):
            yield _question(doubt, told)
        if {"suction_pa", "liquid_pa"} <= set(doubt.readings):
            named |= {"suction_pa", "liquid_pa"}
    yield from _told_alone(told)
    yield from _of_refrigerant(told, readings, view)


def _readings(told: Told, *, heating: bool) -> Readings:
    values = {
        field: told[name][1] + (ATMOSPHERE_PA if field.endswith("_pa") else 0.0)
        for name, field in FIELDS.items()
        if name in told
    }
    kept = {k: v for k, v in values.items() if k.endswith("_pa") or 150.0 <= v <= 500.0}
    return Readings(**{k: max(v, 0.0) for k, v in kept.items()}, heating=heating)


def _question(doubt: Doubt, told: Told) -> Question:
    names = {field: name for name, field in FIELDS.items()}
    checks = tuple(told[names[f]][0] for f in doubt.readings if names[f] in told)
    mistakes = "; or ".join(m.value for m in doubt.mistakes)
    return Question(f"{doubt.what[0].upper()}{doubt.what[1:]}. Likely: {mistakes}.", checks)


def _told_alone(told: Told) -> Iterator[Question]:
    """Ask about a superheat or subcooling that was told by itself."""
    for name, (low, high) in SPANS_K.items():
        if name in told and not low <= told[name][1] <= high:
            line = "suction" if name == "superheat" else "liquid"
            yield Question(
                f"Such {name} hardly occurs: is the refrigerant chosen at the gauge the one on the "
                f"nameplate, and does the sensor sit tight on the {line} line?",
                (told[name][0],),
            )


def _of_refrigerant(told: Told, readings: Readings, view: PanelView) -> Iterator[Question]:
    """Ask whether another refrigerant is in the system when only its chart makes sense."""
    pressures = [told[n][0] for n in ("suction_pressure", "liquid_pressure") if n in told]
    if len(pressures) < 2:
        return
    outdoor, indoor = (float(view.weather.mean_k[WEATHER.index(n)]) for n in WEATHER[:2])
    usual = {"outdoor_k": outdoor, "return_k": indoor}
    known = {k: v for k, v in vars(readings).items() if v is not None}
    charts = [c.refrigerant for c in view.panel.charts]
    fit = fits(Readings(**{**usual, **known}), {c: refrigerant_table(c) for c in charts})
    if fit is None or not fit.speaks_against(charts[0]):
        return
    yield Question(
        f"By the chart of {charts[0]} these readings belong to no running unit in this weather, by "
        f"that of {fit.alike[0]} they do: which refrigerant is in it, and on the gauge?",
        tuple(pressures),
    )
