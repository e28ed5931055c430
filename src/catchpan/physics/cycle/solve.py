"""Steady operating points of a unit, as many at once as there are, with all its readings."""

from dataclasses import dataclass, fields, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from catchpan.physics.cycle.circuit import Parts, Points
from catchpan.physics.cycle.coil import AirStream
from catchpan.physics.cycle.limits import limits_of
from catchpan.physics.cycle.march import Marched, march
from catchpan.physics.cycle.newton import CHUNK, GOOD_ENOUGH, Closed, close_circuit, learnt_start
from catchpan.physics.cycle.newton_one import close_one
from catchpan.physics.cycle.unit import Departures, Unit, Weather
from catchpan.physics.cycle.wet_coil import boiling_surface_k, leaving_air
from catchpan.physics.elementwise import minimum
from catchpan.physics.moist_air import (
    enthalpy_j_kg,
    humidity_ratio_from_relative_humidity,
    humidity_ratio_from_wet_bulb,
)
from catchpan.physics.moist_air_bulb import wet_bulb_inside_k
from catchpan.units.span import FloatArray, within


@dataclass(frozen=True)
class OperatingPoints:
    """What instruments read on a running unit; every field an array of one length.

    Parameters
    ----------
    suction_pa, liquid_pa : FloatArray
        At the service valves [Pa absolute].
    evaporating_k, condensing_k : FloatArray
        Dew temperature in the evaporator, bubble temperature at the liquid pressure [K].
    suction_line_k, liquid_line_k, discharge_k : FloatArray
        Line temperatures at the outdoor unit [K].
    superheat_k, subcooling_k, bulb_superheat_k : FloatArray
        As gauges and clamps tell at the outdoor unit, and behind the evaporator [K].
    liquid_drop_k : FloatArray
        Fall of the liquid's temperature from the outdoor unit to the metering device [K]: none
        while it stays liquid, far where a restriction lets it flash.
    indoor_leaving_k, indoor_leaving_humidity, indoor_leaving_wet_bulb_k : FloatArray
        Air behind indoor coil and blower [K], [kg/kg], [K].
    outdoor_leaving_k : FloatArray
        Air behind the outdoor coil [K].
    surface_k : FloatArray
        Temperature of the evaporator's surface where refrigerant boils [K].
    coil_w : FloatArray
        Heat the indoor coil exchanges [W].
    net_w, sensible_w : FloatArray
        Delivered to the room, blower heat counted: total and sensible (in cooling) [W].
    condensate_kg_s : FloatArray
        Water, or frost, from the evaporator [kg/s].
    compressor_w, total_w : FloatArray
        Power of the compressor, and with both fans [W].
    compressor_a : FloatArray
        Compressor current [A].
    cop : FloatArray
        Net over total power.
    refrigerant_kg_s : FloatArray
        Flow through the coils [kg/s].
    suction_quality : FloatArray
        Vapour share at the compressor, at most 1.
    inlet_quality : FloatArray
        Vapour share in front of the metering device.
    opening : FloatArray
        How far an expansion valve is open; 1 for an orifice.
    accumulator_kg : FloatArray
        Liquid standing in the accumulator [kg].
    limits : NDArray[int64]
        Flags of `catchpan.physics.cycle.limits.Limit`.
    error : FloatArray
        What did not close, as a share.
    """

    suction_pa: FloatArray
    liquid_pa: FloatArray
    evaporating_k: FloatArray
    condensing_k: FloatArray
    suction_line_k: FloatArray
    liquid_line_k: FloatArray
    discharge_k: FloatArray
    superheat_k: FloatArray
    subcooling_k: FloatArray
    bulb_superheat_k: FloatArray
    liquid_drop_k: FloatArray
    indoor_leaving_k: FloatArray
    indoor_leaving_humidity: FloatArray
    indoor_leaving_wet_bulb_k: FloatArray
    outdoor_leaving_k: FloatArray
    surface_k: FloatArray
    coil_w: FloatArray
    net_w: FloatArray
    sensible_w: FloatArray
    condensate_kg_s: FloatArray
    compressor_w: FloatArray
    total_w: FloatArray
    compressor_a: FloatArray
    cop: FloatArray
    refrigerant_kg_s: FloatArray
    suction_quality: FloatArray
    inlet_quality: FloatArray
    opening: FloatArray
    accumulator_kg: FloatArray
    limits: NDArray[np.int64]
    error: FloatArray


