"""What a refrigerant's tables answer: saturation, superheated vapour and subcooled liquid.

Pressures are absolute. Bubble temperatures are for subcooling, dew temperatures for superheat.
Nothing here checks spans: these functions run inside solvers, millions of times, and hold or
extend the border outside (see `Line` and `Sheet`); `RefrigerantTable.lowest_pressure_pa` and
`highest_pressure_pa` give the span, and the readers for people are in `reading`.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from catchpan.physics.elementwise import exp, log, maximum, sqrt
from catchpan.physics.refrigerant.fluid import Refrigerant
from catchpan.physics.refrigerant.grid import Line, Sheet
from catchpan.units.span import FloatArray

_ABOVE: Final = 1.002
"""The tables' places run to infinity at this share of the critical pressure."""


@dataclass(frozen=True)
class Saturation:
    """A refrigerant on its two saturation lines at one pressure.

    Parameters
    ----------
    bubble_k, dew_k : FloatArray
        Where boiling begins and ends [K].
    liquid_enthalpy_j_kg, vapour_enthalpy_j_kg : FloatArray
        Enthalpies at bubble and dew [J/kg].
    liquid_density_kg_m3, vapour_density_kg_m3 : FloatArray
        Densities at bubble and dew [kg/m3].
    vapour_entropy_j_kg_k, latent_entropy_j_kg_k : FloatArray
        Entropy at dew, and dew minus bubble [J/(kg K)].
    """

    bubble_k: FloatArray
    dew_k: FloatArray
    liquid_enthalpy_j_kg: FloatArray
    vapour_enthalpy_j_kg: FloatArray
    liquid_density_kg_m3: FloatArray
    vapour_density_kg_m3: FloatArray
    vapour_entropy_j_kg_k: FloatArray
    latent_entropy_j_kg_k: FloatArray

    @property
    def latent_j_kg(self) -> FloatArray:
        """Heat of evaporation [J/kg]."""
        return self.vapour_enthalpy_j_kg - self.liquid_enthalpy_j_kg

    def quality(self, enthalpy_j_kg: FloatArray) -> FloatArray:
        """Return the vapour share by mass at an enthalpy [J/kg]; outside 0 to 1 off the dome."""
        return (enthalpy_j_kg - self.liquid_enthalpy_j_kg) / self.latent_j_kg


