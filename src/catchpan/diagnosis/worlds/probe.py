"""What a check or proof reads off a settled plant."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catchpan.catalog.entry import ObserveEntry
from catchpan.physics.circuits.branch import GROUND
from catchpan.physics.circuits.network import METER_OHM
from catchpan.plant import meter
from catchpan.plant.plant import Plant
from catchpan.plant.settle import State


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
            return meter.current(state, look.of)
        if look.quantity == "capacitance":
            return meter.capacitance_of(state, look.of)
        return self._resistance(state)

    def _resistance(self, state: State) -> NDArray[np.float64]:
        look = self.observe
        if look.between is None:
            return meter.resistance_of(state, look.of)
        if look.of:
            return meter.resistance_across(state, look.of, *look.between)
        return meter.resistance_between(state, *look.between)

    def _voltage(self, state: State) -> NDArray[np.float64]:
        low = self.observe.meter == "low_impedance"
        ohm = meter.LOW_IMPEDANCE_OHM if low else METER_OHM
        a, b = self.observe.between or ("", "")
        return meter.voltage(state, a, b, ohm)
