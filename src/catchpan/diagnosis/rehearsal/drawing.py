"""Drawing the calls of a rehearsal: what is wrong in which home, given what the caller says."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import islice
from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.rehearsal.luck import Luck
from catchpan.diagnosis.rehearsal.plant_home import PlantHome
from catchpan.diagnosis.worlds.enumerate_worlds import PAIR_STAGE, chains
from catchpan.diagnosis.worlds.family import OTHER

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from numpy.typing import NDArray

    from catchpan.diagnosis.rehearsal.departure import Departure
    from catchpan.diagnosis.rehearsal.unit import Unit
    from catchpan.diagnosis.worlds.family import Family

MOST_DRAWS: Final = 500
AT_FIRST: Final = 4
"""So many draws of a call are simulated beforehand."""

ROOTS: Final = 3
"""So many roots has a call with more than the planner reckons with."""

RATES: Final = -1
"""The call number that stands for all calls of a rehearsal: how far the rates are off."""


@dataclass(frozen=True)
class Complaint:
    """What the caller says: an answer to one of the complaint's checks."""

    check_id: str
    outcome_id: str


@dataclass(frozen=True, eq=False)
class Drawing:
    """All the calls of a rehearsal, each the same whenever it is drawn.

    Parameters
    ----------
    pool
        Every world that can be, compiled from the whole catalog.
    unknown
        Roots that the planner's own catalog does not hold.
    units
        The units that are out there; every home has one of them.
    """

    pool: Family
    unknown: frozenset[str]
    complaint: Complaint
    departure: Departure
    units: Sequence[Unit]
    seed: int

    def home(self, call: int) -> PlantHome:
        """Draw the home of one call.

        Worlds are drawn by the departed prior until the caller of one makes the complaint, with
        the slips that people make.

        Raises
        ------
        RuntimeError
            When next to no world makes the complaint.
        """
        for draw, unit, conditions in self._tries(call):
            home = PlantHome(unit, conditions, self.departure, Luck(self.seed, call, draw))
            if home.answer(self.complaint.check_id) == self.complaint.outcome_id:
                return home
        raise RuntimeError(f"none of {MOST_DRAWS} homes makes {self.complaint.check_id}")

    def prepare(self, calls: Iterable[int]) -> None:
        """Simulate what may be drawn first for some calls at once, which is faster than singly."""
        wanted: dict[int, list[frozenset[str]]] = {}
        for call in calls:
            for _, unit, conditions in islice(self._tries(call), AT_FIRST):
                wanted.setdefault(self.units.index(unit), []).append(conditions)
        for number, sets in wanted.items():
            self.units[number].run(sets)

    def _tries(self, call: int) -> Iterator[tuple[int, Unit, frozenset[str]]]:
        """Yield what may be wrong in the home of a call, and in which unit, draw by draw."""
        rng = Luck(self.seed, call).of("call")
        unit = self.units[int(rng.integers(len(self.units)))]
        outside = bool(rng.random() < self.departure.outside)
        three = bool(rng.random() < self.departure.three)
        weights = self._outside if outside else self._inside
        for draw in range(MOST_DRAWS):
            world = self.pool.worlds[int(rng.choice(len(weights), p=weights))]
            conditions = self._with_more(world.roots, unit, rng) if three else world.conditions
            yield draw, unit, conditions

    @cached_property
    def _inside(self) -> NDArray[np.float64]:
        return self._weights(outside=False)

    @cached_property
    def _outside(self) -> NDArray[np.float64]:
        return self._weights(outside=True)

    def _weights(self, *, outside: bool) -> NDArray[np.float64]:
        worlds, rates = self.pool.worlds, Luck(self.seed, RATES)
        off = {
            root: self.departure.prior_log_sd * float(rates.of(root).standard_normal())
            for root in sorted(frozenset[str]().union(*(w.roots for w in worlds)))
        }
        moved = [sum(off[r] for r in w.roots) for w in worlds]
        right = [
            OTHER not in w.conditions and bool(w.roots & self.unknown) == outside for w in worlds
        ]
        log_weight = self.pool.log_prior + np.array(moved)
        weight = np.where(right, np.exp(log_weight - log_weight.max()), 0.0)
        result: NDArray[np.float64] = weight / weight.sum()
        return result

    def _with_more(
        self, roots: frozenset[str], unit: Unit, rng: np.random.Generator
    ) -> frozenset[str]:
        """Add roots until there are three, with what all of them leave behind."""
        while len(roots) < ROOTS:
            world = self.pool.worlds[int(rng.choice(len(self._inside), p=self._inside))]
            if len(world.roots) == 1:
                roots = roots | world.roots
        return chains(unit.bench, [(unit.known(roots), PAIR_STAGE)])[0].conditions
