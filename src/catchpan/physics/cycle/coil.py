"""A coil between refrigerant and air: one description, used as condenser or evaporator.

In a coil one row deep the zones (desuperheating, two-phase, subcooling; two-phase, superheating)
share the face: each gets its share of area and of air, and the air enters every zone at the same
temperature. In a deeper condenser liquid gathers in the row that meets the air first and hot gas
enters the last one, so that their air also serves two-phase rows: backed-up liquid then takes area
from the condensing zone, but not all of its air, and cannot get as cold as the air, for its fins
are warmed by the next row. Shares follow one after the other without iteration.
"""

from dataclasses import dataclass
from typing import Final

from catchpan.physics.elementwise import exp, expm1, floor, log, log1p, maximum, minimum, where
from catchpan.physics.refrigerant.table import RefrigerantTable, Saturation
from catchpan.units.span import FloatArray

AIR_HEAT_J_KG_K: Final = 1006.0
AIR_EXPONENT: Final = 0.5
"""Air-side conductance goes with air flow to this power (assumed; louvred fins 0.4 to 0.6)."""

REFRIGERANT_EXPONENT: Final = 0.8
"""Refrigerant-side conductance goes with its flow to this power (turbulent tube flow)."""

LEAST_DIFFERENCE_K: Final = 0.02

FIN_SHARE: Final = 0.12
"""How far towards the bubble temperature the fins of liquid-filled tubes stand above the air, in a
coil of more rows: the next row, which condenses, heats them through the fins both share. A flat fin
would conduct as much as brings it to 0.3; collars and slits cut that (0.12 chosen to agree with
measured overcharge; ours)."""


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
    rows : int
        How many rows of tubes the air passes, hot gas entering the last and liquid leaving the
        first; felt when it condenses.
    """

    air_conductance_w_k: float
    refrigerant_conductance_w_k: float
    rated_air_kg_s: float
    rated_refrigerant_kg_s: float
    volume_m3: float
    vapour_share: float = 0.05
    hot_gas_share: float = 0.35
    liquid_share: float = 0.35
    rows: int = 1


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
    rows : int
        Of the coil.
    """

    air: FloatArray
    two_phase: FloatArray
    vapour: FloatArray
    hot_gas: FloatArray
    liquid: FloatArray
    rows: int = 1

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
    flow = maximum(refrigerant_kg_s / coil.rated_refrigerant_kg_s, 0.01)
    inside = coil.refrigerant_conductance_w_k * flow**REFRIGERANT_EXPONENT
    return Conductances(
        air,
        inside,
        inside * coil.vapour_share,
        inside * coil.hot_gas_share,
        inside * coil.liquid_share,
        coil.rows,
    )


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

    Source: effectiveness-NTU per zone, cross flow with unmixed air; textbook. Rows are ours: the
    air of a liquid or hot-gas row passes two-phase refrigerant in the others. The liquid's heat
    capacity is its mean down to the coldest it can get (see `FIN_SHARE`).
    """
    pressure, sat, entering, flow = state
    capacity, rows = air.capacity_w_k, ua.rows
    ntu = ua.overall(ua.two_phase) / capacity
    mean = maximum(0.5 * (sat.dew_k + sat.bubble_k) - air.temperature_k, LEAST_DIFFERENCE_K)
    over = maximum(entering - sat.vapour_enthalpy_j_kg, 1.0)
    hot_k = maximum(table.superheat(pressure, over)[0], 1e-3)
    before = 1.0 - exp(-ntu * (1.0 - 1.0 / rows))
    dew = maximum(sat.dew_k - air.temperature_k - before * mean, LEAST_DIFFERENCE_K)
    heat_rate = flow * over / hot_k
    e_vapour = _of_its_row(ua.overall(ua.hot_gas), capacity, rows)
    vapour = heat_rate / e_vapour * log1p(hot_k / dew)
    f_vapour = minimum(vapour, 1.0)
    wanted = flow * sat.latent_j_kg / (capacity * mean)
    most = 1.0 - f_vapour
    f_two = minimum(_depth(ntu, rows, wanted), most)
    quality = maximum(1.0 - _effect(ntu, rows, most) / wanted, 0.0)
    f_liquid = most - f_two
    e_liquid = _of_its_row(ua.overall(ua.liquid), capacity, rows)
    over_fins = 1.0 if rows == 1 else 1.0 - FIN_SHARE
    bubble = maximum(over_fins * (sat.bubble_k - air.temperature_k), LEAST_DIFFERENCE_K)
    whole = table.liquid_under_bubble(pressure, bubble)[0]
    fall = whole * -expm1(-e_liquid * f_liquid * bubble / (flow * whole))
    cooled = (hot_k + dew) * exp(-e_vapour * f_vapour / heat_rate)
    leaving = where(
        vapour < 1.0,
        sat.liquid_enthalpy_j_kg + quality * sat.latent_j_kg - fall,
        sat.vapour_enthalpy_j_kg + heat_rate / flow * maximum(cooled - dew, 0.0),
    )
    return Condensing(leaving, f_vapour, f_two, f_liquid, quality)


def _of_its_row(overall_w_k: FloatArray, capacity_w_k: FloatArray, rows: int) -> FloatArray:
    """Return effectiveness times air capacity, per share of the coil, of a zone one row deep."""
    face = rows * capacity_w_k
    return face * -expm1(-overall_w_k / face)


def _effect(ntu: FloatArray, rows: int, share: FloatArray) -> FloatArray:
    """Return the effectiveness of two-phase refrigerant in a share of a coil, rows filled whole."""
    depth = share * rows
    full = minimum(floor(depth), rows - 1.0)
    left = exp(-ntu / rows * full)
    return 1.0 - left * (1.0 + expm1(-ntu / rows) * (depth - full))


def _depth(ntu: FloatArray, rows: int, effect: FloatArray) -> FloatArray:
    """Return the share of the coil that has such an effectiveness; above 1 if none has."""
    row = -expm1(-ntu / rows)
    if rows == 1:
        return effect / row
    left = log(maximum(1.0 - effect, 1e-12))
    full = minimum(floor(-left * rows / ntu), rows - 1.0)
    still = exp(-ntu / rows * full)
    return (full + (effect - 1.0 + still) / (still * row)) / rows
