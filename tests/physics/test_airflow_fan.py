"""Blowers of three kinds against the air path."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.physics.airflow_fan import (
    Blower,
    BlowerPoint,
    constant_airflow_point,
    constant_torque_point,
    psc_current_a,
    psc_point,
)
from catchpan.physics.ducts import partly_blocked
from catchpan.units.errors import OutOfRange
from catchpan.units.span import FloatArray

CFM = 0.3048**3 / 60
INCH_WATER = 249.08891
BLOWER = Blower(1200 * CFM, 0.8 * INCH_WATER, 500.0)
DESIGN = 0.8 * INCH_WATER / (1200 * CFM) ** 2
CHOKED = partly_blocked(DESIGN, np.array([0.0, 0.2, 0.4, 0.6, 0.8]))


def _points(resistance: FloatArray) -> list[BlowerPoint]:
    return [
        psc_point(BLOWER, resistance),
        constant_torque_point(BLOWER, resistance),
        constant_airflow_point(BLOWER, resistance, flow_m3_s=1200 * CFM),
    ]


@pytest.mark.parametrize("kind", [0, 1, 2])
def test_every_motor_meets_the_design_point(kind: int) -> None:
    point = _points(np.asarray(DESIGN))[kind]
    assert point.flow_m3_s == pytest.approx(1200 * CFM)
    assert point.pressure_pa == pytest.approx(0.8 * INCH_WATER)
    assert point.power_w == pytest.approx(500.0)
    assert point.speed_ratio == pytest.approx(1.0)


@given(st.floats(1.0, 1e6), st.floats(0.7, 1.1))
def test_fan_and_path_agree_on_the_pressure(resistance: float, density: float) -> None:
    for point in (
        psc_point(BLOWER, resistance, density_ratio=density),
        constant_torque_point(BLOWER, resistance, density_ratio=density),
        constant_airflow_point(BLOWER, resistance, flow_m3_s=0.5, density_ratio=density),
    ):
        assert point.pressure_pa == pytest.approx(
            density * resistance * point.flow_m3_s**2, rel=1e-6, abs=1e-9
        )


@given(st.floats(1.0, 1e6), st.floats(1.01, 10))
def test_more_resistance_never_gives_more_air(resistance: float, times: float) -> None:
    path = np.array([resistance, resistance * times])
    for point in _points(path):
        assert point.flow_m3_s[1] <= point.flow_m3_s[0] * (1 + 1e-12)


def test_choked_psc_motor_draws_less() -> None:
    """Common practice: high static, amps fall (permanent split capacitor)."""
    point = psc_point(BLOWER, CHOKED)
    amps = psc_current_a(4.0, point.torque_ratio)
    assert (np.diff(point.power_w) < 0).all()
    assert (np.diff(amps) < 0).all()
    assert amps[0] == pytest.approx(4.0)


def test_choked_electronic_motors_draw_more_until_their_limit() -> None:
    """Common practice: high static, amps rise (electronically commutated)."""
    assert (np.diff(constant_torque_point(BLOWER, CHOKED[:4]).power_w) > 0).all()
    held = constant_airflow_point(BLOWER, CHOKED[:2], flow_m3_s=1200 * CFM)
    assert held.power_w[1] > held.power_w[0]
    assert held.flow_m3_s == pytest.approx(1200 * CFM)


def test_constant_airflow_motor_gives_way_at_its_limits() -> None:
    point = constant_airflow_point(BLOWER, CHOKED, flow_m3_s=1200 * CFM)
    assert point.flow_m3_s[-1] < 0.8 * 1200 * CFM
    assert (point.speed_ratio <= 1.5).all()
    assert (point.power_w <= 1.8 * 500 * (1 + 1e-12)).all()


def test_constant_airflow_loses_least_and_psc_most() -> None:
    psc, torque, airflow = (point.flow_m3_s[2] for point in _points(CHOKED))
    assert psc < torque < airflow


def test_dead_motor_and_closed_path_move_nothing() -> None:
    assert psc_point(BLOWER, DESIGN, strength=0.0).flow_m3_s == 0.0
    for point in _points(np.asarray(np.inf)):
        assert point.flow_m3_s == 0.0
        assert np.isfinite(point.pressure_pa)
    assert constant_airflow_point(BLOWER, np.inf, flow_m3_s=0.0).power_w == 0.0


@given(st.floats(0.05, 1.5), st.floats(1.01, 1.3))
def test_stronger_tap_moves_more_air(strength: float, times: float) -> None:
    weak, strong = psc_point(BLOWER, DESIGN, strength=[strength, strength * times]).flow_m3_s
    assert strong > weak


def _flow_at_external_static(blower: Blower, inner: float, strength: float) -> FloatArray:
    outer = np.geomspace(20, 2e4, 4000)
    flow = psc_point(blower, outer + inner, strength=strength).flow_m3_s
    wanted = np.arange(1, 8) * 0.1 * INCH_WATER
    return np.asarray(np.interp(wanted, outer * flow**2, flow) / CFM)


@pytest.mark.published("psc-blower-table-2013", "air handler table, 0.1 to 0.7 in w.c.")
@pytest.mark.parametrize(
    ("strength", "published", "off"),
    [
        (1.0, [1150, 1095, 1045, 1025, 950, 865, 775], 0.10),
        (0.295, [890, 855, 835, 775, 715, 665, 605], 0.05),
        (0.124, [640, 605, 565, 530, 485, 440, 360], 0.14),
    ],
)
def test_three_taps_of_a_real_air_handler(
    strength: float, published: list[float], off: float
) -> None:
    """Table quoted in hvacrfundamentals.blogspot.com, 2013-09 (maker withheld), cfm.

    Design point: the high tap at 0.5 in w.c., plus 0.25 in w.c. inside (assumed). The strengths
    of the lower taps are fitted; the shut-off ratio and idle torque are the defaults.
    """
    blower = Blower(950 * CFM, 0.75 * INCH_WATER, 400.0)
    inner = 0.25 * INCH_WATER / (950 * CFM) ** 2
    ours = _flow_at_external_static(blower, inner, strength)
    assert np.abs(ours / np.array(published) - 1).max() < off


@pytest.mark.parametrize(
    "change",
    [{"shutoff_ratio": 1.0}, {"idle_torque": 0.0}, {"design_flow_m3_s": 0.0}],
)
def test_impossible_blower_is_refused(change: dict[str, float]) -> None:
    with pytest.raises(OutOfRange):
        psc_point(replace(BLOWER, **change), DESIGN)
