"""The parts that bring about the design state of a healthy machine at test A.

One after the other: the compressor from flow and power, both coils from what must leave them, the
metering device from the flow, the inside volumes from the charge.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from catchpan.physics.cycle.circuit import Points
from catchpan.physics.cycle.coil import AirStream, Coil, condense, conductances
from catchpan.physics.cycle.compressor import Compression, Compressor, compress
from catchpan.physics.cycle.design import (
    BARE_EVAPORATING_K,
    COIL_VOLUME_M3_W,
    CUBIC_FOOT_PER_MINUTE,
    EFFICIENT_COP,
    INDOOR_K,
    INDOOR_WET_BULB_K,
    LEAST_APPROACH_OVER_RISE,
    LEAST_END_K,
    LEAST_VOLUME,
    LIQUID_SHARE,
    MOST_APPROACH_K,
    MOST_VOLUME,
    OUTDOOR_K,
    OUTDOOR_WET_BULB_K,
    TON_W,
    Design,
    DesignError,
)
from catchpan.physics.cycle.march import march
from catchpan.physics.cycle.metering import Metering
from catchpan.physics.cycle.unit import STANDARD_AIR_KG_M3, Unit
from catchpan.physics.cycle.wet_coil import evaporate
from catchpan.physics.moist_air import (
    STANDARD_PRESSURE_PA,
    enthalpy_j_kg,
    humidity_ratio_from_wet_bulb,
)
from catchpan.physics.refrigerant.table import RefrigerantTable, Saturation
from catchpan.units.span import FloatArray


@dataclass(frozen=True)
class _State:
    """Refrigerant round the circuit at the design point; arrays of one element."""

    evaporator_pa: FloatArray
    evaporator: Saturation
    leaving_j_kg: FloatArray
    head_pa: FloatArray
    head: Saturation
    liquid_j_kg: FloatArray
    flow_kg_s: FloatArray
    suction_pa: FloatArray
    suction: Saturation
    suction_j_kg: FloatArray


@dataclass(frozen=True)
class _Duty:
    """What the nameplate asks of the parts at test A."""

    gross_w: float
    compressor_w: float
    indoor_air: AirStream
    outdoor_air: AirStream
    indoor_fan_w: float
    outdoor_fan_w: float
    cop: float


def designed_unit(
    table: RefrigerantTable, capacity_w: float, cop: float, design: Design, compressor: Compressor
) -> Unit:
    """Return the air conditioner that does at test A what its nameplate says.

    Parameters
    ----------
    table : RefrigerantTable
        The refrigerant.
    capacity_w, cop : float
        Net cooling [W] and net cooling over total power at test A.
    design : Design
        State and make.
    compressor : Compressor
        To be scaled; its slopes are kept.

    Returns
    -------
    Unit
        Cooling only.

    Raises
    ------
    DesignError
        If a part would have to be of no sensible size.

    Source: ours.
    """
    duty = _duty(capacity_w, cop, design)
    approach = design.approach_k
    if approach is None:
        plain = Compressor(compressor.sheet, heat_loss_share=compressor.heat_loss_share)
        bare = replace(design, evaporating_k=BARE_EVAPORATING_K)
        approach = _usual_approach(table, duty, bare, plain)
    state = _state(table, duty, design, approach)
    sized = _sized(compressor, table, duty, state)
    indoor, outdoor = (
        _indoor(table, duty, design, state),
        _outdoor(table, duty, design, sized, state),
    )
    return _charged(table, duty, design, (sized, indoor, outdoor), state)


def with_volume_share(
    unit: Unit, share: float, capacity_w: float, cop: float, design: Design
) -> Unit:
    """Return the unit with its coils' volume split anew and fitted to the charge again.

    Parameters
    ----------
    unit : Unit
        A unit from `designed_unit`.
    share : float
        Inside volume of the indoor coil over that of both.
    capacity_w, cop : float
        As for `designed_unit`.
    design : Design
        As for `designed_unit`.

    Returns
    -------
    Unit
        At test A as before.

    Raises
    ------
    DesignError
        If no such split holds the charge.

    Source: ours.
    """
    again = designed_unit(
        unit.table, capacity_w, cop, replace(design, indoor_volume_share=share), unit.compressor
    )
    return replace(unit, indoor=again.indoor, outdoor=again.outdoor)


def _duty(capacity_w: float, cop: float, design: Design) -> _Duty:
    tons = capacity_w / TON_W
    inside = design.indoor_air_m3_s or tons * 400.0 * CUBIC_FOOT_PER_MINUTE
    outside = design.outdoor_air_m3_s or tons * 850.0 * CUBIC_FOOT_PER_MINUTE
    fan, outdoor_fan = inside * design.indoor_fan_w_s_m3, outside * design.outdoor_fan_w_s_m3
    power = capacity_w / cop - fan - outdoor_fan
    if power < 0.3 * capacity_w / cop:
        raise DesignError("compressor", f"{power:.0f} W would be left for it")
    warm = (INDOOR_K, INDOOR_WET_BULB_K, inside)
    hot = (OUTDOOR_K, OUTDOOR_WET_BULB_K, outside)
    return _Duty(capacity_w + fan, power, _air(*warm), _air(*hot), fan, outdoor_fan, cop)


def _air(dry_k: float, wet_k: float, standard_m3_s: float) -> AirStream:
    kelvin, barometer = np.array([dry_k]), np.array([STANDARD_PRESSURE_PA])
    ratio = humidity_ratio_from_wet_bulb(kelvin, wet_k, barometer)
    flow = np.array([standard_m3_s * STANDARD_AIR_KG_M3])
    return AirStream(kelvin, ratio, enthalpy_j_kg(kelvin, ratio), flow, barometer)


def _state(table: RefrigerantTable, duty: _Duty, design: Design, approach_k: float) -> _State:
    evaporating_k = design.state_k(duty.cop)
    evaporator_pa = table.dew_pressure_pa(np.array([evaporating_k]))
    head_pa = table.dew_pressure_pa(np.array([OUTDOOR_K + approach_k]))
    low, head = table.saturation(evaporator_pa), table.saturation(head_pa)
    superheat, subcooling = np.array([design.superheat_k]), np.array([design.subcooling_k])
    leaving = low.vapour_enthalpy_j_kg + table.vapour_over_dew(evaporator_pa, superheat)[0]
    liquid = head.liquid_enthalpy_j_kg - table.liquid_under_bubble(head_pa, subcooling)[0]
    flow = duty.gross_w / (leaving - liquid)
    lines = design.rated_lines
    drop = lines.vapour_resistance_1_m4 * flow**2 / low.vapour_density_kg_m3
    gain = lines.heat_gain_w_m_k * lines.length_m
    heat = gain * (OUTDOOR_K - evaporating_k - superheat)
    suction_pa = evaporator_pa - drop
    return _State(
        *(evaporator_pa, low, leaving, head_pa, head, liquid, flow),
        *(suction_pa, table.saturation(suction_pa), leaving + heat / flow),
    )


def _sized(
    compressor: Compressor, table: RefrigerantTable, duty: _Duty, state: _State
) -> Compressor:
    """Scale a compressor to the flow and the power it should have."""
    done = _compressed(compressor, table, state)
    flow = float(state.flow_kg_s[0] / done.flow_kg_s[0])
    return compressor.scaled(flow, float(done.power_w[0] * flow / duty.compressor_w))


def _compressed(compressor: Compressor, table: RefrigerantTable, state: _State) -> Compression:
    return compress(
        compressor,
        table,
        (state.suction_pa, state.suction, state.suction_j_kg),
        (state.head_pa, state.head),
        np.ones(1),
    )


def _usual_approach(
    table: RefrigerantTable, duty: _Duty, design: Design, compressor: Compressor
) -> float:
    """Find the condensing approach at which the compressor need be no better than its map."""

    def excess(approach: float) -> float:
        sized = _sized(compressor, table, duty, _state(table, duty, design, approach))
        return sized.efficiency_scale - 1.0

    rejected = duty.gross_w + duty.compressor_w
    air_rise = rejected / float(duty.outdoor_air.capacity_w_k[0])
    least = max(design.subcooling_k + LEAST_END_K, LEAST_APPROACH_OVER_RISE * air_rise)
    return _root(excess, least, max(MOST_APPROACH_K, least))


def _indoor(table: RefrigerantTable, duty: _Duty, design: Design, state: _State) -> Coil:
    make = _volumes(duty, design)[0], design.indoor_rows, design.inside(duty.cop)

    def excess(log_ua: float) -> float:
        coil = _coil(np.exp(log_ua), duty.indoor_air, state, make)
        ua = conductances(coil, duty.indoor_air.flow_kg_s, state.flow_kg_s, np.ones(1))
        entering = (state.evaporator_pa, state.evaporator, state.liquid_j_kg, state.flow_kg_s)
        done = evaporate(table, entering, duty.indoor_air, ua)
        return float(done.leaving_j_kg[0] - state.leaving_j_kg[0])

    ua = _found("indoor coil", excess)
    return _coil(ua, duty.indoor_air, state, make)


def _outdoor(
    table: RefrigerantTable, duty: _Duty, design: Design, compressor: Compressor, state: _State
) -> Coil:
    hot = _compressed(compressor, table, state).discharge_j_kg
    make = _volumes(duty, design)[1], _outdoor_rows(duty, design), design.inside(duty.cop)

    def excess(log_ua: float) -> float:
        coil = _coil(np.exp(log_ua), duty.outdoor_air, state, make)
        ua = conductances(coil, duty.outdoor_air.flow_kg_s, state.flow_kg_s, np.ones(1))
        entering = (state.head_pa, state.head, hot, state.flow_kg_s)
        done = condense(table, entering, duty.outdoor_air, ua)
        return float(state.liquid_j_kg[0] - done.leaving_j_kg[0])

    return _coil(_found("outdoor coil", excess), duty.outdoor_air, state, make)


def _volumes(duty: _Duty, design: Design) -> tuple[float, float]:
    both = COIL_VOLUME_M3_W * duty.gross_w
    return both * design.indoor_volume_share, both * (1.0 - design.indoor_volume_share)


def _outdoor_rows(duty: _Duty, design: Design) -> int:
    return design.outdoor_rows or (2 if duty.cop >= EFFICIENT_COP else 1)


def _coil(ua_w_k: float, air: AirStream, state: _State, make: tuple[float, int, float]) -> Coil:
    """Return a coil of that conductance: inside volume, rows, inside over air-side conductance."""
    flows = float(air.flow_kg_s[0]), float(state.flow_kg_s[0])
    volume_m3, rows, over = make
    inside = float(ua_w_k) * over
    liquid = LIQUID_SHARE[rows > 1]
    return Coil(float(ua_w_k), inside, *flows, volume_m3, liquid_share=liquid, rows=rows)


def _charged(
    table: RefrigerantTable,
    duty: _Duty,
    design: Design,
    parts: tuple[Compressor, Coil, Coil],
    state: _State,
) -> Unit:
    """Choose the metering area and the inside volumes that fit flow and charge."""
    compressor, indoor, outdoor = parts
    unit = Unit(
        table=table,
        compressor=compressor,
        indoor=indoor,
        outdoor=outdoor,
        metering=Metering(1e-6, design.is_valve),
        lines=design.rated_lines,
        charge_kg=design.charge_kg,
        indoor_fan_w=duty.indoor_fan_w,
        outdoor_fan_w=duty.outdoor_fan_w,
        rated_refrigerant_kg_s=float(state.flow_kg_s[0]),
        rated_difference_pa=float(state.head_pa[0] - state.evaporator_pa[0]),
        accumulator_m3=design.accumulator_m3,
    )
    metered, held = _closing(unit, duty, state)
    unit = replace(unit, metering=replace(unit.metering, area_m2=1e-6 / metered))
    _, doubled = _closing(_with_volumes(unit, 2.0), duty, state)
    times = 1.0 + (1.0 - held) / (doubled - held)
    if not LEAST_VOLUME <= times <= MOST_VOLUME:
        raise DesignError("coil volume", f"{times:.2f} times the usual to hold the charge")
    return _with_volumes(unit, times)


def _with_volumes(unit: Unit, times: float) -> Unit:
    indoor = replace(unit.indoor, volume_m3=unit.indoor.volume_m3 * times)
    outdoor = replace(unit.outdoor, volume_m3=unit.outdoor.volume_m3 * times)
    return replace(unit, indoor=indoor, outdoor=outdoor)


def _closing(unit: Unit, duty: _Duty, state: _State) -> tuple[float, float]:
    """Return metered over wanted flow, and charge held over charge, at the design state."""
    one = np.ones(1)
    points = Points(
        *(duty.indoor_air, duty.outdoor_air, one, one, one * unit.charge_kg, one, one * np.nan),
        *(0.0 * one, 0.0 * one, one, 0.0 * one, np.array([OUTDOOR_K])),
    )
    over = (state.suction_j_kg - state.suction.vapour_enthalpy_j_kg) / 1000.0
    guess = np.stack([state.suction.dew_k, state.head.dew_k, over])
    error = march(unit.parts(heating=False), points, guess).error
    return float(1.0 + error[1, 0]), float(1.0 + error[2, 0])


def _found(part: str, excess: Callable[[float], float]) -> float:
    low, high = np.log(20.0), np.log(2e5)
    if not excess(low) < 0.0 < excess(high):
        raise DesignError(part, "the air is not far enough from the refrigerant's temperature")
    return float(np.exp(_root(excess, float(low), float(high))))


def _root(rising: Callable[[float], float], low: float, high: float) -> float:
    """Return where a rising function crosses zero, or the nearer end."""
    for _ in range(45):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if rising(middle) < 0.0 else (low, middle)
    return 0.5 * (low + high)
