"""What a check or proof reads off a settled plant."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catchpan.catalog.entry import ObserveEntry
from catchpan.physics.circuits.branch import GROUND, OMEGA_RAD_S
from catchpan.physics.circuits.network import METER_OHM
from catchpan.plant.plant import Plant
from catchpan.plant.settle import State

LOW_IMPEDANCE_OHM = 3000.0
"""Input resistance of a meter's low-impedance range (common practice, no source)."""


@dataclass(frozen=True)
class Probe:
    """One physical observation; ``demand`` is what the thermostat asks for meanwhile."""

    observe: ObserveEntry

    @property
    def demand(self) -> str:
        """Demand under which it is taken."""
        return self.observe.demand

    def fits(self, plant: Plant, signals: frozenset[str]) -> bool:
        """Whether the system has what the observation looks at."""
        look = self.observe
        if look.between is not None:
            return all(t == GROUND or t in plant.join for t in look.between)
        if look.quantity == "signal":
            return look.of in signals
        return look.of in plant.column

    def read(self, state: State) -> NDArray[np.float64]:
        """Return what the instrument or eye would find in each world, shape (B,)."""
        look = self.observe
        if look.quantity == "signal":
            return state.signals[look.of]
        if look.quantity == "voltage":
            return self._voltage(state)
        if look.quantity == "current":
            return state.solution.amps(look.of)
        if look.quantity == "capacitance":
            return _capacitance(state, look.of)
        if look.between is not None:
            a, b = (state.plant.join.get(t, t) for t in look.between)
            return state.plant.network.ohmmeter(state.solution.levels, a, b)
        return _isolated(state, look.of)

    def _voltage(self, state: State) -> NDArray[np.float64]:
        a, b = (state.plant.join.get(t, t) for t in self.observe.between or ())
        meter = LOW_IMPEDANCE_OHM if self.observe.meter == "low_impedance" else METER_OHM
        return state.plant.network.voltmeter(state.solution, a, b, meter)


def _levels(state: State, branch: str) -> NDArray[np.uint8]:
    column: NDArray[np.uint8] = state.solution.levels[:, state.plant.column[branch]]
    return column


def _isolated(state: State, branch: str) -> NDArray[np.float64]:
    found = state.plant.network.branches[state.plant.column[branch]]
    ohm = np.array([level.dc_ohm for level in found.levels])[_levels(state, branch)]
    return np.where(ohm > 4.0e7, np.inf, ohm)


def _capacitance(state: State, branch: str) -> NDArray[np.float64]:
    found = state.plant.network.branches[state.plant.column[branch]]
    reactive = np.array([level.impedance_ohm.imag for level in found.levels])
    farad = np.where(reactive < 0.0, -1.0 / (OMEGA_RAD_S * np.minimum(reactive, -1e-9)), 0.0)
    return np.asarray(farad[_levels(state, branch)])
