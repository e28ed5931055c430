"""CoolProp is asked in the ways that work, and what it gets wrong is noticed."""

import numpy as np
import pytest

from catchpan.physics.refrigerant.fluid import REFRIGERANTS, Refrigerant
from catchpan.physics.refrigerant.source import PropertyGapError, PropertySource


def test_the_dew_line_of_r454b_is_whole_where_the_plain_call_fails() -> None:
    source = PropertySource(REFRIGERANTS["R-454B"])
    pressure = np.geomspace(2.5e6, 4.3e6, 300)
    plain = np.array([source._saturated(p, 1.0) for p in pressure])
    assert np.isnan(plain).any(), "CoolProp no longer fails here: the filling is untested"
    dew = source.saturation_temperature_k(pressure, 1.0)
    assert np.isfinite(dew).all()
    assert (np.diff(dew) > 0.0).all()
    assert np.abs(np.diff(dew, 2)).max() < 0.004


def test_a_curve_with_too_many_gaps_is_refused() -> None:
    source = PropertySource(REFRIGERANTS["R-134a"])
    supercritical = np.geomspace(3.0e6, 9.0e6, 40)
    with pytest.raises(PropertyGapError, match=r"R-134a: CoolProp .* good saturation points of 40"):
        source.saturation_temperature_k(supercritical, 1.0)


def test_a_single_phase_state_out_of_reach_is_not_a_number() -> None:
    source = PropertySource(REFRIGERANTS["R-32"])
    cold = source.single_phase(np.array([1e6, 1e6]), np.array([50.0, 280.0]), liquid=True)
    assert np.isnan(cold[0]).all()
    assert np.isfinite(cold[1]).all()


def test_an_explicit_composition_may_be_given() -> None:
    blend = Refrigerant("blend", "R32&R1234yf", (0.5, 0.5), 340.0)
    source = PropertySource(blend)
    bubble = source.saturation_temperature_k(np.geomspace(9e5, 1e6, 20), 0.0)
    dew = source.saturation_temperature_k(np.geomspace(9e5, 1e6, 20), 1.0)
    assert (dew - bubble > 2.0).all()
