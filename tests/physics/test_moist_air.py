"""Moist air in closed form against published values and psychrolib."""

import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.physics.moist_air import (
    enthalpy_j_kg,
    humidity_ratio_from_relative_humidity,
    humidity_ratio_from_wet_bulb,
    relative_humidity,
    saturation_humidity_ratio,
    saturation_pressure_pa,
    specific_volume_m3_kg,
    standard_pressure_pa,
    temperature_from_enthalpy_k,
)
from catchpan.units.errors import OutOfRange

psychrolib.SetUnitSystem(psychrolib.SI)

ICE = 273.15
SEA = 101325.0


@pytest.mark.published("ashrae-fundamentals-2017", "ch. 1 table 3")
@pytest.mark.parametrize(
    ("celsius", "pascal"),
    [(-20, 103.24), (-5, 401.74), (5, 872.6), (25, 3169.7), (50, 12351.3), (100, 101418)],
)
def test_saturation_pressure(celsius: float, pascal: float) -> None:
    assert saturation_pressure_pa(celsius + ICE) == pytest.approx(pascal, rel=3e-4)


@pytest.mark.published("ashrae-fundamentals-2017", "ch. 1 table 2")
@pytest.mark.parametrize(
    ("celsius", "ratio", "off"),
    [(-20, 0.0006373, 0.01), (-5, 0.0024863, 0.005), (5, 0.005425, 0.005), (25, 0.020173, 0.005)],
)
def test_saturation_humidity_ratio(celsius: float, ratio: float, off: float) -> None:
    assert saturation_humidity_ratio(celsius + ICE, SEA) == pytest.approx(ratio, rel=off)


@pytest.mark.published("ashrae-fundamentals-2017", "ch. 1 table 2")
@pytest.mark.parametrize(("celsius", "joule"), [(5, 18639), (25, 76504), (50, 275353)])
def test_saturation_enthalpy(celsius: float, joule: float) -> None:
    ratio = saturation_humidity_ratio(celsius + ICE, SEA)
    assert enthalpy_j_kg(celsius + ICE, ratio) == pytest.approx(joule, rel=0.01)


@pytest.mark.published("ashrae-fundamentals-2017", "ch. 1 table 1")
@pytest.mark.parametrize(
    ("metre", "pascal"), [(0, 101325), (500, 95461), (1000, 89875), (4000, 61640)]
)
def test_standard_pressure(metre: float, pascal: float) -> None:
    assert standard_pressure_pa(metre) == pytest.approx(pascal, rel=2e-4)


@pytest.mark.published("psychrolib-tests", "humidity ratio from wet bulb, SI")
@pytest.mark.parametrize(("dry", "wet", "ratio"), [(30, 25, 0.0192281274), (-1, -5, 0.00120399820)])
def test_humidity_ratio_from_wet_bulb(dry: float, wet: float, ratio: float) -> None:
    ours = humidity_ratio_from_wet_bulb(dry + ICE, wet + ICE, 95461.0)
    assert ours == pytest.approx(ratio, rel=3e-4)


@pytest.mark.published("psychrolib-tests", "h(30 C, 0.02) and v(30 C, 0.02, 95461 Pa)")
def test_enthalpy_and_volume_of_a_known_state() -> None:
    assert enthalpy_j_kg(30 + ICE, 0.02) == pytest.approx(81316, rel=3e-4)
    assert specific_volume_m3_kg(30 + ICE, 0.02, 95461.0) == pytest.approx(0.940855, rel=3e-4)


@pytest.mark.published("ashrae-fundamentals-2017", "ch. 1 example 1")
def test_chart_example_of_hot_dry_air() -> None:
    """40 C dry, 20 C wet bulb: W 0.0065, RH 14 %, h 56.7 kJ/kg, v 0.896 m3/kg (chart reading)."""
    ratio = humidity_ratio_from_wet_bulb(40 + ICE, 20 + ICE, SEA)
    assert ratio == pytest.approx(0.0065, abs=1e-4)
    assert relative_humidity(40 + ICE, ratio, SEA) == pytest.approx(0.14, abs=0.005)
    assert enthalpy_j_kg(40 + ICE, ratio) == pytest.approx(56700, abs=600)
    assert specific_volume_m3_kg(40 + ICE, ratio, SEA) == pytest.approx(0.896, abs=0.001)


