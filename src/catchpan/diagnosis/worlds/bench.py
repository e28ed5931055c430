"""The test bench: a system's plant put under many sets of conditions, each simulated once.

For every set of conditions the bench keeps what each check and proof would show and which
consequences would arise, and after how long. Sets already met are not simulated again.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from catchpan.catalog.entry import ArisesEntry, FaultEntry
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.probe import Probe
from catchpan.plant.part import Surroundings
from catchpan.plant.plant import Plant
from catchpan.plant.settle import State, settle

Cell = TypeVar("Cell", np.float64, np.int8)

Conditions = frozenset[str]

AFTER: Final = ("at_once", "minutes", "hours", "days")
NEVER: Final = len(AFTER)

BATCH: Final = 4000

COLD_C: Final = 2.0
HOT_C: Final = 33.0


def surroundings(description: Description, demand: str) -> Surroundings:
    """Weather for a demand: as measured where known, else a hot or a cold day (assumed)."""
    heating = demand in {"heat", "emergency"}
    usual_out, usual_in = (COLD_C, 19.0) if heating else (HOT_C, 26.5)
    outdoor, indoor = description.outdoor_c, description.indoor_c
    matches = outdoor is not None and (outdoor < 16.0) == heating
    return Surroundings(
        demand,
        outdoor if matches and outdoor is not None else usual_out,
        indoor if indoor is not None else usual_in,
        description.indoor_rh,
    )


@dataclass
class Bench:
    """One plant with everything that is ever read off it.

    Parameters
    ----------
    plant : Plant
        The system, its options settled.
    description : Description
        Gives the weather.
    demands : sequence of str
        Demands the archetype knows.
    probes : mapping of str to Probe
        What to read, by check or proof id.
    consequences : mapping of str to FaultEntry
        The consequences that can arise here.
    """

    plant: Plant
    description: Description
    demands: Sequence[str]
    probes: Mapping[str, Probe]
    consequences: Mapping[str, FaultEntry]
    _row: dict[Conditions, int] = field(default_factory=dict)
    _numbers: list[NDArray[np.float64]] = field(default_factory=list)
    _after: list[NDArray[np.int8]] = field(default_factory=list)

    def run(self, sets: Iterable[Conditions]) -> None:
        """Simulate every set of conditions not met before."""
        fresh = [s for s in dict.fromkeys(sets) if s not in self._row]
        for start in range(0, len(fresh), BATCH):
            self._simulate(fresh[start : start + BATCH])

    def numbers(self, sets: Sequence[Conditions]) -> NDArray[np.float64]:
        """Return what every probe shows, shape (sets, probes); NaN where it cannot be taken."""
        self.run(sets)
        table = self._joined(self._numbers, len(self.probes))
        return table[[self._row[s] for s in sets]]

    def after(self, sets: Sequence[Conditions]) -> NDArray[np.int8]:
        """Position in ``AFTER`` at which each consequence arises (NEVER if it does not)."""
        self.run(sets)
        table = self._joined(self._after, len(self.consequences))
        return table[[self._row[s] for s in sets]]

    def _joined(self, blocks: list[NDArray[Cell]], width: int) -> NDArray[Cell]:
        if not blocks:
            raise RuntimeError(f"nothing was simulated for {width} columns")
        if len(blocks) > 1:
            blocks[:] = [np.concatenate(blocks)]
        return blocks[0]

    def _simulate(self, sets: Sequence[Conditions]) -> None:
        setup = self.plant.set_up(sets)
        numbers = np.full((len(sets), len(self.probes)), np.nan)
        after = np.full((len(sets), len(self.consequences)), NEVER, dtype=np.int8)
        for demand in self.demands:
            state = settle(self.plant, setup, surroundings(self.description, demand))
            for column, probe in enumerate(self.probes.values()):
                if probe.demand == demand:
                    numbers[:, column] = probe.read(state)
            self._note_consequences(state, demand, after)
        self._note_brought(sets, after)
        for s in sets:
            self._row[s] = len(self._row)
        self._numbers.append(numbers)
        self._after.append(after)

    def _note_consequences(self, state: State, demand: str, after: NDArray[np.int8]) -> None:
        for column, fault in enumerate(self.consequences.values()):
            for entry in fault.arises:
                if entry.demand not in {demand, "any"}:
                    continue
                holds = _holds(entry, state)
                moment = np.int8(AFTER.index(entry.after))
                after[:, column] = np.where(
                    holds, np.minimum(after[:, column], moment), after[:, column]
                )

    def _note_brought(self, sets: Sequence[Conditions], after: NDArray[np.int8]) -> None:
        for column, fault in enumerate(self.consequences.values()):
            for entry in fault.brought:
                moment = np.int8(AFTER.index(entry.after))
                for row, conditions in enumerate(sets):
                    if entry.by in conditions:
                        after[row, column] = min(after[row, column], moment)


def _holds(entry: ArisesEntry, state: State) -> NDArray[np.bool_]:
    holds = np.ones(state.setup.size, dtype=np.bool_)
    for clause in entry.all:
        level = state.signals.get(clause.signal)
        if level is None:
            return np.zeros(state.setup.size, dtype=np.bool_)
        if clause.above is not None:
            holds &= level > clause.above
        if clause.below is not None:
            holds &= level < clause.below
    return holds


def chance_of(fault: FaultEntry) -> float:
    """Chance that a consequence whose cause holds has in fact been left behind."""
    chances = [e.chance.value for e in fault.arises] + [e.chance.value for e in fault.brought]
    return max(chances)
