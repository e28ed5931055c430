"""Today's targets: what superheat, subcooling, split and capacity should be, and what was read.

From the unit's own model and from the published chart or table where there is one, side by side,
each with its uncertainty and a verdict. A pure function of a belief and a nameplate: what shows it
(terminal, weighing, web) only writes it down.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from catchpan.catalog.system import build_plant
from catchpan.diagnosis.cases.measured_capacity import (
    AIR_READ,
    AIRFLOW_CHECKS,
    AIRFLOW_SHARE,
    WATER,
    Measured,
    measured_capacities,
)
from catchpan.diagnosis.inference.belief import Belief
from catchpan.diagnosis.inference.questioned import told_of
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.panel_likelihood import PanelView
from catchpan.diagnosis.worlds.panel_quantity import ATMOSPHERE_PA, PARTS, quantity
from catchpan.physics.cycle.expected import (
    VALVE_SOURCE,
    Expected,
    Today,
    chart_split,
    chart_superheat,
    model_expected,
)
from catchpan.physics.cycle.verdict import (
    SPLIT_INSTALLER,
    SUBCOOLING_INSTALLER,
    SUPERHEAT_INSTALLER,
    VALVE_SUPERHEAT_INSTALLER_K,
    Band,
    Verdict,
    judged,
    together,
)
from catchpan.plant.degrees import circuit_of
from catchpan.plant.refrigeration import Nameplate, unit_of
from catchpan.units.errors import CatchpanError

WATT_PER_BTU_H: Final = 0.29307107
PSI_PA: Final = 6894.757

CAPACITY_BAND: Final = 0.1
"""How far a measured capacity may lie from the model's and still pass, as a share (assumed)."""

TITLES: Final = {
    "superheat": "Superheat",
    "subcooling": "Subcooling",
    "split": "Return less supply air",
    "rise": "Supply less return air",
    "suction-pressure": "Suction pressure",
    "liquid-pressure": "Liquid pressure",
    "capacity": "Capacity",
    "sensible-capacity": "Sensible capacity",
}
"""What there are targets for, in the order they are shown."""


@dataclass(frozen=True)
class Target:
    """One source's target, in the unit of its quantity.

    Parameters
    ----------
    source : str
        Where it comes from.
    value, deviation : float or None
        The target and its standard deviation, today's weather as well as it is known counted in;
        None where there is no target today.
    verdict : str
        ``ok``, ``low``, ``high`` or ``too-close``; empty where nothing was read or there is none.
    note : str
        Why there is none, or what to mind.
    """

    source: str
    value: float | None
    deviation: float | None
    verdict: str = ""
    note: str = ""


@dataclass(frozen=True)
class Judged:
    """A quantity with what was read of it and its targets; ``unit`` is for all its numbers."""

    quantity: str
    title: str
    unit: str
    reading: float | None
    deviation: float | None
    band: float | None
    targets: tuple[Target, ...]


@dataclass(frozen=True)
class Todays:
    """All targets under one demand.

    Parameters
    ----------
    demand : str
        ``cool`` or ``heat``.
    refrigerant, tons, metering : str, float, str
        The unit they are for, as the plate says or, unread, as is likeliest.
    outdoor_f, indoor_f, indoor_wet_bulb_f : float
        The weather they are for [degF], as read or as far as known.
    judged : tuple of Judged
        Superheat, subcooling, split, capacity; in heating the rise for the split, and pressures.
    """

    demand: str
    refrigerant: str
    tons: float
    metering: str
    outdoor_f: float
    indoor_f: float
    indoor_wet_bulb_f: float
    judged: tuple[Judged, ...]

    def of(self, name: str) -> Judged | None:
        """Return a quantity by name."""
        return next((j for j in self.judged if j.quantity == name), None)


def plate_of(description: Description, setting: Mapping[str, str]) -> Nameplate:
    """Return the nameplate of a system built as told; what is not known is as is likeliest."""
    return _plate(description.archetype, tuple(sorted({**setting, **description.options}.items())))


