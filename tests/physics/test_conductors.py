"""Wire resistance and voltage drop."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.physics.conductors import (
    awg_area_m2,
    copper_resistance_ohm,
    loop_voltage_drop_v,
    resistance_ohm,
)
from catchpan.units.errors import OutOfRange

FOOT = 0.3048
CMIL_M2 = np.pi / 4 * (0.0254e-3) ** 2
HOT_K = 273.15 + 75


@pytest.mark.published("copper-wire-tables", "solid, 20 C, ohm per 1000 ft")
@pytest.mark.parametrize(("awg", "ohm"), [(18, 6.385), (20, 10.15), (22, 16.14)])
def test_solid_control_wire(awg: int, ohm: float) -> None:
    assert copper_resistance_ohm(awg, 1000 * FOOT) == pytest.approx(ohm, rel=0.001)


@pytest.mark.published("nec-chapter-9", "table 8, 75 C, ohm per 1000 ft")
@pytest.mark.parametrize(
    ("awg", "stranded", "ohm"),
    [
        (18, False, 7.77),
        (18, True, 7.95),
        (16, False, 4.89),
        (16, True, 4.99),
        (14, True, 3.14),
        (12, True, 1.98),
        (10, True, 1.24),
        (8, True, 0.778),
        (6, True, 0.491),
        (4, True, 0.308),
    ],
)
def test_hot_wire(awg: int, stranded: bool, ohm: float) -> None:
    """The table rounds to three digits and its lay factors vary a little: 0.5 %."""
    ours = copper_resistance_ohm(awg, 1000 * FOOT, temperature_k=HOT_K, stranded=stranded)
    assert ours == pytest.approx(ohm, rel=0.005)


@pytest.mark.published("nec-chapter-9", "table 8, circular mils")
@pytest.mark.parametrize(
    ("awg", "cmil"), [(14, 4110), (12, 6530), (10, 10380), (8, 16510), (6, 26240), (4, 41740)]
)
def test_cross_sections(awg: int, cmil: float) -> None:
    assert awg_area_m2(awg) / CMIL_M2 == pytest.approx(cmil, rel=0.001)


@pytest.mark.published("electrician2", "24 V, 100 ft, 16 AWG stranded, 4 A")
def test_drop_in_a_control_cable() -> None:
    """Worked example P20: 4.0 V, 16.7 % of 24 V (published from 3.992 V, rounded)."""
    one_way = copper_resistance_ohm(16, 100 * FOOT, temperature_k=HOT_K, stranded=True)
    drop = loop_voltage_drop_v(one_way, 4.0)
    assert drop == pytest.approx(4.0, abs=0.05)
    assert drop / 24 == pytest.approx(0.167, abs=0.002)


@pytest.mark.published("engineeringtoolbox-10-awg", "100 ft, 1.02 ohm/kft, 10 A")
def test_drop_in_a_ten_gauge_branch() -> None:
    """Worked example P30: 0.204 ohm in the loop, 2.04 V."""
    one_way = copper_resistance_ohm(10, 100 * FOOT, stranded=True)
    assert 2 * one_way == pytest.approx(0.204, abs=0.0005)
    assert loop_voltage_drop_v(one_way, 10.0) == pytest.approx(2.04, abs=0.005)


@pytest.mark.published("voltage-drop-k-formula", "2 K I L / CM")
@pytest.mark.parametrize(
    ("k", "amps", "cmil", "volts", "off"),
    [(11, 10, 10400, 2.11, 0.006), (12.9, 15, 6530, 5.94, 0.02)],
)
def test_k_formula(k: float, amps: float, cmil: float, volts: float, off: float) -> None:
    """Worked examples P31 and P32 (the second is rounded up in print; exact 5.926 V)."""
    one_way = resistance_ohm(k * CMIL_M2 / FOOT, 100 * FOOT, cmil * CMIL_M2)
    drop = loop_voltage_drop_v(one_way, amps)
    assert drop == pytest.approx(2 * k * amps * 100 / cmil)
    assert drop == pytest.approx(volts, abs=off)


def test_drop_of_a_contactor_circuit() -> None:
    """Worked example D11 (derived): 0.5 A, 100 ft of 18 AWG: 0.64 V cold, 0.78 V at 75 C."""
    one_way = copper_resistance_ohm(18, 100 * FOOT, temperature_k=[293.15, HOT_K])
    assert loop_voltage_drop_v(one_way, 0.5) == pytest.approx([0.64, 0.78], abs=0.005)


@given(st.integers(-3, 37))
def test_three_gauges_double_the_area(awg: int) -> None:
    assert awg_area_m2(awg) / awg_area_m2(awg + 3) == pytest.approx(2.0, rel=0.01)


@given(st.integers(0, 30), st.floats(1, 500), st.floats(250, 400))
def test_longer_and_hotter_wire_resists_more(awg: int, length: float, kelvin: float) -> None:
    base = copper_resistance_ohm(awg, length, temperature_k=kelvin)
    assert copper_resistance_ohm(awg, length * 2, temperature_k=kelvin) == pytest.approx(2 * base)
    assert copper_resistance_ohm(awg, length, temperature_k=kelvin + 1) > base


def test_impossible_gauge_is_refused() -> None:
    with pytest.raises(OutOfRange, match="AWG"):
        awg_area_m2(60)
