"""Once round the circuit from three guesses; what does not close is the error to be solved.

The guesses are the dew temperature at the compressor's suction, the dew temperature of the
refrigerant in the condenser, and the enthalpy of the suction gas over its dew point. From them
every state follows in one go, without inner iteration and without failing, so that thousands of
points can be marched at once.
"""

from dataclasses import dataclass
from typing import Final

from catchpan.physics.cycle.charge import accumulator_kg, mean_density_kg_m3
from catchpan.physics.cycle.circuit import Parts, Points
from catchpan.physics.cycle.coil import (
    Condensing,
    Conductances,
    Evaporating,
    condense,
    conductances,
)
from catchpan.physics.cycle.compressor import Compression, compress
from catchpan.physics.cycle.metering import (
    Inlet,
    inlet_state,
    orifice_flux_kg_s_m2,
    valve_flux_kg_s_m2,
    valve_opening,
)
from catchpan.physics.cycle.wet_coil import evaporate
from catchpan.physics.elementwise import anywhere, isnan, maximum, minimum, stacked, where
from catchpan.physics.refrigerant.table import Saturation
from catchpan.units.span import FloatArray

GAS_SPACE_SHARE: Final = 0.85
"""Share of the condenser that gas fills, for the pressure of foreign gas (assumed)."""

ATMOSPHERE_PA: Final = 101325.0
ROOM_K: Final = 294.0


@dataclass(frozen=True)
class Marched:
    """Every state round the circuit, and what does not close.

    Parameters
    ----------
    suction_pa, evaporator_pa, condenser_pa, discharge_pa : FloatArray
        Pressures [Pa]; the discharge has the foreign gas in it, the condenser not.
    suction, evaporator, condenser, high : Saturation
        Saturation at those pressures.
    table_end_k : float
        Highest condensing temperature there are tables for [K].
    suction_j_kg : FloatArray
        Enthalpy at the compressor [J/kg].
    compression : Compression
        What the compressor does.
    flow_kg_s : FloatArray
        Refrigerant through the coils [kg/s].
    condensing : Condensing
        The condenser.
    inlet : Inlet
        In front of the metering device.
    evaporating : Evaporating
        The evaporator, as its surface and air would have it.
    evaporator_leaving_j_kg : FloatArray
        Enthalpy behind the evaporator as the suction asks for it [J/kg].
    bulb_superheat_k : FloatArray
        Superheat behind the evaporator [K].
    opening : FloatArray
        How far a valve is open; 1 for an orifice.
    charge_kg : FloatArray
        Refrigerant held [kg].
    accumulator_kg : FloatArray
        Of which liquid in the accumulator [kg].
    evaporator_ua, condenser_ua : Conductances
        Of the coils at these flows.
    error : FloatArray
        Shape (3, n): enthalpy behind the evaporator over the latent heat, metering against
        compressor flow, charge; all as shares.
    """

    suction_pa: FloatArray
    evaporator_pa: FloatArray
    condenser_pa: FloatArray
    discharge_pa: FloatArray
    suction: Saturation
    evaporator: Saturation
    condenser: Saturation
    high: Saturation
    table_end_k: float
    suction_j_kg: FloatArray
    compression: Compression
    flow_kg_s: FloatArray
    condensing: Condensing
    inlet: Inlet
    evaporating: Evaporating
    evaporator_leaving_j_kg: FloatArray
    bulb_superheat_k: FloatArray
    opening: FloatArray
    charge_kg: FloatArray
    accumulator_kg: FloatArray
    evaporator_ua: Conductances
    condenser_ua: Conductances
    error: FloatArray