@lru_cache(maxsize=32)
def _plate(archetype: str, options: tuple[tuple[str, str], ...]) -> Nameplate:
    return circuit_of(build_plant(archetype, dict(options))).plate


def todays_targets(belief: Belief, plate: Nameplate, demand: str = "cool") -> Todays | None:
    """Return today's targets and how what was read stands to them.

    Charging chart and split table are for cooling; in heating the unit's own model speaks alone,
    of its pressures as well.

    Parameters
    ----------
    belief : Belief
        Its readings of weather and circuit.
    plate : Nameplate
        The unit; see ``plate_of``.
    demand : str
        ``cool`` or ``heat``.

    Returns
    -------
    Todays or None
        None where the system has no circuit that serves the demand, or no unit of sensible make
        has such a plate.
    """
    view = belief.views.get(demand)
    if view is None:
        return None
    mean, spread = view.weather.mean_k.tolist(), view.weather.sd_k.tolist()
    wet = min(mean[2], mean[1])
    today = Today(mean[1], wet, mean[0], spread_k=(spread[1], spread[2], spread[0]))
    try:
        model = model_expected(unit_of(plate), today, heating=demand == "heat")
    except CatchpanError:
        return None
    read = _Read(belief, view)
    outdoor_f, indoor_f, wet_f = (round(k * 1.8 - 459.67, 1) for k in (mean[0], mean[1], wet))
    return Todays(
        demand=demand,
        refrigerant=plate.refrigerant,
        tons=plate.tons,
        metering="expansion valve" if plate.is_valve else "fixed orifice",
        outdoor_f=outdoor_f,
        indoor_f=indoor_f,
        indoor_wet_bulb_f=wet_f,
        judged=tuple(_quantities(plate, today, model, read)),
    )


class _Read:
    """What was read, worked out where its parts were: value and deviation [K]."""

    def __init__(self, belief: Belief, view: PanelView) -> None:
        self.told = told_of(belief, view.panel.demand)
        self.checks, self.view = belief.family.checks, view
        flows = [r.value_si for r in belief.readings if r.check_id in AIRFLOW_CHECKS]
        self.ton_flow_m3_s = next((x for x in reversed(flows) if x is not None), None)

    def of(self, name: str) -> tuple[float, float] | None:
        """Return a quantity as told, or out of its parts; None where it was not read."""
        if name in self.told:
            return self._kelvin(name)
        parts = [self._kelvin(p) for p in PARTS[name] if p in self.told]
        if len(parts) < len(PARTS[name]):
            return None
        (one, a), (other, b) = parts
        return (other - one if name == "superheat" else one - other), together(a, b)

    def told_of(self, name: str) -> tuple[float, float] | None:
        """Return a quantity as told, with its instrument's deviation [SI]; None where not read."""
        if name not in self.told:
            return None
        check, value = self.told[name]
        look = self.checks[check].look
        return value, look.instrument_sd if look is not None else 0.0

    def capacities(self, tons: float) -> tuple[Measured | None, Measured | None]:
        """Return total and sensible capacity [W] where all they are worked out from was read."""
        read = [self.told_of(name) for name in AIR_READ]
        by_water = self.ton_flow_m3_s is None
        flow = tons * (self.ton_flow_m3_s or 0.0)
        read.append(self.told_of(WATER) if by_water else (flow, AIRFLOW_SHARE * flow))
        known = [one for one in read if one is not None]
        if len(known) < len(read):
            return None, None
        values, spreads = zip(*known, strict=True)
        return measured_capacities(values, spreads, by_water=by_water)

    def _kelvin(self, name: str) -> tuple[float, float]:
        value, spread = self.told_of(name) or (math.nan, 0.0)
        line = quantity(name).chart
        if not line:
            return value, spread
        at, slope = self.view.panel.charts[0].temperature(value, line)
        return at, spread * slope


