"""What a check or proof reads off a settled plant."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catchpan.catalog.entry import ObserveEntry
from catchpan.diagnosis.worlds.panel_chart import charts_of
from catchpan.diagnosis.worlds.panel_quantity import quantity
from catchpan.physics.circuits.branch import GROUND
from catchpan.physics.circuits.network import METER_OHM
from catchpan.plant import meter
from catchpan.plant.degrees import circuit_of
from catchpan.plant.plant import Plant
from catchpan.plant.refrigeration import air_of, warmed_wet_bulb_k
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
        if look.quantity == "cycle":
            return "cycle.given.runs" in signals
        return look.of in plant.column

    def read(self, state: State) -> NDArray[np.float64]:
        """Return what the instrument or eye would find in each world, shape (B,)."""
        look = self.observe
        if look.quantity == "signal":
            return state.signals[look.of]
        if look.quantity == "cycle":
            return self._cycle(state)
        if look.quantity == "voltage":
            return self._voltage(state)
        if look.quantity == "current":
            return meter.current(state, look.of)
        if look.quantity == "capacitance":
            return meter.capacitance_of(state, look.of)
        return self._resistance(state)

    def _cycle(self, state: State) -> NDArray[np.float64]:
        """Return a quantity of the circuit as settled, in the weather it was settled in."""
        asked, around = quantity(self.observe.of), state.around
        air = air_of(around.outdoor_c, around.indoor_c, around.indoor_rh)
        found = np.zeros(state.setup.size)
        for name, weight in asked.of:
            found += weight * _reading(state, name)
        for name, weight in asked.weather:
            found += weight * float(getattr(air, name))
        if not asked.chart:
            return found
        other = state.signals["cycle.given.other_refrigerant"] > 0.5
        charts = charts_of(circuit_of(state.plant).plate)
        plate, wrong = (chart.gauge_pa(found, asked.chart)[0] for chart in charts)
        return np.where(other, wrong, plate)

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


def _reading(state: State, name: str) -> NDArray[np.float64]:
    """Return one variable of the panel as the plant publishes it."""
    if name == "indoor_leaving_k":
        return state.signals["supply.rise_k"] + state.around.indoor_c + 273.15
    if name == "indoor_leaving_wet_bulb_k":
        damp, leaving = (state.signals[f"cycle.{n}"] for n in (name, "indoor_leaving_k"))
        return warmed_wet_bulb_k(leaving, damp, state.signals["supply.added_k"])
    elsewhere = {"compressor_a": "compressor.clamp_a", "condensate_kg_s": "condensate.kg_s"}
    return state.signals[elsewhere.get(name, f"cycle.{name}")]
