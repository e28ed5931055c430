"""One unit as it left the factory and was put in: near the planner's plant, but not it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.catalog.system import archetype, blueprint, effect, faults_of
from catchpan.diagnosis.rehearsal.departure import Departure
from catchpan.diagnosis.worlds.compile_family import new_bench
from catchpan.diagnosis.worlds.enumerate_worlds import chains
from catchpan.diagnosis.worlds.timely import timely_catalog
from catchpan.diagnosis.worlds.working import seen_working
from catchpan.plant.blueprint import BranchEffect, PartSpec, ShortEffect, ValueEffect
from catchpan.plant.parts.registry import TYPES
from catchpan.plant.plant import Plant

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from catchpan.catalog.load import Catalog
    from catchpan.diagnosis.worlds.bench import Bench, Conditions
    from catchpan.diagnosis.worlds.description import Description
    from catchpan.plant.blueprint import Blueprint, Effect

SPREAD: Final = (
    "ohm",
    "watts",
    "amps",
    "_uf",
    "_m3_s",
    "kilowatt",
    "microamp",
    "efficiency",
    "charge",
    "outdoor_air",
    "coil",
    "return_duct",
    "supply_duct",
    "needed_share",
)
"""What differs from unit to unit: values whose names end so."""

VOLTS: Final = ("leg_volts", "open_volts")
VOLTS_SHARE: Final = 0.3
"""Mains and transformers spread less than parts: +-5 % is allowed (ANSI C84.1, range A)."""

DAYS: Final = 3
"""The stage of time at which a call-back would come."""

TRIES: Final = 30


@dataclass
class Unit:
    """A plant with its own figures, on a bench of its own.

    Parameters
    ----------
    sound
        What a unit as the planner knows it shows in each probe when nothing is wrong: what proofs
        of the running circuit are judged against.
    """

    description: Description
    data: Catalog
    bench: Bench
    sound: Mapping[str, float] = field(default_factory=dict)

    def shows(self, probe: str, conditions: Conditions) -> float | None:
        """Return what a probe shows under the conditions; None where there is nothing to see."""
        if probe not in self.bench.probes:
            return None
        column = list(self.bench.probes).index(probe)
        value = float(self.bench.numbers([self.known(conditions)])[0, column])
        return None if np.isnan(value) else value

    def run(self, sets: Iterable[Conditions]) -> None:
        """Simulate many sets of conditions at once, which is much faster than one by one."""
        self.bench.run([self.known(s) for s in sets])

    def known(self, conditions: Conditions) -> Conditions:
        """Return the conditions that this plant has."""
        return conditions & frozenset(self.bench.plant.conditions)

    def works(self, conditions: Conditions) -> bool:
        """Say whether the system is seen to work now; what shows now and then is no work."""
        wavering = any(self.data.faults[c].seen_share is not None for c in conditions)
        return not wavering and bool(seen_working(self.bench, [self.known(conditions)])[0])

    def stays_working(self, conditions: Conditions) -> bool:
        """Say whether it would still work after days of running with the conditions."""
        if not self.works(conditions):
            return False
        later = chains(self.bench, [(self.known(conditions), DAYS)])[0].conditions
        return self.works(later)

    def arising(self, conditions: Conditions) -> dict[str, int]:
        """Return the consequences that would arise, with their stage of time."""
        after = self.bench.after([self.known(conditions)])[0]
        found = zip(self.bench.consequences, after.tolist(), strict=True)
        return {name: stage for name, stage in found if stage <= DAYS and name not in conditions}


def units(
    description: Description, data: Catalog, departure: Departure, count: int, seed: int
) -> tuple[Unit, ...]:
    """Make units that work when nothing is wrong with them.

    A unit that its own tolerances keep from working is no fault to be found; another is taken.

    Parameters
    ----------
    description : Description
        With a value for every option.
    count : int
        How many; without a spread they are all alike and one is enough.
    """
    data = timely_catalog(data, description)
    spread = departure.plant_log_sd > 0.0 or departure.severity_log_sd > 0.0
    usual = _unit(description, data, Departure(), np.random.default_rng(0))
    shown = usual.bench.numbers([frozenset()])[0].tolist()
    sound = dict(zip(usual.bench.probes, shown, strict=True))
    made: list[Unit] = []
    for k in range(TRIES * count):
        unit = _unit(description, data, departure, np.random.default_rng([seed, 1, k]))
        if unit.works(frozenset()):
            made.append(replace(unit, sound=sound))
        if len(made) == (count if spread else 1):
            return tuple(made)
    raise RuntimeError(f"only {len(made)} of {TRIES * count} units work when nothing is wrong")


def _unit(
    description: Description, data: Catalog, departure: Departure, rng: np.random.Generator
) -> Unit:
    plan = blueprint(description.archetype, description.options, data)
    faults = faults_of(description.archetype, description.options, data)
    effects = {
        f.id: tuple(_worse(effect(e), departure.severity_log_sd, rng) for e in f.effects)
        for f in faults.values()
    }
    plant = Plant(_spread_out(plan, departure.plant_log_sd, rng), effects)
    demands = archetype(description.archetype, data).demands
    return Unit(description, data, new_bench(plant, description, data, demands, frozenset()))


def _spread_out(plan: Blueprint, log_sd: float, rng: np.random.Generator) -> Blueprint:
    return replace(plan, parts=tuple(_part(p, log_sd, rng) for p in plan.parts))


def _part(spec: PartSpec, log_sd: float, rng: np.random.Generator) -> PartSpec:
    usual = {**TYPES[spec.type].VALUES, **spec.settings}
    drawn = {}
    for name, value in usual.items():
        z = float(rng.standard_normal())
        if isinstance(value, bool | str) or not value:
            continue
        if name in VOLTS:
            drawn[name] = value * float(np.exp(VOLTS_SHARE * log_sd * z))
        elif name.endswith(SPREAD):
            drawn[name] = value * float(np.exp(log_sd * z))
    return replace(spec, settings={**spec.settings, **drawn})


def _worse(what: Effect, log_sd: float, rng: np.random.Generator) -> Effect:
    """Return a fault's effect at a degree of its own; what is there or not has no degree."""
    factor = float(np.exp(log_sd * rng.standard_normal()))
    match what:
        case ShortEffect():
            return replace(what, ohm=what.ohm * factor)
        case BranchEffect(do="ohm"):
            return replace(what, value=what.value * factor)
        case BranchEffect(do="factor") | ValueEffect(do="times"):
            return replace(what, value=float(what.value**factor)) if what.value > 0 else what
        case ValueEffect(do="add"):
            return replace(what, value=what.value * factor)
        case _:
            return what