def march(parts: Parts, points: Points, guess: FloatArray) -> Marched:
    """Go once round the circuit.

    Parameters
    ----------
    parts : Parts
        The circuit.
    points : Points
        The operating points, n of them.
    guess : FloatArray
        Shape (3, n): suction and condensing dew temperature [K], enthalpy of the suction gas over
        dew [kJ/kg].

    Returns
    -------
    Marched
        Arrays of length n.

    Source: ours; the parts' sources are in their modules.
    """
    table = parts.table
    suction_pa, condenser_pa = (table.dew_pressure_pa(guess[i]) for i in (0, 1))
    suction, condenser = table.saturation(suction_pa), table.saturation(condenser_pa)
    discharge_pa = minimum(
        condenser_pa + foreign_pressure_pa(parts, points.foreign_gas, guess[1]),
        table.highest_pressure_pa,
    )
    high = table.saturation(discharge_pa) if anywhere(points.foreign_gas) else condenser
    entering = suction.vapour_enthalpy_j_kg + 1000.0 * guess[2]
    at_suction, at_discharge = (suction_pa, suction, entering), (discharge_pa, high)
    work = compress(parts.compressor, table, at_suction, at_discharge, points.delivered_share)
    flow = work.flow_kg_s * (1.0 - points.leak_share)
    line = (entering - points.leak_share * work.discharge_j_kg) / (1.0 - points.leak_share)
    evaporator_pa, leaving = _before_the_line(parts, points, (suction_pa, suction, line), flow)
    evaporator = table.saturation(evaporator_pa)
    hot = (condenser_pa, condenser, work.discharge_j_kg, flow)
    condensing, c_ua = _condensed(parts, points, hot)
    inlet = _at_the_device(parts, points, (discharge_pa, high, condensing.leaving_j_kg), flow)
    bulb, _, _ = table.superheat(evaporator_pa, leaving - evaporator.vapour_enthalpy_j_kg)
    flux, opening = _metered(parts, points, inlet, evaporator_pa, bulb)
    cold = (evaporator_pa, evaporator, condensing.leaving_j_kg, flow)
    evaporating, e_ua = _evaporated(parts, points, cold)
    stored = accumulator_kg(parts.accumulator_m3, suction.quality(entering), suction)
    held = stored + _held_kg(parts, (evaporator, condenser), (evaporating, condensing), inlet, work)
    not_closed = (
        (evaporating.leaving_j_kg - leaving) / evaporator.latent_j_kg,
        flux * points.area_share * parts.metering.area_m2 / flow - 1.0,
        held / points.charge_kg - 1.0,
    )
    return Marched(
        suction_pa=suction_pa,
        evaporator_pa=evaporator_pa,
        condenser_pa=condenser_pa,
        discharge_pa=discharge_pa,
        suction=suction,
        evaporator=evaporator,
        condenser=condenser,
        high=high,
        table_end_k=table.highest_dew_k,
        suction_j_kg=entering,
        compression=work,
        flow_kg_s=flow,
        condensing=condensing,
        inlet=inlet,
        evaporating=evaporating,
        evaporator_leaving_j_kg=leaving,
        bulb_superheat_k=bulb,
        opening=opening,
        charge_kg=held,
        accumulator_kg=stored,
        evaporator_ua=e_ua,
        condenser_ua=c_ua,
        error=stacked(not_closed),
    )


def _condensed(
    parts: Parts, points: Points, state: tuple[FloatArray, Saturation, FloatArray, FloatArray]
) -> tuple[Condensing, Conductances]:
    air = points.condenser_air
    ua = conductances(parts.condenser, air.flow_kg_s, state[3], points.condenser_share)
    return condense(parts.table, state, air, ua), ua


def _evaporated(
    parts: Parts, points: Points, state: tuple[FloatArray, Saturation, FloatArray, FloatArray]
) -> tuple[Evaporating, Conductances]:
    air = points.evaporator_air
    ua = conductances(parts.evaporator, air.flow_kg_s, state[3], points.evaporator_share)
    return evaporate(parts.table, state, air, ua), ua


