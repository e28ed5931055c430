"""The metering device: a fixed orifice, or a thermostatic expansion valve with its limits."""

from dataclasses import dataclass
from typing import Final

from catchpan.physics.elementwise import clip, log, maximum, minimum, sqrt
from catchpan.physics.refrigerant.table import RefrigerantTable, Saturation
from catchpan.units.span import FloatArray

ORIFICE_LENGTH_OVER_BORE: Final = 9.0
"""Half an inch long, 0.055 in bore (assumed)."""

MOST_SUBCOOLING_K: Final = 14.0
"""Beyond this the orifice correlation, far from its data, has a pole; it is held [K] (ours)."""

COLDEST_DATA_K: Final = 308.15
"""The correlation's data begin at 35 degC condensing; below, where it flattens and at last turns
round, flow goes with the root of the pressure instead (ours) [K]."""

_A: Final = (0.38811, 11.427, -14.194, 1.0703, -0.091928, 21.425, -581.95)
_B: Final = (*(1.1831, -1.468, -0.15285, -14.639, 9.8401, -0.019798, -1.5348, -2.0533, -17.195),)
_MOST_QUALITY: Final = 0.9


@dataclass(frozen=True)
class Metering:
    """What lets the refrigerant into the evaporator.

    Parameters
    ----------
    area_m2 : float
        Flow area, wide open [m2]; for the valve, times its discharge coefficient.
    is_valve : bool
        Whether it is a thermostatic expansion valve; otherwise a fixed orifice.
    static_superheat_k : float
        Superheat at which the valve begins to open [K] (4: tests on a 5-ton unit).
    opening_superheat_k : float
        Further superheat until it is wide open [K]. 3.8: a valve matched to its unit then stands
        nine tenths open at test A, chosen to agree with measured losses from undercharge
        (ours; the example of [li-2004] has 6).
    """

    area_m2: float
    is_valve: bool
    static_superheat_k: float = 4.0
    opening_superheat_k: float = 3.8


@dataclass(frozen=True)
class Inlet:
    """The refrigerant in front of the metering device.

    Parameters
    ----------
    pressure_pa : FloatArray
        Pressure [Pa].
    saturation : Saturation
        Both saturation lines at that pressure.
    subcooling_k : FloatArray
        Degrees under bubble [K], 0 when flashing.
    quality : FloatArray
        Vapour share, 0 when liquid.
    """

    pressure_pa: FloatArray
    saturation: Saturation
    subcooling_k: FloatArray
    quality: FloatArray

    @property
    def temperature_k(self) -> FloatArray:
        """Temperature [K]; of a flashing blend between bubble and dew by its quality."""
        glide = self.saturation.dew_k - self.saturation.bubble_k
        return self.saturation.bubble_k - self.subcooling_k + self.quality * glide

    @property
    def density_kg_m3(self) -> FloatArray:
        """Density of the mixture [kg/m3], both phases at one speed."""
        liquid = 1.0 / self.saturation.liquid_density_kg_m3
        vapour = 1.0 / self.saturation.vapour_density_kg_m3
        return 1.0 / (liquid + self.quality * (vapour - liquid))


def inlet_state(
    table: RefrigerantTable, pressure_pa: FloatArray, enthalpy_j_kg: FloatArray
) -> Inlet:
    """Return the state in front of the device, liquid or flashing, from its enthalpy."""
    saturation = table.saturation(pressure_pa)
    under = saturation.liquid_enthalpy_j_kg - enthalpy_j_kg
    subcooling, _ = table.subcooling(pressure_pa, under)
    quality = clip(saturation.quality(enthalpy_j_kg), 0.0, _MOST_QUALITY)
    return Inlet(pressure_pa, saturation, subcooling, quality)


