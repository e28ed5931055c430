"""Capacitors, windings and supply limits."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.physics.motors import (
    WindingState,
    capacitor_is_good,
    plain_voltage_limits_v,
    run_capacitance_f,
    voltage_is_allowed,
    voltage_unbalance,
    winding_readings_ohm,
    winding_state,
)
from catchpan.units.errors import OutOfRange

OPEN = math.inf


@pytest.mark.published("capacitor-under-load", "1.1 A, 383 V: 7.61 uF")
def test_capacitor_under_load() -> None:
    """Worked example P34: accept for 7.5 uF, reject for 10 uF."""
    farad = run_capacitance_f(1.1, 383.0)
    assert farad * 1e6 == pytest.approx(7.61, abs=0.015)
    assert capacitor_is_good(farad, [7.5e-6, 10e-6]).tolist() == [True, False]


@pytest.mark.published("capacitor-factors", "2652 at 60 Hz, 3183 at 50 Hz")
def test_factors_of_the_trade() -> None:
    factors = run_capacitance_f(1.0, 1.0, [60.0, 50.0]) * 1e6
    assert factors == pytest.approx([2652.6, 3183.1], abs=0.1)


@given(st.floats(1e-6, 1e-4), st.floats(0.01, 0.2), st.floats(0, 2))
def test_tolerance_is_symmetric(rated: float, tolerance: float, share: float) -> None:
    high = capacitor_is_good(rated * (1 + share * tolerance), rated, tolerance)
    assert high == (share <= 1 + 1e-9) or share == pytest.approx(1)


@pytest.mark.published("windings-sum-rule", "11/4/15 ohm; 0.5/1.2/1.7 ohm on a rotary")
@pytest.mark.parametrize(("start", "run", "both"), [(11, 4, 15), (0.5, 1.2, 1.7)])
def test_good_windings_add_up(start: float, run: float, both: float) -> None:
    """Worked examples P35 and P36: the start winding need not be the larger one."""
    assert winding_state(start, run, both) is WindingState.GOOD
    assert winding_readings_ohm(run, start)[2] == pytest.approx(both)


@pytest.mark.published("windings-overload", "C-S and C-R open, S-R reads")
def test_open_overload_is_not_a_dead_compressor() -> None:
    """Worked example P37."""
    assert winding_state(OPEN, OPEN, 15.0) is WindingState.OVERLOAD_OPEN


@pytest.mark.parametrize(
    ("readings", "state"),
    [
        ((OPEN, 4.0, OPEN), WindingState.START_OPEN),
        ((11.0, OPEN, OPEN), WindingState.RUN_OPEN),
        ((OPEN, OPEN, OPEN), WindingState.ALL_OPEN),
        ((11.0, 0.0, 11.0), WindingState.SHORTED),
        ((11.0, 4.0, 9.0), WindingState.CONTRADICTORY),
        ((OPEN, 4.0, 15.0), WindingState.CONTRADICTORY),
        ((11.0, 4.0, OPEN), WindingState.CONTRADICTORY),
    ],
)
def test_other_patterns(readings: tuple[float, float, float], state: WindingState) -> None:
    assert winding_state(*readings) is state


@given(st.floats(0.3, 20), st.floats(0.3, 20), st.booleans(), st.booleans(), st.booleans())
def test_judgement_undoes_the_prediction(
    run: float, start: float, cut: bool, run_broken: bool, start_broken: bool
) -> None:
    readings = winding_readings_ohm(
        OPEN if run_broken else run, OPEN if start_broken else start, cut
    )
    state = winding_state(*map(float, readings))
    expected = {
        (False, False, False): WindingState.GOOD,
        (True, False, False): WindingState.OVERLOAD_OPEN,
        (False, True, False): WindingState.RUN_OPEN,
        (False, False, True): WindingState.START_OPEN,
    }
    assert state is expected.get((cut, run_broken, start_broken), WindingState.ALL_OPEN)


def test_negative_reading_is_refused() -> None:
    with pytest.raises(OutOfRange, match="winding reading"):
        winding_state(-1.0, 1.0, 1.0)


@pytest.mark.published("nema-mg1-unbalance", "462/463/455 V: 1.1 %; maker's manual p. 50: 2.2 %")
@pytest.mark.parametrize(
    ("volts", "share"), [([462.0, 463, 455], 0.011), ([221.0, 230, 227], 0.022)]
)
def test_voltage_unbalance(volts: list[float], share: float) -> None:
    """Worked examples P33 and P79 (the second exceeds the 2.0 % limit)."""
    assert voltage_unbalance(volts) == pytest.approx(share, abs=0.0005)


def test_mean_is_not_rounded() -> None:
    """A published 220/216/213 V gives 1.8 % from a rounded mean; exact is 1.69 %."""
    assert voltage_unbalance([220.0, 216.0, 213.0]) == pytest.approx(0.0169, abs=0.00005)


@given(st.lists(st.floats(100, 500), min_size=3, max_size=3), st.floats(0.5, 2))
def test_unbalance_is_blind_to_the_scale(volts: list[float], scale: float) -> None:
    assert voltage_unbalance(np.array(volts) * scale) == pytest.approx(
        float(voltage_unbalance(volts)), abs=1e-12
    )


def test_two_voltages_have_no_unbalance() -> None:
    with pytest.raises(OutOfRange, match="number of line voltages"):
        voltage_unbalance([230.0, 230.0])


@pytest.mark.published("maker-manual-2460242", "page 5, 208/230 V unit: 197 to 253 V")
def test_supply_limits_of_a_dual_rated_unit() -> None:
    """Worked example P80."""
    assert voltage_is_allowed([196, 197, 253, 254]).tolist() == [False, True, True, False]


@pytest.mark.published("nema-mg1-12.44", "plus or minus 10 %")
def test_plain_supply_limits() -> None:
    assert plain_voltage_limits_v(208, 230) == pytest.approx((187.2, 253.0))
