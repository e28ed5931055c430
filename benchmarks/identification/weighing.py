"""Weighing a visit with the program's own panel, and with the published rule chart."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from math import erf, sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from benchmarks.identification.visits import CAUSES, SOUND, Visit
from catchpan.catalog.lint import settings_of
from catchpan.catalog.load import catalog
from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.worlds.compile_family import Size, compile_family
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import Family
from catchpan.diagnosis.worlds.panel_quantity import PanelLook

Array = NDArray[np.float64]

ARCHETYPE: Final = "air-conditioner-furnace"

FAULTS: Final = {
    "low charge": ("refrigerant/charge-low", "refrigerant/charge-very-low"),
    "overcharge": ("refrigerant/overcharged",),
    "liquid line restricted": ("refrigerant/line-restricted",),
    "device starves": (
        "refrigerant/txv-nearly-shut",
        "refrigerant/orifice-blocked",
        "refrigerant/orifice-too-small",
    ),
    "device overfeeds": ("refrigerant/txv-overfeeding", "refrigerant/orifice-too-large"),
    "air in the circuit": ("refrigerant/non-condensables",),
    "compressor valves": ("refrigerant/compressor-valves-worn",),
    "outdoor coil or air": ("refrigerant/outdoor-coil-fouled", "refrigerant/outdoor-air-blocked"),
    "indoor air low": (
        "air/filter-clogged",
        "air/filter-solid",
        "air/coil-dirty",
        "air/return-blocked",
        "air/registers-closed",
        "air/wheel-dirty",
        "air/speed-too-low",
    ),
}
"""Which faults of the catalog each cause stands for."""

GAUGES: Final = ("suction-pressure", "liquid-pressure")

CHECK_OF: Final = {"liquid-drop": "refrigerant/drier-temperature"}
"""Checks that are not named after their reading."""


@cache
def family_of(refrigerant: str, tons: str, metering: str) -> Family:
    """Return the compiled family of a unit by what is known of its label."""
    whole = catalog()
    named = {fault for group in FAULTS.values() for fault in group}
    data = replace(
        whole,
        faults={k: f for k, f in whole.faults.items() if k in named},
        checks={k: c for k, c in whole.checks.items() if c.observe.quantity == "cycle"},
    )
    known = dict(next(settings_of(ARCHETYPE, whole)))
    known |= {"refrigerant": refrigerant, "tons": tons, "metering": metering}
    return compile_family(
        Description(ARCHETYPE, known, "cooling"), data, size=Size(settings=1, pairs=0)
    )


@cache
def _members(family: Family) -> Mapping[str, Array]:
    """Return where each cause's worlds are: of one fault alone, or none."""
    found = {SOUND: np.array([not w.conditions for w in family.worlds])}
    for cause, faults in FAULTS.items():
        found[cause] = np.array(
            [len(w.conditions) == 1 and bool(w.roots & set(faults)) for w in family.worlds]
        )
    return found


@cache
def _start(family: Family) -> Belief:
    """Return the belief before anything is read: every cause as likely as every other."""
    log_prior = np.full(len(family.worlds), -60.0)
    for members in _members(family).values():
        weights = np.exp(family.log_prior) * members
        log_prior[members] = np.log(weights[members] / weights.sum())
    return Belief(family, log_prior)


def shares(visit: Visit, *, gauges: bool, nameplate: bool) -> Array:
    """Return the chance of each of `CAUSES` after the readings of a visit."""
    held, family = _told(visit, gauges=gauges, nameplate=nameplate)
    by_world = held.probabilities()
    found = np.array([by_world[_members(family)[cause]].sum() for cause in CAUSES])
    return np.asarray(found / found.sum())


def _told(visit: Visit, *, gauges: bool, nameplate: bool) -> tuple[Belief, Family]:
    unit = visit.make
    tons = unit.tons if nameplate else "three"
    family = family_of(unit.refrigerant, tons, "txv" if unit.is_valve else "orifice")
    told = [n for n in visit.readings if gauges or n not in GAUGES]
    readings = [Reading(CHECK_OF.get(n, f"panel/{n}"), value_si=visit.readings[n]) for n in told]
    return _start(family).observe_all(readings), family


CHART: Final = {
    "low charge": "-+--+--",
    "compressor valves": "+------",
    "liquid line restricted": "-+-++--",
    "outdoor coil or air": "+-+-++-",
    "indoor air low": "------+",
}
"""Signs of evaporating, superheat, condensing, subcooling, discharge, rise of the outdoor air and
fall of the indoor air. Source: Rossi and Braun 1997, as printed in the CEC/Purdue report."""

FEATURES: Final = (
    ("suction_pressure", 2.4e4),
    ("superheat", 1.0),
    ("liquid_pressure", 4.8e4),
    ("subcooling", 0.95),
    ("discharge_line", 1.5),
    ("outdoor_rise", 1.4),
    ("split", 1.2),
)
"""Quantity and spread of its instruments [SI]; the split is taken as a fall below."""

ONLY_THERMOMETERS: Final = (4, 5, 6)
NOTHING_ODD: Final = 2.0
"""No feature further from its expectation than so many deviations: nothing is wrong (assumed)."""


def by_chart(visit: Visit, *, gauges: bool, nameplate: bool) -> Sequence[str]:
    """Return the causes of the rule chart, the likeliest first.

    Residuals are against the sound unit of the same family and weather, each sign as likely as the
    residual's spread makes it, signs multiplied, as Rossi and Braun do.
    """
    held, family = _told(visit, gauges=False, nameplate=nameplate)
    view = replace(held.views["cool"], taken=())
    sound = int(np.flatnonzero(_members(family)[SOUND])[0])
    used = range(len(FEATURES)) if gauges else ONLY_THERMOMETERS
    measured = _features(visit, family)
    up = {}
    for i in used:
        name, spread = FEATURES[i]
        mean, deviation = view.expected(PanelLook("cool", name, spread))
        away = (measured[i] - mean[sound]) / deviation[sound]
        up[i] = float(-away if name == "split" else away)
    scores = {
        cause: float(np.prod([_chance(up[i] if signs[i] == "+" else -up[i]) for i in used]))
        for cause, signs in CHART.items()
    }
    ranked = sorted(scores, key=lambda cause: -scores[cause])
    odd = max(abs(z) for z in up.values()) > NOTHING_ODD
    return [*ranked, SOUND] if odd else [SOUND, *ranked]


def _chance(away: float) -> float:
    return 0.5 * (1.0 + erf(away / sqrt(2.0)))


def _features(visit: Visit, family: Family) -> Array:
    read, chart = visit.readings, family.panels["cool"].charts[0]
    boiling, _ = chart.temperature(read["suction-pressure"], "dew")
    condensing, _ = chart.temperature(read["liquid-pressure"], "bubble")
    return np.array(
        [
            read["suction-pressure"],
            read["suction-line"] - boiling,
            read["liquid-pressure"],
            condensing - read["liquid-line"],
            read["discharge-line"],
            read["outdoor-leaving"] - read["outdoor-air"],
            read["supply-air"] - read["return-air"],
        ]
    )