def orifice_flux_kg_s_m2(
    table: RefrigerantTable, inlet: Inlet, downstream_pa: FloatArray
) -> FloatArray:
    """Return the mass flux through a short-tube orifice.

    Parameters
    ----------
    table : RefrigerantTable
        The refrigerant; the correlation was made with R-12, R-22, R-134a, R-502, R-407C and
        R-410A, for others it is used beyond its data.
    inlet : Inlet
        The refrigerant in front.
    downstream_pa : FloatArray
        Pressure behind [Pa]; felt only where the flow is not choked (below 30 % drop; assumed).

    Returns
    -------
    FloatArray
        Mass flux [kg/(s m2)].

    Source: [payne-oneal-2004].
    """
    critical, hottest = table.critical_pressure_pa, table.critical_temperature_k
    p_up = maximum(inlet.pressure_pa, table.bubble_pressure_pa(COLDEST_DATA_K))
    sat = table.saturation(p_up)
    subcooling = minimum(inlet.subcooling_k, MOST_SUBCOOLING_K)
    p_sat = table.bubble_pressure_pa(sat.bubble_k - subcooling)
    p3 = (p_up - p_sat) / critical
    p6 = sat.vapour_density_kg_m3 / sat.liquid_density_kg_m3
    p9 = subcooling / hottest
    above = _A[0] + _A[1] * p3 + _A[2] * p9 + _A[3] * p6 + _A[4] * log(ORIFICE_LENGTH_OVER_BORE)
    share = maximum(above / (1.0 + _A[5] * p3 + _A[6] * p9**2), 0.05)
    choked = share * sqrt(sat.liquid_density_kg_m3 * critical)
    below = sqrt(inlet.pressure_pa / p_up)
    unchoked = _unchoked_share(inlet.pressure_pa, downstream_pa)
    flashing = _flashing_share(p_up / critical, Inlet(p_up, sat, subcooling, inlet.quality))
    return choked * below * flashing * unchoked


def valve_flux_kg_s_m2(
    metering: Metering, inlet: Inlet, downstream_pa: FloatArray, superheat_k: FloatArray
) -> FloatArray:
    """Return the mass flow through a thermostatic valve per wide-open area.

    Parameters
    ----------
    metering : Metering
        The valve.
    inlet : Inlet
        The refrigerant in front; flashing costs flow as the root of the mixture's density (ours).
    downstream_pa : FloatArray
        Pressure behind [Pa].
    superheat_k : FloatArray
        At the bulb [K].

    Returns
    -------
    FloatArray
        Mass flux [kg/(s m2)]; a fiftieth of wide open is left when shut (bleed, assumed).

    Source: [li-2004] nonlinear form ``2A - A**2``.
    """
    opened = valve_opening(metering, superheat_k)
    drop = maximum(inlet.pressure_pa - downstream_pa, 100.0)
    return opened * sqrt(inlet.density_kg_m3 * drop)


def valve_opening(metering: Metering, superheat_k: FloatArray) -> FloatArray:
    """Return how far the valve is open, 0.02 to 1, from the superheat at its bulb [K]."""
    a = (superheat_k - metering.static_superheat_k) / metering.opening_superheat_k
    a = clip(a, 0.0, 1.0)
    return maximum(2.0 * a - a**2, 0.02)


def _flashing_share(reduced: FloatArray, inlet: Inlet) -> FloatArray:
    """Return the two-phase factor, 1 for liquid.

    It is divided by its own value for liquid: under the pressures of its data it would jump at the
    first bubble.
    """
    sat = inlet.saturation
    t = inlet.density_kg_m3 / sat.liquid_density_kg_m3
    slip = sqrt(sat.liquid_density_kg_m3 / sat.vapour_density_kg_m3)
    flashing = _flashing_factor(reduced, t, inlet.quality / (1.0 - inlet.quality) * slip)
    liquid = _flashing_factor(reduced, 1.0, 0.0)
    return clip(flashing / liquid, 0.02, 1.0)


def _flashing_factor(
    reduced: FloatArray, t: FloatArray | float, vapour: FloatArray | float
) -> FloatArray:
    log_p, log_t = log(1.0 - reduced), log(t)
    above = _B[0] * t + _B[1] * t**2 + _B[2] * log_t**2 + (_B[3] + _B[4]) * log_p**2
    above = above + _B[5] * log(ORIFICE_LENGTH_OVER_BORE) ** 2
    return above / (1.0 + _B[6] * t + _B[7] * vapour + _B[8] * reduced**3)


def _unchoked_share(p_up: FloatArray, p_down: FloatArray) -> FloatArray:
    return sqrt(clip((p_up - p_down) / (0.3 * p_up), 1e-4, 1.0))