_READINGS: Final = tuple(each.name for each in fields(OperatingPoints))


def operating_points(
    unit: Unit, weather: Weather, departures: Departures | None = None, *, heating: bool = False
) -> OperatingPoints:
    """Solve the steady state of a unit at every combination that broadcasts.

    Parameters
    ----------
    unit : Unit
        The unit.
    weather : Weather
        Air temperatures from 240 to 325 K.
    departures : Departures, optional
        What is wrong with it; nothing if not given.
    heating : bool
        The mode.

    Returns
    -------
    OperatingPoints
        One-dimensional arrays; never a silent failure: see its ``limits``.

    Raises
    ------
    OutOfRange
        If an input is outside its span.
    BadValue
        If an air conditioner is asked to heat.

    Source: docs/models/refrigerant-and-cycle.md.
    """
    parts = unit.parts(heating=heating)
    points, voltage = _points(unit, weather, departures or Departures(), heating=heating)
    if points.count == 1:
        one = _solved_one(unit, parts, points, float(voltage[0]), heating=heating)
        if one is not None:
            return one
    closed = close_circuit(parts, points)
    chunks = [slice(i, i + CHUNK) for i in range(0, points.count, CHUNK)]
    found = [
        _read_many(unit, parts, (points.at(c), closed.at(c)), voltage[c], heating=heating)
        for c in chunks
    ]
    return OperatingPoints(
        *(np.concatenate([getattr(f, name) for f in found]) for name in _READINGS)
    )


def prepared(unit: Unit, weather: Weather, *, heating: bool = False) -> Unit:
    """Return the unit, with what speeds up the search for its steady states learnt.

    Parameters
    ----------
    unit : Unit
        The unit.
    weather : Weather
        Usual weather, numbers, with an outdoor wet bulb.
    heating : bool
        The mode.

    Returns
    -------
    Unit
        Its operating points are those of the unit given.

    Source: ours.
    """
    air, damp, other, air_flow, other_flow, charge, *coils = np.eye(9)[1:]
    cold, warm = (1.0 - 0.25 * coil for coil in coils)
    in_k, wet_k, out_k = weather.indoor_k, weather.indoor_wet_bulb_k, weather.outdoor_k
    out_wet_k = weather.outdoor_wet_bulb_k
    if heating:
        changed = Weather(in_k - 4.0 * other, wet_k - 4.0 * other, out_k - 6.0 * air)
        changed = replace(changed, outdoor_wet_bulb_k=out_wet_k - 6.0 * air - 1.5 * damp)
        moved = (1.0 - 0.25 * other_flow, 1.0 - 0.25 * air_flow, warm, cold)
    else:
        changed = Weather(in_k - 4.0 * air, wet_k - 3.0 * damp, out_k - 6.0 * other)
        moved = (1.0 - 0.25 * air_flow, 1.0 - 0.25 * other_flow, cold, warm)
    off = Departures(1.0 - 0.1 * charge, *moved)
    plain = replace(unit, starts=(None, None))
    points, _ = _points(plain, changed, off, heating=heating)
    start = learnt_start(plain.parts(heating=heating), points)
    cooling, other = unit.starts
    return replace(unit, starts=(cooling, start) if heating else (start, other))


