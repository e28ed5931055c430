"""Condensate pumps."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.physics.pan_pump import pump_cycle_s, pump_flow_m3_s, pump_is_large_enough


@given(st.floats(0, 0.001), st.floats(1, 10), st.floats(0, 20))
def test_flow_lies_between_nothing_and_free_flow(free: float, shutoff: float, lift: float) -> None:
    flow = pump_flow_m3_s(free, shutoff, lift)
    assert 0 <= flow <= free
    if lift >= shutoff:
        assert flow == 0


def test_head_curve_passes_both_ends() -> None:
    assert pump_flow_m3_s(1e-4, 6.0, [0.0, 4.5, 6.0]).tolist() == pytest.approx([1e-4, 5e-5, 0])


@given(st.floats(1e-5, 1e-2), st.floats(1e-8, 1e-4), st.floats(1.1, 100))
def test_pump_moves_on_average_what_comes_in(band: float, inflow: float, times: float) -> None:
    pump = min(inflow * times, 0.01)
    rest, run = pump_cycle_s(band, inflow, pump)
    assert pump * run == pytest.approx(inflow * (rest + run))


def test_pump_that_cannot_keep_up_runs_on() -> None:
    rest, run = pump_cycle_s(1e-3, [0.0, 2e-6], 1e-6)
    assert np.isinf(rest[0])
    assert np.isinf(run[1])


def test_reserve_rule_is_twice_the_water_and_four_fifths_of_the_lift() -> None:
    """Common practice, no source."""
    enough = pump_is_large_enough(2e-6, [1e-6, 1.01e-6, 1e-6], [4.8, 4.8, 4.9], 6.0)
    assert enough.tolist() == [True, False, False]
