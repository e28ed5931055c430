"""Dew point and wet bulb."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catchpan.physics.moist_air import (
    humidity_ratio_from_relative_humidity,
    humidity_ratio_from_wet_bulb,
    relative_humidity,
    saturation_humidity_ratio,
)
from catchpan.physics.moist_air_bulb import dew_point_k, wet_bulb_inside_k, wet_bulb_k
from catchpan.units.errors import OutOfRange

ICE = 273.15
SEA = 101325.0


def _kelvin(degf: float) -> float:
    return (degf - 32) * 5 / 9 + ICE


@pytest.mark.published("ashrae-fundamentals-2017", "ch. 1 example 1")
def test_dew_point_of_hot_dry_air() -> None:
    ratio = humidity_ratio_from_wet_bulb(40 + ICE, 20 + ICE, SEA)
    assert dew_point_k(ratio, SEA) - ICE == pytest.approx(7, abs=0.5)


@pytest.mark.parametrize(
    ("dry", "wet", "ratio", "share", "dew"),
    [
        (80, 67, 0.011166, 0.5109, 60.31),
        (75, 63, 0.009529, 0.5157, 55.97),
        (95, 75, 0.014060, 0.3980, 66.75),
        (47, 43, 0.004932, 0.7264, 38.68),
        (17, 15, 0.001285, 0.6938, 9.61),
    ],
)
def test_rating_conditions(dry: float, wet: float, ratio: float, share: float, dew: float) -> None:
    """Regression values worked out with psychrolib for the rating conditions, in deg F."""
    ours = humidity_ratio_from_wet_bulb(_kelvin(dry), _kelvin(wet), SEA)
    assert ours == pytest.approx(ratio, abs=1e-6)
    assert relative_humidity(_kelvin(dry), ours, SEA) == pytest.approx(share, abs=1e-4)
    assert dew_point_k(ours, SEA) == pytest.approx(_kelvin(dew), abs=0.01)


@settings(deadline=None, max_examples=50)
@given(st.floats(-15.0, 50.0), st.floats(0.05, 1.0), st.floats(7e4, 1.05e5))
def test_wet_bulb_lies_between_dew_point_and_dry_bulb(
    dry: float, share: float, pressure: float
) -> None:
    ratio = humidity_ratio_from_relative_humidity(dry + ICE, share, pressure)
    wet = wet_bulb_k(dry + ICE, ratio, pressure)
    assert dew_point_k(ratio, pressure) - 0.05 <= wet <= dry + ICE + 1e-3
    if wet > ICE + 0.01:
        back = humidity_ratio_from_wet_bulb(dry + ICE, np.minimum(wet, dry + ICE), pressure)
        assert back == pytest.approx(ratio, abs=2e-6)


@settings(deadline=None, max_examples=50)
@given(st.floats(-40.0, 60.0), st.floats(7e4, 1.05e5))
def test_dew_point_of_saturated_air_is_its_temperature(dry: float, pressure: float) -> None:
    ratio = saturation_humidity_ratio(dry + ICE, pressure)
    assert dew_point_k(ratio, pressure) == pytest.approx(dry + ICE, abs=0.02)


def test_arrays_keep_their_shape() -> None:
    assert wet_bulb_k(np.full((2, 1), 300.0), [0.005, 0.01, 0.02], SEA).shape == (2, 3)


def test_fog_has_no_wet_bulb() -> None:
    with pytest.raises(OutOfRange, match="relative humidity"):
        wet_bulb_k(280.0, 0.02, SEA)


def test_bone_dry_air_has_no_dew_point() -> None:
    with pytest.raises(OutOfRange, match="humidity ratio"):
        dew_point_k(0.0, SEA)


@settings(deadline=None, max_examples=50)
@given(st.floats(-15.0, 50.0), st.floats(0.05, 1.0), st.floats(7e4, 1.05e5))
def test_the_wet_bulb_of_whole_arrays_is_that_of_single_states(
    dry: float, share: float, pressure: float
) -> None:
    """But where a wick of ice and one of water both fit, round freezing."""
    ratio = humidity_ratio_from_relative_humidity(dry + ICE, share, pressure)
    slow = float(wet_bulb_k(dry + ICE, ratio, pressure))
    plain = wet_bulb_inside_k(dry + ICE, float(ratio), pressure)  # type: ignore[arg-type]
    many = wet_bulb_inside_k(np.full(2, dry + ICE), np.full(2, ratio), np.full(2, pressure))
    for found in (float(plain), *many.tolist()):
        assert found == pytest.approx(slow, abs=0.002 if abs(slow - ICE) > 1.0 else 0.8)


def test_air_with_more_water_than_it_holds_has_its_own_temperature_as_wet_bulb() -> None:
    full = saturation_humidity_ratio(285.0, SEA)
    found = wet_bulb_inside_k(np.array([285.0]), np.array([1.1 * full]), np.array([SEA]))
    assert found[0] == pytest.approx(285.0)