def _points(
    unit: Unit, weather: Weather, departures: Departures, *, heating: bool
) -> tuple[Points, FloatArray]:
    """Lay everything that differs from point to point on arrays of one length."""
    off = departures.checked()
    voltage = unit.rated_voltage_v if weather.voltage_v is None else weather.voltage_v
    streams = (*_indoor_air(weather), *_outdoor_air(weather))
    spread = np.broadcast_arrays(
        *streams, np.asarray(weather.barometer_pa), np.asarray(voltage), *off.values()
    )
    laid = [np.ravel(each).astype(np.float64) for each in spread]
    (in_k, in_w, out_k, out_w, barometer, volts), rest = laid[:6], laid[6:]
    by_name = dict(zip(off, rest, strict=True))
    indoor = _stream(in_k, in_w, unit.indoor.rated_air_kg_s * by_name["indoor_air"], barometer)
    outdoor = _stream(out_k, out_w, unit.outdoor.rated_air_kg_s * by_name["outdoor_air"], barometer)
    shares = (by_name["indoor_conductance"], by_name["outdoor_conductance"])
    inside, outside = (1, 0) if heating else (0, 1)
    usual: Any = 2.5e6
    density = float(unit.table.saturation(usual).liquid_density_kg_m3)
    scale = unit.rated_difference_pa * density / unit.rated_refrigerant_kg_s**2
    return Points(
        evaporator_air=(indoor, outdoor)[inside],
        condenser_air=(indoor, outdoor)[outside],
        evaporator_share=shares[inside],
        condenser_share=shares[outside],
        charge_kg=unit.charge_kg * by_name["charge"],
        area_share=by_name["metering_area"],
        stuck_opening=by_name["stuck_opening"],
        restriction_1_m4=by_name["restriction"] * scale,
        foreign_gas=by_name["foreign_gas"],
        delivered_share=by_name["compressor"],
        leak_share=by_name["reversing_leak"],
        line_air_k=out_k,
    ), volts


def _indoor_air(weather: Weather) -> tuple[FloatArray, FloatArray]:
    dry = within("indoor temperature", weather.indoor_k, 240.0, 325.0, "K")
    wet = within("indoor wet bulb", weather.indoor_wet_bulb_k, 240.0, 325.0, "K")
    dry, wet, barometer = np.broadcast_arrays(dry, wet, weather.barometer_pa)
    return dry, humidity_ratio_from_wet_bulb(dry, wet, barometer)


def _outdoor_air(weather: Weather) -> tuple[FloatArray, FloatArray]:
    dry = within("outdoor temperature", weather.outdoor_k, 240.0, 325.0, "K")
    if weather.outdoor_wet_bulb_k is None:
        return dry, humidity_ratio_from_relative_humidity(dry, 0.8, weather.barometer_pa)
    wet = within("outdoor wet bulb", weather.outdoor_wet_bulb_k, 240.0, 325.0, "K")
    dry, wet, barometer = np.broadcast_arrays(dry, wet, weather.barometer_pa)
    return dry, humidity_ratio_from_wet_bulb(dry, wet, barometer)


def _stream(
    kelvin: FloatArray, ratio: FloatArray, standard_kg_s: FloatArray, barometer: FloatArray
) -> AirStream:
    """Return an air stream; a fan moves volume, so thin air weighs less."""
    flow = standard_kg_s * barometer / 101325.0
    return AirStream(kelvin, ratio, enthalpy_j_kg(kelvin, ratio), flow, barometer)


def _read_many(
    unit: Unit, parts: Parts, solved: tuple[Points, Closed], volts: FloatArray, *, heating: bool
) -> OperatingPoints:
    points, closed = solved
    state = march(parts, points, closed.guess)
    return _readings(unit, parts, (points, state, closed.error), volts, heating=heating)


def _solved_one(
    unit: Unit, parts: Parts, points: Points, volts: float, *, heating: bool
) -> OperatingPoints | None:
    """Solve one point on plain floats; None when it does not settle there."""
    point = points.plain(0)
    found = close_one(parts, point)
    if found is None:
        return None
    _, error, state = found
    read = _readings(unit, parts, (point, state, error), volts, heating=heating)
    return OperatingPoints(*(np.array([getattr(read, name)]) for name in _READINGS))