@dataclass(frozen=True)
class RefrigerantTable:
    """Tables of one refrigerant; made by `catchpan.physics.refrigerant.shelf`.

    Parameters
    ----------
    fluid : Refrigerant
        Which one.
    critical_pressure_pa, critical_temperature_k : float
        Critical point [Pa], [K].
    lines : Line
        The fields of `Saturation` against `place_of_pressure`.
    log_pressures : Line
        Logarithms of bubble and dew pressure against temperature [K].
    vapour, liquid : Sheet
        Enthalpy over saturation [J/kg], specific volume over that at saturation and entropy over
        saturation [J/(kg K)] against `place_of_pressure` and the root of the degrees from it.
    vapour_from_enthalpy : Sheet
        Degrees over dew, volume ratio and entropy over dew against place and the root of enthalpy
        over dew.
    vapour_from_entropy : Sheet
        Enthalpy over dew against place and the root of entropy over dew.
    liquid_from_enthalpy : Sheet
        Degrees under bubble and volume ratio against place and the root of enthalpy under bubble.
    """

    fluid: Refrigerant
    critical_pressure_pa: float
    critical_temperature_k: float
    lines: Line
    log_pressures: Line
    vapour: Sheet
    liquid: Sheet
    vapour_from_enthalpy: Sheet
    vapour_from_entropy: Sheet
    liquid_from_enthalpy: Sheet

    @cached_property
    def highest_dew_k(self) -> float:
        """Upper end of the tables, dew temperature [K]."""
        line = self.log_pressures
        return line.start + line.step * (len(line.values) - 1)

    @cached_property
    def latent_at_ice_point_j_kg(self) -> float:
        """Heat of evaporation at 273.15 K [J/kg]."""
        pressure = self.dew_pressure_pa(np.asarray(273.15))
        return float(self.saturation(pressure).latent_j_kg)

    @cached_property
    def lowest_pressure_pa(self) -> float:
        """Lower end of the tables [Pa]."""
        return float(self._pressure_at(self.lines.start))

    @cached_property
    def highest_pressure_pa(self) -> float:
        """Upper end of the tables [Pa]."""
        return float(
            self._pressure_at(self.lines.start + self.lines.step * (len(self.lines.values) - 1))
        )

    def saturation(self, pressure_pa: FloatArray) -> Saturation:
        """Return both saturation lines at a pressure.

        Parameters
        ----------
        pressure_pa : FloatArray
            Absolute pressure [Pa], within the tables.

        Returns
        -------
        Saturation
            Shaped like the pressure.

        Source: CoolProp, tabulated; measured error in docs/models/refrigerant-and-cycle.md.
        """
        return Saturation(*self.lines.at(self._x(pressure_pa)))

    def bubble_pressure_pa(self, temperature_k: FloatArray | float) -> FloatArray:
        """Return the pressure [Pa] at which liquid of this temperature [K] begins to boil."""
        return exp(self.log_pressures.at(temperature_k)[0])

    def dew_pressure_pa(self, temperature_k: FloatArray) -> FloatArray:
        """Return the pressure [Pa] at which vapour of this temperature [K] begins to condense."""
        return exp(self.log_pressures.at(temperature_k)[1])

    def vapour_over_dew(
        self, pressure_pa: FloatArray, superheat_k: FloatArray | float
    ) -> tuple[FloatArray, ...]:
        """Return superheated vapour relative to its dew point.

        Parameters
        ----------
        pressure_pa : FloatArray
            Absolute pressure [Pa], within the tables.
        superheat_k : FloatArray
            Degrees over dew [K], 0 to 130.

        Returns
        -------
        tuple of FloatArray
            Enthalpy over dew [J/kg], volume over that at dew, entropy over dew [J/(kg K)].

        Source: CoolProp, tabulated.
        """
        return self.vapour.at(self._x(pressure_pa), sqrt(maximum(superheat_k, 0.0)))

    def superheat(
        self, pressure_pa: FloatArray, over_dew_j_kg: FloatArray
    ) -> tuple[FloatArray, ...]:
        """Return superheated vapour from its enthalpy.

        Parameters
        ----------
        pressure_pa : FloatArray
            Absolute pressure [Pa], within the tables.
        over_dew_j_kg : FloatArray
            Enthalpy over dew [J/kg]; below 0 counts as 0.

        Returns
        -------
        tuple of FloatArray
            Degrees over dew [K], volume over that at dew, entropy over dew [J/(kg K)].

        Source: CoolProp, tabulated.
        """
        rooted = sqrt(maximum(over_dew_j_kg, 0.0))
        return self.vapour_from_enthalpy.at(self._x(pressure_pa), rooted)

    def isentropic_over_dew_j_kg(
        self, pressure_pa: FloatArray, over_dew_j_kg_k: FloatArray
    ) -> FloatArray:
        """Return vapour enthalpy over dew [J/kg] from pressure [Pa] and entropy over dew."""
        rooted = sqrt(maximum(over_dew_j_kg_k, 0.0))
        return self.vapour_from_entropy.at(self._x(pressure_pa), rooted)[0]

    def liquid_under_bubble(
        self, pressure_pa: FloatArray, subcooling_k: FloatArray
    ) -> tuple[FloatArray, ...]:
        """Return subcooled liquid relative to its bubble point.

        Parameters
        ----------
        pressure_pa : FloatArray
            Absolute pressure [Pa], within the tables.
        subcooling_k : FloatArray
            Degrees under bubble [K], 0 to 60.

        Returns
        -------
        tuple of FloatArray
            Enthalpy under bubble [J/kg] (positive), volume over that at bubble, entropy under
            bubble [J/(kg K)].

        Source: CoolProp, tabulated.
        """
        return self.liquid.at(self._x(pressure_pa), sqrt(maximum(subcooling_k, 0.0)))

    def subcooling(
        self, pressure_pa: FloatArray, under_bubble_j_kg: FloatArray
    ) -> tuple[FloatArray, ...]:
        """Return subcooled liquid from its enthalpy.

        Parameters
        ----------
        pressure_pa : FloatArray
            Absolute pressure [Pa], within the tables.
        under_bubble_j_kg : FloatArray
            Enthalpy under bubble [J/kg]; below 0 counts as 0.

        Returns
        -------
        tuple of FloatArray
            Degrees under bubble [K], volume over that at bubble.

        Source: CoolProp, tabulated.
        """
        rooted = sqrt(maximum(under_bubble_j_kg, 0.0))
        return self.liquid_from_enthalpy.at(self._x(pressure_pa), rooted)

    def _x(self, pressure_pa: FloatArray) -> FloatArray:
        return place_of_pressure(pressure_pa, self.critical_pressure_pa)

    def _pressure_at(self, place: float) -> FloatArray:
        return pressure_at_place_pa(np.asarray(place), self.critical_pressure_pa)


def place_of_pressure(pressure_pa: FloatArray, critical_pressure_pa: float) -> FloatArray:
    """Return where a pressure [Pa] lies on the tables: nodes crowd near the critical point."""
    return log(pressure_pa / (_ABOVE * critical_pressure_pa - pressure_pa))


def pressure_at_place_pa(place: FloatArray, critical_pressure_pa: float) -> FloatArray:
    """Return the pressure [Pa] that lies at a place of the tables."""
    return _ABOVE * critical_pressure_pa / (1.0 + exp(-place))
