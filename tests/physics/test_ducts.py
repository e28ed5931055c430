"""Resistances of air paths and the pressure along the way."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.physics.ducts import (
    in_parallel,
    in_series,
    partly_blocked,
    pressure_drop_pa,
    pressure_profile_pa,
    resistance_from_point,
)
from catchpan.units.errors import OutOfRange

RESISTANCE = st.floats(0.1, 1e5)


@given(st.floats(0, 1000), st.floats(0.01, 10))
def test_resistance_gives_its_point_back(drop: float, flow: float) -> None:
    assert pressure_drop_pa(resistance_from_point(drop, flow), flow) == pytest.approx(drop)


@given(RESISTANCE, RESISTANCE)
def test_parallel_branches_resist_less_than_either(first: float, second: float) -> None:
    assert in_parallel(first, second) < min(first, second)
    assert in_series(first, second) == pytest.approx(first + second)


def test_two_equal_branches_quarter_the_resistance() -> None:
    assert in_parallel(100.0, 100.0) == pytest.approx(25.0)


def test_closed_branches_drop_out() -> None:
    assert in_parallel(100.0, np.inf) == pytest.approx(100.0)
    assert np.isinf(in_parallel(np.inf, np.inf))


def test_half_blocked_filter_resists_four_times() -> None:
    assert partly_blocked(10.0, [0.0, 0.5, 1.0]).tolist() == [10.0, 40.0, np.inf]


def test_closed_part_loses_nothing_without_flow() -> None:
    assert pressure_drop_pa(np.inf, 0.0) == 0.0


def test_pan_of_a_draw_through_coil_is_under_suction() -> None:
    """return duct, filter, coil | fan | supply: pan pressure = all upstream drops (Brusha 2001)."""
    profile = pressure_profile_pa([50.0, 80.0, 150.0, 120.0], 3, 0.5)
    assert profile[2] == pytest.approx(-(50 + 80 + 150) * 0.25)
    assert profile[3] == pytest.approx(0.0)


def test_pan_of_a_coil_on_top_of_the_furnace_is_blown() -> None:
    profile = pressure_profile_pa([50.0, 80.0, 150.0, 120.0], 2, 0.5)
    assert profile[2] == pytest.approx(120 * 0.25)


@given(st.lists(RESISTANCE, min_size=2, max_size=6), st.integers(0, 6), st.floats(0, 2))
def test_profile_is_negative_before_and_positive_after_the_fan(
    parts: list[float], before: int, flow: float
) -> None:
    profile = pressure_profile_pa(parts, before, flow)
    assert (profile[:before] <= 1e-9).all()
    assert (profile[before:] >= -1e-9 * (1 + profile.max(initial=0.0))).all()


def test_profile_takes_many_cases() -> None:
    profile = pressure_profile_pa([[50.0, 60.0], 80.0], 1, [0.5, 1.0])
    assert profile.shape == (2, 2)


def test_negative_resistance_is_refused() -> None:
    with pytest.raises(OutOfRange, match="resistance"):
        in_series(-1.0, 2.0)