def _readings(
    unit: Unit,
    parts: Parts,
    solved: tuple[Points, Marched, Any],
    volts: FloatArray | float,
    *,
    heating: bool,
) -> OperatingPoints:
    points, state, error = solved
    table = unit.table
    high = state.high
    flow, hot = state.flow_kg_s, state.compression.discharge_j_kg
    discharge_k = (
        high.dew_k + table.superheat(state.discharge_pa, hot - high.vapour_enthalpy_j_kg)[0]
    )
    liquid_k = _liquid_k(unit, state)
    cold_w = flow * (state.evaporator_leaving_j_kg - state.condensing.leaving_j_kg)
    hot_w = flow * (hot - state.condensing.leaving_j_kg)
    evaporator = leaving_air(points.evaporator_air, state.evaporator_ua, cold_w)
    surface_k = _boiling_surface_k(points, state)
    condenser_k = points.condenser_air.temperature_k + hot_w / points.condenser_air.capacity_w_k
    fan, outdoor_fan = _fan_powers(unit, points, heating=heating)
    indoor = points.condenser_air if heating else points.evaporator_air
    supply_k = (condenser_k if heating else evaporator.temperature_k) + fan / indoor.capacity_w_k
    humidity = indoor.humidity_ratio if heating else evaporator.humidity_ratio
    coil_w = hot_w if heating else cold_w
    net = coil_w + fan if heating else coil_w - fan
    power = state.compression.power_w
    total = power + fan + outdoor_fan
    return OperatingPoints(
        suction_pa=state.suction_pa,
        liquid_pa=state.discharge_pa,
        evaporating_k=state.evaporator.dew_k,
        condensing_k=high.bubble_k,
        suction_line_k=_suction_line_k(state),
        liquid_line_k=liquid_k,
        discharge_k=discharge_k,
        superheat_k=_suction_line_k(state) - state.suction.dew_k,
        subcooling_k=high.bubble_k - liquid_k,
        bulb_superheat_k=state.bulb_superheat_k,
        liquid_drop_k=liquid_k - state.inlet.temperature_k,
        indoor_leaving_k=supply_k,
        indoor_leaving_humidity=humidity,
        indoor_leaving_wet_bulb_k=wet_bulb_inside_k(supply_k, humidity, indoor.barometer_pa),
        outdoor_leaving_k=evaporator.temperature_k if heating else condenser_k,
        surface_k=surface_k,
        coil_w=coil_w,
        net_w=net,
        sensible_w=net if heating else evaporator.sensible_w - fan,
        condensate_kg_s=evaporator.condensate_kg_s,
        compressor_w=power,
        total_w=total,
        compressor_a=power / (volts * unit.power_factor),
        cop=net / total,
        refrigerant_kg_s=flow,
        suction_quality=minimum(state.suction.quality(state.suction_j_kg), 1.0),
        inlet_quality=state.inlet.quality,
        opening=state.opening,
        accumulator_kg=state.accumulator_kg,
        limits=limits_of(
            state,
            (surface_k, discharge_k),
            error > GOOD_ENOUGH,
            is_valve=parts.metering.is_valve,
            heating=heating,
        ),
        error=error,
    )


def _boiling_surface_k(points: Points, state: Marched) -> FloatArray:
    sat, entering = state.evaporator, state.condensing.leaving_j_kg
    boiled = np.minimum(state.evaporator_leaving_j_kg, sat.vapour_enthalpy_j_kg)
    heat = state.flow_kg_s * (boiled - entering)
    share = state.evaporating.two_phase_share
    return boiling_surface_k(points.evaporator_air, state.evaporator_ua, share, heat)


def _suction_line_k(state: Marched) -> FloatArray:
    return state.suction.dew_k + state.compression.suction_superheat_k


def _liquid_k(unit: Unit, state: Marched) -> FloatArray:
    """Return the liquid line's temperature; foreign gas lifts the pressure, not the liquid."""
    own = state.condenser
    cooled, _ = unit.table.subcooling(
        state.condenser_pa, own.liquid_enthalpy_j_kg - state.condensing.leaving_j_kg
    )
    return own.bubble_k - cooled


def _fan_powers(unit: Unit, points: Points, *, heating: bool) -> tuple[FloatArray, FloatArray]:
    """Return the fans' powers; they go with the air flow (assumed)."""
    streams = (points.evaporator_air, points.condenser_air)
    indoor, outdoor = streams[::-1] if heating else streams
    return (
        unit.indoor_fan_w * indoor.flow_kg_s / unit.indoor.rated_air_kg_s,
        unit.outdoor_fan_w * outdoor.flow_kg_s / unit.outdoor.rated_air_kg_s,
    )
