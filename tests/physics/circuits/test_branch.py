"""Impedances of the pieces circuits are made of."""

import cmath
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.physics.circuits.branch import (
    CLOSED,
    OPEN,
    capacitive,
    inductive,
    resistive,
)


@pytest.mark.published("capacitor-factors", "2652 at 60 Hz")
def test_capacitor_passes_one_ampere_at_2652_volts_per_microfarad() -> None:
    assert abs(capacitive(1e-6).impedance_ohm) == pytest.approx(2652.6, abs=0.1)


def test_capacitor_current_leads() -> None:
    """A quarter turn, but for the film's small resistance."""
    assert math.degrees(cmath.phase(capacitive(40e-6).admittance_s)) == pytest.approx(90.0, abs=0.1)


@given(st.floats(0.1, 1e4), st.floats(0.0, 1.0))
def test_coil_keeps_its_impedance_and_power_factor(ohm: float, power_factor: float) -> None:
    level = inductive(ohm, power_factor, 1.0)
    assert abs(level.impedance_ohm) == pytest.approx(ohm)
    assert level.impedance_ohm.real == pytest.approx(ohm * power_factor)
    assert level.impedance_ohm.imag >= 0.0


def test_ohmmeter_sees_no_way_through_a_capacitor() -> None:
    assert capacitive(40e-6).dc_conductance_s == 0.0
    assert resistive(50.0).dc_conductance_s == pytest.approx(0.02)


def test_open_and_closed_contacts_are_twelve_decades_apart_less_one() -> None:
    assert OPEN.dc_ohm / CLOSED.dc_ohm == pytest.approx(5e11)