def _quantities(
    plate: Nameplate, today: Today, model: Mapping[str, Expected], read: _Read
) -> Iterator[Judged]:
    cooling = read.view.panel.demand == "cool"
    superheat = [(model["superheat_k"], SUPERHEAT_INSTALLER)]
    if cooling and plate.is_valve:
        low, high = VALVE_SUPERHEAT_INSTALLER_K
        valve = Expected(0.5 * (low + high), 0.0, VALVE_SOURCE)
        superheat.append((valve, Band(0.5 * (high - low), 0.5 * (high - low))))
    elif cooling:
        superheat.append((chart_superheat(today), SUPERHEAT_INSTALLER))
    yield _in_kelvin("superheat", superheat, read.of("superheat"))
    under = [(model["subcooling_k"], SUBCOOLING_INSTALLER)]
    yield _in_kelvin("subcooling", under, read.of("subcooling"))
    rise = read.of("split")
    if not cooling:
        turned = replace(model["split_k"], value=-(model["split_k"].value or 0.0))
        yield _in_kelvin("rise", [(turned, SPLIT_INSTALLER)], rise)
        yield _pressure("suction-pressure", model["suction_pa"], read.told_of("suction_pressure"))
        yield _pressure("liquid-pressure", model["liquid_pa"], read.told_of("liquid_pressure"))
        yield _capacity("capacity", model["net_w"], None)
        return
    split = [(model["split_k"], SPLIT_INSTALLER), (chart_split(today), SPLIT_INSTALLER)]
    yield _in_kelvin("split", split, None if rise is None else (-rise[0], rise[1]))
    total, sensible = read.capacities(plate.tons)
    yield _capacity("capacity", model["net_w"], total)
    yield _capacity("sensible-capacity", model["sensible_w"], sensible)


def _in_kelvin(
    name: str,
    sources: list[tuple[Expected, Band]],
    read: tuple[float, float] | None,
) -> Judged:
    targets = tuple(_target(target, band, read) for target, band in sources)
    value, spread = (None, None) if read is None else (_degf(read[0]), _degf(read[1]))
    return Judged(
        name, TITLES[name], "delta °F", value, spread, _degf(sources[0][1].above), targets
    )


def _target(target: Expected, band: Band, read: tuple[float, float] | None) -> Target:
    if target.value is None:
        return Target(target.source, None, None, "", target.note)
    verdict = ""
    if read is not None:
        spread = together(target.deviation, read[1])
        verdict = _WORDS[judged(read[0], target.value, band, spread)]
    spread_f = _degf(target.deviation) if target.deviation else _degf(band.above)
    return Target(target.source, _degf(target.value), spread_f, verdict, target.note)


_WORDS: Final = {
    Verdict.OK: "ok",
    Verdict.LOW: "low",
    Verdict.HIGH: "high",
    Verdict.TOO_CLOSE: "too-close",
}


def _capacity(name: str, target: Expected, read: Measured | None) -> Judged:
    wanted = target.value or 0.0
    allowed = CAPACITY_BAND * abs(wanted)
    verdict = ""
    if read is not None:
        spread = together(target.deviation, read[1])
        verdict = _WORDS[judged(read[0], wanted, Band(allowed, allowed), spread)]
    source = Target(target.source, _btu_h(wanted), _btu_h(target.deviation), verdict, target.note)
    value, deviation = (None, None) if read is None else (_btu_h(read[0]), _btu_h(read[1]))
    return Judged(name, TITLES[name], "Btu/h", value, deviation, _btu_h(allowed), (source,))


def _pressure(name: str, target: Expected, read: tuple[float, float] | None) -> Judged:
    """Return a gauge pressure beside the model's; no published band says what passes."""
    wanted = _psi((target.value or 0.0) - ATMOSPHERE_PA)
    source = Target(target.source, wanted, _psi(target.deviation), "", target.note)
    value, spread = (None, None) if read is None else (_psi(read[0]), _psi(read[1]))
    return Judged(name, TITLES[name], "psig", value, spread, None, (source,))


def _psi(pascal: float) -> float:
    return round(pascal / PSI_PA, 1)


def _btu_h(watt: float) -> float:
    return round(watt / WATT_PER_BTU_H, -2)


def _degf(kelvin: float) -> float:
    return round(kelvin * 1.8, 1)