def foreign_pressure_pa(
    parts: Parts, foreign_gas: FloatArray, condensing_k: FloatArray
) -> FloatArray:
    """Return the pressure that non-condensable gas adds in the condenser.

    Parameters
    ----------
    parts : Parts
        The circuit.
    foreign_gas : FloatArray
        Gas over what the whole circuit holds at one atmosphere.
    condensing_k : FloatArray
        Temperature there [K].

    Returns
    -------
    FloatArray
        Pressure [Pa].

    Source: ideal gas, all of it in the condenser's gas space (ours).
    """
    room = parts.volume_m3 / (GAS_SPACE_SHARE * parts.condenser.volume_m3)
    return foreign_gas * ATMOSPHERE_PA * room * condensing_k / ROOM_K


def _before_the_line(
    parts: Parts,
    points: Points,
    suction: tuple[FloatArray, Saturation, FloatArray],
    flow: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Return pressure and enthalpy behind the evaporator from those at the compressor."""
    pressure, sat, enthalpy = suction
    if not parts.suction_line:
        return pressure, enthalpy
    superheat, _, _ = parts.table.superheat(pressure, enthalpy - sat.vapour_enthalpy_j_kg)
    gain = parts.lines.heat_gain_w_m_k * parts.lines.length_m
    heat = gain * (points.line_air_k - sat.dew_k - superheat)
    drop = parts.lines.vapour_resistance_1_m4 * flow**2 / sat.vapour_density_kg_m3
    return pressure + minimum(drop, 0.3 * pressure), enthalpy - heat / flow


def _at_the_device(
    parts: Parts,
    points: Points,
    liquid: tuple[FloatArray, Saturation, FloatArray],
    flow: FloatArray,
) -> Inlet:
    """Return the state in front of the metering device, behind line and restriction."""
    table, (pressure, sat, enthalpy) = parts.table, liquid
    resistance = parts.lines.liquid_resistance_1_m4 + points.restriction_1_m4
    least = maximum(0.15 * pressure, 1.001 * table.lowest_pressure_pa)
    below = maximum(pressure - resistance * flow**2 / sat.liquid_density_kg_m3, least)
    return inlet_state(table, below, enthalpy)


def _metered(
    parts: Parts, points: Points, inlet: Inlet, downstream: FloatArray, bulb: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the mass flux and how far the device is open."""
    if not parts.metering.is_valve:
        flux = orifice_flux_kg_s_m2(parts.table, inlet, downstream)
        return flux, 1.0 + 0.0 * flux
    flux = valve_flux_kg_s_m2(parts.metering, inlet, downstream, bulb)
    moving = valve_opening(parts.metering, bulb)
    opening = where(isnan(points.stuck_opening), moving, points.stuck_opening)
    return flux / moving * opening, opening


def _held_kg(
    parts: Parts,
    sat: tuple[Saturation, Saturation],
    coils: tuple[Evaporating, Condensing],
    inlet: Inlet,
    work: Compression,
) -> FloatArray:
    """Return the refrigerant in the running circuit, without the accumulator's level."""
    (low, high), (e, c) = sat, coils
    condenser = (
        c.vapour_share * high.vapour_density_kg_m3
        + c.two_phase_share * mean_density_kg_m3(c.leaving_quality, 1.0, high)
        + c.liquid_share * high.liquid_density_kg_m3
    )
    evaporator = (
        e.two_phase_share * mean_density_kg_m3(e.entering_quality, e.leaving_quality, low)
        + (1.0 - e.two_phase_share) * low.vapour_density_kg_m3
    )
    gas = 1.0 / work.suction_volume_m3_kg
    line_gas = gas if parts.suction_line else 0.8 * high.vapour_density_kg_m3
    return (
        parts.condenser.volume_m3 * condenser
        + parts.evaporator.volume_m3 * evaporator
        + parts.lines.liquid_volume_m3 * inlet.density_kg_m3
        + parts.lines.vapour_volume_m3 * line_gas
        + (parts.compressor.shell_volume_m3 + parts.accumulator_m3) * gas
    )