@pytest.mark.published("ashrae-fundamentals-2017", "ch. 1 example 3, as worked in a public program")
def test_cooling_and_dehumidifying_example() -> None:
    """Worked example P18: 5 m3/s, 30 C and 50 % to saturated 10 C, 101.325 kPa."""
    first = humidity_ratio_from_relative_humidity(30 + ICE, 0.5, SEA)
    last = saturation_humidity_ratio(10 + ICE, SEA)
    assert first == pytest.approx(0.0133102, rel=1e-4)
    assert last == pytest.approx(0.00763005, rel=1e-4)
    assert enthalpy_j_kg(30 + ICE, first) == pytest.approx(64211.5, rel=1e-4)
    assert enthalpy_j_kg(10 + ICE, last) == pytest.approx(29.5e3, rel=0.01)


def test_published_mass_flow_of_that_example_forgets_the_moisture() -> None:
    """Do not copy: the program's 0.85879 m3/kg (and its 5.82215 kg/s and 0.03307 kg/s of water
    that follow) is the volume of *dry* air; psychrolib's moist-air volume is 2.1 % larger."""
    ratio = humidity_ratio_from_relative_humidity(30 + ICE, 0.5, SEA)
    assert specific_volume_m3_kg(30 + ICE, 0.0, SEA) == pytest.approx(0.85879, rel=1e-5)
    moist = specific_volume_m3_kg(30 + ICE, ratio, SEA)
    assert moist == pytest.approx(psychrolib.GetMoistAirVolume(30, float(ratio), SEA))
    assert moist / 0.85879 == pytest.approx(1.0214, abs=1e-4)


DRY = st.floats(-40.0, 60.0)
SHARE = st.floats(0.01, 1.0)
PRESSURE = st.floats(6e4, 1.05e5)


@given(DRY, SHARE, PRESSURE)
def test_closed_forms_equal_psychrolib(dry: float, share: float, pressure: float) -> None:
    ratio = humidity_ratio_from_relative_humidity(dry + ICE, share, pressure)
    theirs = psychrolib.GetHumRatioFromRelHum(dry, share, pressure)
    assert ratio == pytest.approx(theirs, rel=1e-9, abs=2e-7)
    assert enthalpy_j_kg(dry + ICE, theirs) == pytest.approx(
        psychrolib.GetMoistAirEnthalpy(dry, theirs), rel=1e-9, abs=1e-4
    )
    assert specific_volume_m3_kg(dry + ICE, theirs, pressure) == pytest.approx(
        psychrolib.GetMoistAirVolume(dry, theirs, pressure), rel=1e-9
    )


@given(DRY, SHARE, PRESSURE)
def test_relative_humidity_comes_back(dry: float, share: float, pressure: float) -> None:
    ratio = humidity_ratio_from_relative_humidity(dry + ICE, share, pressure)
    assert relative_humidity(dry + ICE, ratio, pressure) == pytest.approx(share)


@given(DRY, st.floats(0.0, 0.1))
def test_temperature_comes_back_from_enthalpy(dry: float, ratio: float) -> None:
    back = temperature_from_enthalpy_k(enthalpy_j_kg(dry + ICE, ratio), ratio)
    assert back == pytest.approx(dry + ICE)


@given(st.floats(-49.0, 98.0), st.floats(0.01, 1.0))
def test_hotter_air_holds_more(celsius: float, step: float) -> None:
    cold, warm = saturation_pressure_pa([celsius + ICE, celsius + step + ICE])
    assert warm > cold


def test_arrays_keep_their_shape() -> None:
    dry = np.full((3, 1), 300.0)
    wet = np.linspace(280, 300, 4)
    assert humidity_ratio_from_wet_bulb(dry, wet, SEA).shape == (3, 4)


def test_wet_bulb_above_dry_bulb_is_refused() -> None:
    with pytest.raises(OutOfRange, match="wet bulb above dry bulb by 2 K"):
        humidity_ratio_from_wet_bulb(290.0, 292.0, SEA)


def test_boiling_air_is_refused() -> None:
    with pytest.raises(OutOfRange, match="vapour pressure"):
        humidity_ratio_from_relative_humidity(373.0, 1.0, 9e4)


def test_relative_humidity_in_percent_is_refused() -> None:
    with pytest.raises(OutOfRange, match="relative humidity 50 is outside 0 to 1"):
        humidity_ratio_from_relative_humidity(300.0, 50.0, SEA)
