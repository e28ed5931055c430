"""What can be read off a running circuit, as straight-line functions of one vector of readings.

Pressures are kept as saturation temperatures: in them superheat and subcooling are differences,
and a reading's spread is that of the gauge divided by the slope of the chart.
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from catchpan.plant.refrigeration import INSTRUMENTS
from catchpan.units.errors import UnknownName

Array = NDArray[np.float64]

VARIABLES: Final = INSTRUMENTS
"""The panel's vector, by the names of the plant's readings."""

WEATHER: Final = ("outdoor_k", "indoor_k", "indoor_wet_bulb_k")
"""The conditions of the visit that readings depend on."""

Chart = Literal["", "dew", "bubble"]


@dataclass(frozen=True)
class Quantity:
    """One quantity: its weights on the panel's vector and on the weather.

    Parameters
    ----------
    of, weather : tuple of (name, weight)
        Straight-line function of ``VARIABLES`` and of ``WEATHER``.
    span : float
        Width within which a slip may land [same unit]; for a pressure in kelvin of saturation.
    chart : str
        The line by which a gauge pressure is turned into temperature; empty for none.
    """

    of: tuple[tuple[str, float], ...]
    weather: tuple[tuple[str, float], ...] = ()
    span: float = 60.0
    chart: Chart = ""

    @property
    def is_weather(self) -> bool:
        """Whether it reads the weather alone."""
        return not self.of

    def rows(self) -> tuple[Array, Array]:
        """Weights on the vector and on the weather, shapes (variables,) and (3,)."""
        on, air = np.zeros(len(VARIABLES)), np.zeros(len(WEATHER))
        for name, weight in self.of:
            on[VARIABLES.index(name)] = weight
        for name, weight in self.weather:
            air[WEATHER.index(name)] = weight
        return on, air


QUANTITIES: Final = {
    "suction_pressure": Quantity((("evaporating_k", 1.0),), chart="dew"),
    "liquid_pressure": Quantity((("condensing_k", 1.0),), chart="bubble"),
    "suction_line": Quantity((("suction_line_k", 1.0),)),
    "liquid_line": Quantity((("liquid_line_k", 1.0),)),
    "discharge_line": Quantity((("discharge_k", 1.0),), span=120.0),
    "superheat": Quantity((("suction_line_k", 1.0), ("evaporating_k", -1.0)), span=50.0),
    "subcooling": Quantity((("condensing_k", 1.0), ("liquid_line_k", -1.0)), span=40.0),
    "liquid_drop": Quantity((("liquid_drop_k", 1.0),), span=40.0),
    "approach": Quantity((("liquid_line_k", 1.0),), (("outdoor_k", -1.0),), span=40.0),
    "supply_air": Quantity((("indoor_leaving_k", 1.0),)),
    "supply_wet_bulb": Quantity((("indoor_leaving_wet_bulb_k", 1.0),), span=30.0),
    "split": Quantity((("indoor_leaving_k", 1.0),), (("indoor_k", -1.0),), span=40.0),
    "outdoor_leaving": Quantity((("outdoor_leaving_k", 1.0),)),
    "outdoor_rise": Quantity((("outdoor_leaving_k", 1.0),), (("outdoor_k", -1.0),), span=40.0),
    "compressor_amps": Quantity((("compressor_a", 1.0),), span=80.0),
    "condensate": Quantity((("condensate_kg_s", 1.0e-3),), span=3.0e-6),
    "outdoor_air": Quantity((), (("outdoor_k", 1.0),)),
    "return_air": Quantity((), (("indoor_k", 1.0),)),
    "return_wet_bulb": Quantity((), (("indoor_wet_bulb_k", 1.0),)),
}
"""Every quantity a check may name."""

PARTS: Final = {
    "superheat": ("suction_pressure", "suction_line"),
    "subcooling": ("liquid_pressure", "liquid_line"),
    "approach": ("liquid_line", "outdoor_air"),
    "split": ("supply_air", "return_air"),
    "outdoor_rise": ("outdoor_leaving", "outdoor_air"),
}
"""What a technician works out from two readings: told besides both of them it says nothing new."""


def quantity(name: str) -> Quantity:
    """Return a quantity by name; raises UnknownName."""
    if name not in QUANTITIES:
        raise UnknownName("quantity of the cycle", name, tuple(QUANTITIES))
    return QUANTITIES[name]


@dataclass(frozen=True, eq=False)
class SaturationChart:
    """A pressure-temperature chart as the gauges have it, for absolute pressures [Pa].

    Parameters
    ----------
    refrigerant : str
        Which.
    pressure_pa, dew_k, bubble_k : array, shape (nodes,)
        Rising pressures and the temperatures there.
    """

    refrigerant: str
    pressure_pa: Array
    dew_k: Array
    bubble_k: Array

    def temperature(self, gauge_pa: float, line: Chart) -> tuple[float, float]:
        """Return the saturation temperature [K] at a gauge pressure, and its slope [K/Pa]."""
        logs, known = np.log(self.pressure_pa), self.dew_k if line == "dew" else self.bubble_k
        pressure = min(max(gauge_pa + ATMOSPHERE_PA, self.pressure_pa[0]), self.pressure_pa[-1])
        at = float(np.interp(np.log(pressure), logs, known))
        low, high = np.interp(np.log(pressure) + np.array([-0.01, 0.01]), logs, known)
        return at, float(max(high - low, 1e-6) / (0.02 * pressure))

    def gauge_pa(self, temperature_k: Array, line: Chart) -> tuple[Array, Array]:
        """Return gauge pressures [Pa] at saturation temperatures [K], and their slopes [Pa/K]."""
        known, logs = self.dew_k if line == "dew" else self.bubble_k, np.log(self.pressure_pa)
        pressure = np.exp(np.interp(temperature_k, known, logs))
        high, low = (np.interp(temperature_k + d, known, logs) for d in (0.3, -0.3))
        return pressure - ATMOSPHERE_PA, np.maximum(high - low, 1e-9) / 0.6 * pressure


ATMOSPHERE_PA: Final = 101325.0
"""Barometric pressure that gauges are taken to be at; 2000 m up they read 3 psi less (left out)."""


@dataclass(frozen=True)
class PanelLook:
    """What a check reads off the panel of a demand, and the spread of its instrument [SI]."""

    demand: str
    of: str
    instrument_sd: float
    reliability: float = 0.98
