"""A coil between refrigerant and air: one description, used as condenser or evaporator.

Zones (desuperheating, two-phase, subcooling; two-phase, superheating) share the face of the coil:
each gets its share of area and of air, and the air enters every zone at the same temperature. The
refrigerant's march through a zone is then an exponential in the share, so that the shares follow
one after the other without iteration.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from catchpan.physics.refrigerant.table import RefrigerantTable, Saturation
from catchpan.units.span import FloatArray

AIR_HEAT_J_KG_K: Final = 1006.0
AIR_EXPONENT: Final = 0.5
"""Air-side conductance goes with air flow to this power (assumed; louvred fins 0.4 to 0.6)."""

REFRIGERANT_EXPONENT: Final = 0.8
"""Refrigerant-side conductance goes with its flow to this power (turbulent tube flow)."""

LEAST_DIFFERENCE_K: Final = 0.02


@dataclass(frozen=True)
class Coil:
    """A finned coil.

    Parameters
    ----------
    air_conductance_w_k : float
        From fin surface to air, dry, at the rated air flow [W/K].
    refrigerant_conductance_w_k : float
        From two-phase refrigerant to fin surface at the rated refrigerant flow [W/K].
    rated_air_kg_s, rated_refrigerant_kg_s : float
        The flows at which these hold [kg/s].
    volume_m3 : float
        Inside volume [m3].
    vapour_share, hot_gas_share, liquid_share : float
        Refrigerant-side conductance over that of two phases (assumed): of cold vapour behind an
        evaporating zone; of hot gas, which already condenses on walls below its dew point; and of
        liquid.
    """

    air_conductance_w_k: float
    refrigerant_conductance_w_k: float
    rated_air_kg_s: float
    rated_refrigerant_kg_s: float
    volume_m3: float
    vapour_share: float = 0.05
    hot_gas_share: float = 0.35
    liquid_share: float = 0.35


@dataclass(frozen=True)
class AirStream:
    """Air entering a coil.

    Parameters
    ----------
    temperature_k : FloatArray
        Dry bulb [K].
    humidity_ratio : FloatArray
        [kg/kg dry air].
    enthalpy_j_kg : FloatArray
        [J/kg dry air].
    flow_kg_s : FloatArray
        Dry air [kg/s].
    barometer_pa : FloatArray
        Barometric pressure [Pa].
    """

    temperature_k: FloatArray
    humidity_ratio: FloatArray
    enthalpy_j_kg: FloatArray
    flow_kg_s: FloatArray
    barometer_pa: FloatArray

    @property
    def capacity_w_k(self) -> FloatArray:
        """Heat the stream takes up per degree, dry [W/K]."""
        return self.flow_kg_s * (AIR_HEAT_J_KG_K + 1860.0 * self.humidity_ratio)


@dataclass(frozen=True)
class Condensing:
    """What leaves a condenser, and how it is filled.

    Parameters
    ----------
    leaving_j_kg : FloatArray
        Enthalpy of the refrigerant [J/kg].
    vapour_share, two_phase_share, liquid_share : FloatArray
        Shares of the coil.
    leaving_quality : FloatArray
        Vapour share by mass at the end of the two-phase zone.
    """

    leaving_j_kg: FloatArray
    vapour_share: FloatArray
    two_phase_share: FloatArray
    liquid_share: FloatArray
    leaving_quality: FloatArray


@dataclass(frozen=True)
class Evaporating:
    """What leaves an evaporator, and how it is filled.

    Parameters
    ----------
    leaving_j_kg : FloatArray
        Enthalpy of the refrigerant [J/kg].
    two_phase_share : FloatArray
        Share of the coil with liquid in it; the rest superheats.
    entering_quality, leaving_quality : FloatArray
        Vapour shares by mass at both ends of the two-phase zone.
    """

    leaving_j_kg: FloatArray
    two_phase_share: FloatArray
    entering_quality: FloatArray
    leaving_quality: FloatArray


@dataclass(frozen=True)
class Conductances:
    """A coil's conductances at the flows of the moment, arrays [W/K].

    Parameters
    ----------
    air : FloatArray
        Fin surface to air.
    two_phase, vapour, hot_gas, liquid : FloatArray
        Refrigerant to fin surface, as if the whole coil held that phase.
    """

    air: FloatArray
    two_phase: FloatArray
    vapour: FloatArray
    hot_gas: FloatArray
    liquid: FloatArray

    def overall(self, inside: FloatArray) -> FloatArray:
        """Return air and refrigerant side in a row [W/K]."""
        return self.air * inside / (self.air + inside)


def conductances(
    coil: Coil, air_kg_s: FloatArray, refrigerant_kg_s: FloatArray, share: FloatArray
) -> Conductances:
    """Return a coil's conductances at the flows of the moment.

    Parameters
    ----------
    coil : Coil
        The coil.
    air_kg_s, refrigerant_kg_s : FloatArray
        Flows [kg/s].
    share : FloatArray
        Share of the air-side conductance that dirt has left.

    Returns
    -------
    Conductances
        Shape by broadcasting.

    Source: ours; exponents as named in this module.
    """
    air = coil.air_conductance_w_k * share * (air_kg_s / coil.rated_air_kg_s) ** AIR_EXPONENT
    flow = np.maximum(refrigerant_kg_s / coil.rated_refrigerant_kg_s, 0.01)
    inside = coil.refrigerant_conductance_w_k * flow**REFRIGERANT_EXPONENT
    shares = (1.0, coil.vapour_share, coil.hot_gas_share, coil.liquid_share)
    return Conductances(air, *(inside * share for share in shares))


def condense(
    table: RefrigerantTable,
    state: tuple[FloatArray, Saturation, FloatArray, FloatArray],
    air: AirStream,
    ua: Conductances,
) -> Condensing:
    """March hot gas through a condenser.

    Parameters
    ----------
    table : RefrigerantTable
        The refrigerant.
    state : tuple
        Pressure of the refrigerant itself [Pa], saturation there, entering enthalpy [J/kg] and
        flow [kg/s].
    air : AirStream
        The air; it stays dry.
    ua : Conductances
        The coil's.

    Returns
    -------
    Condensing
        Defined for any input; a coil too small leaves vapour.

    Source: effectiveness-NTU per zone, cross flow with unmixed air; textbook. The liquid's heat
    capacity is its mean down to the air's temperature, so that it never leaves colder than that.
    """
    pressure, sat, entering, flow = state
    capacity = air.capacity_w_k
    e_vapour, e_two, e_liquid = (
        capacity * -np.expm1(-ua.overall(inside) / capacity)
        for inside in (ua.hot_gas, ua.two_phase, ua.liquid)
    )
    over = np.maximum(entering - sat.vapour_enthalpy_j_kg, 1.0)
    hot = sat.dew_k + table.superheat(pressure, over)[0]
    dew = np.maximum(sat.dew_k - air.temperature_k, LEAST_DIFFERENCE_K)
    start = dew + (hot - sat.dew_k)
    heat_rate = flow * over / np.maximum(hot - sat.dew_k, 1e-3)
    vapour = heat_rate / e_vapour * np.log(start / dew)
    f_vapour = np.minimum(vapour, 1.0)
    mean = np.maximum(0.5 * (sat.dew_k + sat.bubble_k) - air.temperature_k, LEAST_DIFFERENCE_K)
    per_share = e_two * mean / (flow * sat.latent_j_kg)
    f_two = np.minimum(1.0 / per_share, 1.0 - f_vapour)
    quality = 1.0 - f_two * per_share
    f_liquid = np.maximum(1.0 - f_vapour - f_two, 0.0)
    bubble = np.maximum(sat.bubble_k - air.temperature_k, LEAST_DIFFERENCE_K)
    whole = table.liquid_under_bubble(pressure, bubble)[0]
    fall = whole * -np.expm1(-e_liquid * f_liquid * bubble / (flow * whole))
    cooled = start * np.exp(-e_vapour * f_vapour / heat_rate)
    still_hot = heat_rate / flow * np.maximum(cooled - dew, 0.0)
    leaving = np.where(
        vapour < 1.0,
        sat.liquid_enthalpy_j_kg + quality * sat.latent_j_kg - fall,
        sat.vapour_enthalpy_j_kg + still_hot,
    )
    return Condensing(leaving, f_vapour, f_two, f_liquid, quality)
