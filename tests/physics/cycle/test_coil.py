"""Condenser and evaporator, zone by zone."""

from dataclasses import replace

import numpy as np
import pytest

from catchpan.physics.cycle.coil import (
    AirStream,
    Coil,
    _depth,
    _effect,
    condense,
    conductances,
)
from catchpan.physics.cycle.wet_coil import (
    evaporate,
    leaving_air,
    saturated_enthalpy_j_kg,
    two_phase_heat_w,
)
from catchpan.physics.moist_air import enthalpy_j_kg, humidity_ratio_from_wet_bulb
from catchpan.physics.refrigerant.shelf import refrigerant_table
from catchpan.units.span import FloatArray

SEA = 101325.0


def kelvin(degf: float) -> float:
    return (degf + 459.67) / 1.8


def air(dry_degf: float, wet_degf: float, flow_kg_s: float, count: int = 1) -> AirStream:
    one = np.ones(count)
    dry = kelvin(dry_degf) * one
    ratio = humidity_ratio_from_wet_bulb(dry, kelvin(wet_degf), SEA)
    return AirStream(dry, ratio, enthalpy_j_kg(dry, ratio), flow_kg_s * one, SEA * one)


def condensed(ua_w_k: FloatArray, flow_kg_s: float = 0.06) -> tuple[FloatArray, ...]:
    table = refrigerant_table("R-410A")
    n = ua_w_k.size
    pressure = table.dew_pressure_pa(np.full(n, 318.15))
    sat = table.saturation(pressure)
    hot = sat.vapour_enthalpy_j_kg + 40e3
    outside = air(95, 75, 2.0, n)
    ua = conductances(
        Coil(1.0, 3.0, 2.0, 0.06, 0.003), outside.flow_kg_s, np.full(n, flow_kg_s), np.ones(n)
    )
    names = ("air", "two_phase", "vapour", "hot_gas", "liquid")
    scaled = replace(ua, **{name: ua_w_k * getattr(ua, name) for name in names})
    done = condense(table, (pressure, sat, hot, np.full(n, flow_kg_s)), outside, scaled)
    shares = done.vapour_share + done.two_phase_share + done.liquid_share
    return done.leaving_j_kg, shares, done.liquid_share, hot


def test_a_better_condenser_leaves_colder_liquid_and_its_shares_add_up() -> None:
    leaving, shares, liquid, hot = condensed(np.geomspace(1.0, 3e4, 400))
    assert (np.diff(leaving) < 1e-6).all()
    assert shares == pytest.approx(1.0)
    assert (leaving < hot).all()
    assert liquid[-1] > 0.2
    assert liquid[0] == 0.0


def test_a_condenser_cannot_cool_below_the_air() -> None:
    table = refrigerant_table("R-410A")
    leaving, *_ = condensed(np.array([1e5]))
    pressure = table.dew_pressure_pa(np.array([318.15]))
    sat = table.saturation(pressure)
    subcooling, _ = table.subcooling(pressure, sat.liquid_enthalpy_j_kg - leaving)
    assert sat.bubble_k - subcooling >= kelvin(95) - 0.2


def test_an_evaporator_superheats_more_the_less_it_is_fed() -> None:
    table = refrigerant_table("R-410A")
    flow = np.geomspace(0.01, 0.12, 200)
    n = flow.size
    inside = air(80, 67, 0.56, n)
    pressure = table.dew_pressure_pa(np.full(n, 282.15))
    sat = table.saturation(pressure)
    ua = conductances(Coil(1100.0, 2800.0, 0.56, 0.06, 0.003), inside.flow_kg_s, flow, np.ones(n))
    entering = np.full(n, float(sat.liquid_enthalpy_j_kg[0]) + 50e3)
    done = evaporate(table, (pressure, sat, entering, flow), inside, ua)
    superheat, _, _ = table.superheat(pressure, done.leaving_j_kg - sat.vapour_enthalpy_j_kg)
    assert (np.diff(superheat) < 1e-9).all()
    assert 15.0 < superheat[0] <= 17.7
    assert superheat[-1] == 0.0
    assert done.leaving_quality[-1] < 1.0


def test_a_coil_above_the_dew_point_stays_dry() -> None:
    inside = air(80, 57, 0.5)
    ua = conductances(
        Coil(900.0, 2700.0, 0.5, 0.06, 0.003), inside.flow_kg_s, np.full(1, 0.06), np.ones(1)
    )
    heat = two_phase_heat_w(inside, ua, np.array([288.15]))
    whole = float(ua.overall(ua.two_phase)[0] / inside.capacity_w_k[0])
    dry = inside.capacity_w_k * (1.0 - np.exp(-whole)) * (inside.temperature_k - 288.15)
    assert heat == pytest.approx(dry)
    behind = leaving_air(inside, ua, heat)
    assert behind.condensate_kg_s == pytest.approx(0.0, abs=1e-9)
    assert behind.sensible_w == pytest.approx(heat, rel=0.01)


@pytest.mark.published("rated-coil", "bypass method at 80/67 degF, sensible ratio 0.708, per ton")
def test_air_behind_a_rated_coil() -> None:
    """400 cfm and one ton: leaving 60.66 degF at 0.009388, surface 53.64 degF, bypass 0.2659."""
    flow = 0.22646
    inside = air(80, 67, flow)
    air_ua = -np.log(0.2659) * float(inside.capacity_w_k[0])
    ua = conductances(Coil(air_ua, 1e9, flow, 1.0, 1.0), inside.flow_kg_s, np.ones(1), np.ones(1))
    behind = leaving_air(inside, ua, np.array([3516.85]))
    assert behind.surface_k == pytest.approx(kelvin(53.64), abs=0.1)
    assert behind.temperature_k == pytest.approx(kelvin(60.66), abs=0.15)
    assert behind.humidity_ratio == pytest.approx(0.009388, rel=0.005)
    assert behind.sensible_w / 3516.85 == pytest.approx(0.708, abs=0.005)


def test_heat_and_water_balance_over_a_wet_coil() -> None:
    inside = air(80, 67, 0.5)
    ua = conductances(
        Coil(900.0, 2700.0, 0.5, 0.06, 0.003), inside.flow_kg_s, np.full(1, 0.06), np.ones(1)
    )
    behind = leaving_air(inside, ua, np.array([9000.0]))
    leaving = enthalpy_j_kg(behind.temperature_k, behind.humidity_ratio)
    assert 0.5 * (inside.enthalpy_j_kg - leaving) == pytest.approx(9000.0)
    assert behind.condensate_kg_s == pytest.approx(
        0.5 * (inside.humidity_ratio - behind.humidity_ratio)
    )
    assert (behind.sensible_w < 9000.0).all()


def test_saturated_air_holds_more_heat_the_warmer_it_is() -> None:
    enthalpy = saturated_enthalpy_j_kg(np.linspace(230.0, 320.0, 200), np.array(SEA))
    assert (np.diff(enthalpy) > 0.0).all()


def test_backed_up_liquid_costs_a_deep_condenser_less() -> None:
    """Flood a coil by cooling the air: one and two rows of equal conductance and equal duty."""
    shares = []
    for rows in (1, 2, 3):
        ntu = np.full(1, 1.6)
        whole = _effect(ntu, rows, np.ones(1))
        assert whole == pytest.approx(-np.expm1(-1.6))
        part = _effect(ntu, rows, np.full(1, 0.7))
        assert _depth(ntu, rows, part) == pytest.approx(0.7)
        shares.append(float(part[0] / whole[0]))
    assert shares[0] == pytest.approx(0.7)
    assert shares[0] < shares[1] < shares[2] < 1.0
