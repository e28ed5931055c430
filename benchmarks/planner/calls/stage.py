"""The stage of one part of the study: the planner's family, the hidden homes, and the plays."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from benchmarks.planner.calls.settings import POOL, SAYS, SIZE, Setting
from catchpan.catalog.load import Catalog, catalog
from catchpan.diagnosis.inference.belief import Reading
from catchpan.diagnosis.planning.expected_cost import repair_cost
from catchpan.diagnosis.planning.job import Job
from catchpan.diagnosis.planning.practice import practice_of
from catchpan.diagnosis.rehearsal.clairvoyant import Clairvoyant, needed_repairs
from catchpan.diagnosis.rehearsal.departure import Departure
from catchpan.diagnosis.rehearsal.drawing import Complaint, Drawing
from catchpan.diagnosis.rehearsal.luck import Luck
from catchpan.diagnosis.rehearsal.play import Play
from catchpan.diagnosis.rehearsal.record import Record
from catchpan.diagnosis.rehearsal.table_home import TableHome, draw_table_home
from catchpan.diagnosis.rehearsal.tree import Node
from catchpan.diagnosis.rehearsal.unit import units
from catchpan.diagnosis.worlds.compiled import compiled

if TYPE_CHECKING:
    from collections.abc import Iterable

    from catchpan.diagnosis.planning.policy import Policy
    from catchpan.diagnosis.planning.practice import Practice
    from catchpan.diagnosis.rehearsal.plant_home import PlantHome
    from catchpan.diagnosis.rehearsal.unit import Unit
    from catchpan.diagnosis.worlds.compiled import FamilyShelf
    from catchpan.diagnosis.worlds.description import Description
    from catchpan.diagnosis.worlds.family import Family

UNITS: Final = 4
"""How many units are out there where units differ."""

UNKNOWN_SHARE: Final = 0.1
"""Share of the roots that the planner's catalog lacks where calls come from outside of it."""


@lru_cache(maxsize=2)
def _units(setting: Setting, spread: Departure, seed: int) -> tuple[Unit, ...]:
    """Return the units that are out there; departures with the same spread have the same ones."""
    data = catalog()
    return units(setting.description(data), data, spread, UNITS, seed)


@dataclass(eq=False)
class Stage:
    """Everything that calls of one setting under one departure have in common.

    Parameters
    ----------
    departure
        How the homes depart; None for the planner's own worlds and tables.
    shelf
        Keeps compiled families.
    """

    setting: Setting
    departure: Departure | None
    seed: int
    shelf: FamilyShelf
    _roots: dict[str, Node] = field(default_factory=dict)

    @cached_property
    def description(self) -> Description:
        """The system as on file."""
        return self.setting.description(catalog())

    @property
    def said(self) -> Reading:
        """What the caller complains of."""
        return Reading(self.setting.complaint, SAYS, reporter="caller")

    @cached_property
    def pool(self) -> Family:
        """All that can be wrong out there."""
        return compiled(self.description, size=POOL, shelf=self.shelf)

    @cached_property
    def unknown(self) -> frozenset[str]:
        """Roots that the planner's catalog lacks; the same for every policy."""
        if self.departure is None or self.departure.outside == 0.0:
            return frozenset()
        roots = sorted(frozenset[str]().union(*(w.roots for w in self.pool.worlds)))
        known = [r for r in roots if r in catalog().faults]
        rng = np.random.default_rng([self.seed, 2])
        return frozenset(rng.choice(known, size=round(UNKNOWN_SHARE * len(known)), replace=False))

    @cached_property
    def data(self) -> Catalog:
        """The planner's catalog."""
        if not self.unknown:
            return catalog()
        faults = catalog().faults.items()
        return replace(catalog(), faults={k: v for k, v in faults if k not in self.unknown})

    @cached_property
    def practice(self) -> Practice:
        """What the trade knows of the steps."""
        return practice_of(self.data, self.setting.season)

    @cached_property
    def family(self) -> Family:
        """The planner's worlds."""
        return compiled(self.description, self.data, size=SIZE, shelf=self.shelf)

    @cached_property
    def drawing(self) -> Drawing:
        """The hidden calls."""
        if self.departure is None:
            raise TypeError("the planner's own worlds are not drawn from a pool")
        spread = Departure(
            plant_log_sd=self.departure.plant_log_sd,
            severity_log_sd=self.departure.severity_log_sd,
        )
        out_there = _units(self.setting, spread, self.seed)
        complaint = Complaint(self.setting.complaint, SAYS)
        return Drawing(self.pool, self.unknown, complaint, self.departure, out_there, self.seed)

    def ready(self, calls: Iterable[int]) -> None:
        """Compile and simulate what some calls need, before they are played."""
        if self.departure is not None:
            self.drawing.prepare(calls)
        _ = self.family

    def home(self, call: int) -> PlantHome | TableHome:
        """Return the home of one call, as new."""
        if self.departure is None:
            luck = Luck(self.seed, call)
            return draw_table_home(self.family, self.said, luck, self.practice.puts_back)
        return self.drawing.home(call)

    def played(self, call: int, name: str, policy: Policy | None) -> Record:
        """Play one call to its end; without a policy, by somebody who knows what is wrong."""
        home = self.home(call)
        there = sorted(home.left_over())
        outside = bool(self.unknown & home.left_over())
        record = Record(call, name, there, outside)
        family = self.pool if self.departure is not None else self.family
        if policy is None:
            Clairvoyant(family, home, home, record, self.practice.puts_back).to_the_end()
        else:
            Play(policy, home, home, self._root(name), record).to_the_end()
        record.fixed = home.is_fixed()
        record.cost_dollars = record.parts_dollars + record.hazard_dollars
        record.cost_dollars += record.minutes * family.dollars_per_minute
        if not record.fixed:
            owed = sum(repair_cost(family, r) for r in needed_repairs(family, home))
            record.cost_dollars += family.call_back_dollars + owed
            record.again_minutes = self._again(family, home)
        return record

    def _again(self, family: Family, home: PlantHome | TableHome) -> float:
        """Return the minutes of a second visit by somebody who knows what is left."""
        visit = Record(0, "", [], outside=False)
        return Clairvoyant(family, home, home, visit, self.practice.puts_back).to_the_end().minutes

    def _root(self, name: str) -> Node:
        if name not in self._roots:
            self._roots[name] = Node(Job.begin(self.family, self.practice).read(self.said))
        return self._roots[name]
