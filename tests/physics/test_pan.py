"""Pans fill, trip their switches and spill as the water balance says."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catchpan.physics.pan import (
    NO_AUXILIARY_PAN,
    NO_PUMP,
    PLACES,
    VESSELS,
    Pan,
    PanSystem,
    pan_history,
)
from catchpan.units.errors import OutOfRange, UnknownName

INCH_M = 0.0254
GALLON_M3 = 231 * INCH_M**3
GALLON_PER_HOUR = GALLON_M3 / 3600
DAY_S = 86400.0

PRIMARY = Pan(
    area_m2=0.2,
    depth_m=0.05,
    outlet_height_m=0.005,
    outlet_capacity_m3_s=4e-5,
    secondary_height_m=0.025,
    secondary_capacity_m3_s=4e-5,
)


def _with(pan: Pan, **changes: object) -> Pan:
    return Pan(**{**pan.__dict__, **changes})


def test_clear_drain_takes_all_the_water() -> None:
    after = pan_history(PanSystem(PRIMARY), GALLON_PER_HOUR, DAY_S)
    assert after.flow_m3_s["drain"] == pytest.approx(GALLON_PER_HOUR)
    assert after.level_m["primary"] == pytest.approx(0.005)
    assert np.isinf(after.hours_to("primary secondary"))
    assert after.hours_to("primary outlet") == pytest.approx(0.2 * 0.005 / GALLON_M3)


def test_plugged_drain_runs_out_of_the_secondary_line() -> None:
    system = PanSystem(_with(PRIMARY, outlet_blocked=1.0))
    after = pan_history(system, GALLON_PER_HOUR, DAY_S)
    assert after.hours_to("primary secondary") == pytest.approx(0.2 * 0.025 / GALLON_M3)
    assert after.flow_m3_s["secondary line"] == pytest.approx(GALLON_PER_HOUR)
    assert after.volume_m3["below"] == 0.0


def test_both_plugged_without_auxiliary_pan_wets_the_ceiling() -> None:
    system = PanSystem(_with(PRIMARY, outlet_blocked=1.0, secondary_blocked=1.0))
    after = pan_history(system, GALLON_PER_HOUR, DAY_S)
    assert after.hours_to("primary rim") == pytest.approx(0.2 * 0.05 / GALLON_M3)
    assert after.flow_m3_s["below"] == pytest.approx(GALLON_PER_HOUR)


def test_auxiliary_pan_buys_the_time_of_its_volume() -> None:
    primary = _with(PRIMARY, outlet_blocked=1.0, secondary_blocked=1.0)
    auxiliary = Pan(area_m2=0.5, depth_m=1.5 * INCH_M)
    after = pan_history(PanSystem(primary, auxiliary), GALLON_PER_HOUR, DAY_S)
    wait = after.hours_to("auxiliary rim") - after.hours_to("primary rim")
    assert wait == pytest.approx(0.5 * 1.5 * INCH_M / GALLON_M3)


def test_auxiliary_line_saves_the_ceiling() -> None:
    primary = _with(PRIMARY, outlet_blocked=1.0, secondary_blocked=1.0)
    auxiliary = Pan(0.5, 0.038, outlet_height_m=0.01, outlet_capacity_m3_s=4e-5)
    after = pan_history(PanSystem(primary, auxiliary), GALLON_PER_HOUR, DAY_S)
    assert after.flow_m3_s["auxiliary line"] == pytest.approx(GALLON_PER_HOUR)
    assert np.isinf(after.hours_to("auxiliary rim"))


def test_wired_switch_stops_the_water_before_the_rim() -> None:
    primary = _with(PRIMARY, outlet_blocked=1.0, secondary_blocked=1.0, switch_height_m=0.04)
    wired = _with(primary, switch_stops_supply=True)
    with_switch = pan_history(PanSystem(wired), GALLON_PER_HOUR, DAY_S)
    without = pan_history(PanSystem(primary), GALLON_PER_HOUR, DAY_S)
    assert with_switch.hours_to("primary switch") == pytest.approx(0.2 * 0.04 / GALLON_M3)
    assert np.isinf(with_switch.hours_to("primary rim"))
    assert with_switch.level_m["primary"] == pytest.approx(0.04)
    assert without.hours_to("primary switch") == with_switch.hours_to("primary switch")
    assert without.volume_m3["below"] > 0


def test_half_plugged_drain_still_keeps_up_when_its_rest_is_enough() -> None:
    barely = 1 - GALLON_PER_HOUR / 4e-5
    blocked = np.array([0.0, 0.5, barely - 1e-3, barely + 1e-3, 1.0])
    after = pan_history(PanSystem(_with(PRIMARY, outlet_blocked=blocked)), GALLON_PER_HOUR, 9e9)
    assert np.isfinite(after.hours_to("primary secondary")).tolist() == [False] * 3 + [True] * 2


def test_leak_below_the_outlet_wets_the_ceiling_while_the_drain_is_clear() -> None:
    primary = _with(PRIMARY, leak_height_m=0.002, leak_capacity_m3_s=GALLON_PER_HOUR / 4)
    after = pan_history(PanSystem(primary), GALLON_PER_HOUR, DAY_S)
    assert after.flow_m3_s["below"] == pytest.approx(GALLON_PER_HOUR / 4)
    assert after.flow_m3_s["drain"] == pytest.approx(GALLON_PER_HOUR * 3 / 4)


def test_crack_above_the_outlet_shows_only_when_the_drain_is_plugged() -> None:
    cracked = _with(PRIMARY, leak_height_m=0.02, leak_capacity_m3_s=1.0, outlet_blocked=[0, 1])
    after = pan_history(PanSystem(cracked), GALLON_PER_HOUR, DAY_S)
    assert (after.volume_m3["below"] > 0).tolist() == [False, True]


def test_dead_pump_fills_its_tank_then_the_floor() -> None:
    tank = Pan(
        0.03,
        0.09,
        outlet_height_m=0.06,
        outlet_capacity_m3_s=5e-5,
        outlet_blocked=1.0,
        switch_height_m=0.075,
    )
    after = pan_history(PanSystem(PRIMARY, reservoir=tank), GALLON_PER_HOUR, DAY_S)
    assert after.hours_to("reservoir switch") == pytest.approx(
        (0.2 * 0.005 + 0.03 * 0.075) / GALLON_M3
    )
    assert after.flow_m3_s["floor"] == pytest.approx(GALLON_PER_HOUR)


def test_pump_safety_switch_saves_the_floor() -> None:
    tank = Pan(0.03, 0.09, switch_height_m=0.075, switch_stops_supply=[False, True])
    after = pan_history(PanSystem(PRIMARY, reservoir=tank), GALLON_PER_HOUR, DAY_S)
    assert (after.volume_m3["floor"] > 0).tolist() == [True, False]


def test_standing_water_drains_to_the_outlet_when_no_more_comes() -> None:
    after = pan_history(PanSystem(PRIMARY), 0.0, DAY_S, start_level_m={"primary": 0.04})
    assert after.level_m["primary"] == pytest.approx(0.005)
    assert after.volume_m3["drain"] + after.volume_m3["secondary line"] == pytest.approx(
        0.2 * 0.035
    )


def test_level_rises_in_a_straight_line_until_the_outlet() -> None:
    after = pan_history(PanSystem(PRIMARY), GALLON_PER_HOUR, DAY_S)
    assert after.level_at("primary", 600.0) == pytest.approx(600 * GALLON_PER_HOUR / 0.2)
    assert after.level_at("primary", 5 * 3600.0) == pytest.approx(0.005)
    assert after.level_at("primary", 2 * DAY_S) == pytest.approx(after.level_m["primary"])


def test_cases_are_independent_of_each_other() -> None:
    inflow = np.array([[0.1], [0.5], [2.0]]) * GALLON_PER_HOUR
    blocked = np.array([0.0, 0.9, 0.99, 1.0])
    together = pan_history(PanSystem(_with(PRIMARY, outlet_blocked=blocked)), inflow, DAY_S)
    for row, flow in enumerate(inflow[:, 0]):
        for column, share in enumerate(blocked):
            alone = pan_history(PanSystem(_with(PRIMARY, outlet_blocked=share)), flow, DAY_S)
            for event, times in together.time_s.items():
                assert times[row, column] == pytest.approx(alone.time_s[event])


SHARES = st.sampled_from([0.0, 0.3, 0.98, 1.0])
LEVELS = st.floats(0.0, 0.05)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0.0, 5.0),
    st.tuples(SHARES, SHARES, st.sampled_from([0.0, 1.0])),
    st.tuples(LEVELS, LEVELS),
    st.floats(60.0, 10 * DAY_S),
)
def test_no_water_is_lost_or_made(
    gallons: float,
    blocked: tuple[float, float, float],
    heights: tuple[float, float],
    duration: float,
) -> None:
    (first, second, pump_dead), (leak, start) = blocked, heights
    primary = _with(
        PRIMARY,
        outlet_blocked=first,
        secondary_blocked=second,
        leak_height_m=leak,
        leak_capacity_m3_s=1e-7,
    )
    auxiliary = Pan(0.5, 0.038)
    tank = Pan(0.03, 0.09, 0.06, 5e-5, pump_dead)
    after = pan_history(
        PanSystem(primary, auxiliary, tank),
        gallons * GALLON_PER_HOUR,
        duration,
        start_level_m={"primary": start},
    )
    areas = dict(zip(VESSELS, (0.2, 0.5, 0.03), strict=True))
    stored = sum(areas[name] * float(after.level_m[name]) for name in VESSELS)
    gone = sum(float(after.volume_m3[name]) for name in PLACES)
    came = gallons * GALLON_PER_HOUR * duration
    assert stored + gone == pytest.approx(0.2 * start + came, rel=1e-9, abs=1e-9)
    for pan, name in ((primary, "primary"), (auxiliary, "auxiliary"), (tank, "reservoir")):
        assert 0.0 <= float(after.level_m[name]) <= float(np.asarray(pan.depth_m)) + 1e-9


@settings(max_examples=30, deadline=None)
@given(st.floats(0.2, 3.0), st.floats(1.01, 3.0))
def test_more_condensate_reaches_the_rim_sooner(gallons: float, times: float) -> None:
    plugged = PanSystem(_with(PRIMARY, outlet_blocked=1.0, secondary_blocked=1.0))
    slow = pan_history(plugged, gallons * GALLON_PER_HOUR, 9e9).hours_to("primary rim")
    fast = pan_history(plugged, gallons * times * GALLON_PER_HOUR, 9e9).hours_to("primary rim")
    assert fast == pytest.approx(slow / times)


def test_unknown_event_and_pan_are_named() -> None:
    after = pan_history(PanSystem(PRIMARY), GALLON_PER_HOUR, DAY_S)
    with pytest.raises(UnknownName, match="primary rim"):
        after.hours_to("primary rin")
    with pytest.raises(UnknownName, match="primary"):
        after.level_at("primry", 1.0)
    with pytest.raises(UnknownName, match="reservoir"):
        pan_history(PanSystem(PRIMARY), 0.0, 1.0, start_level_m={"resevoir": 0.1})


@pytest.mark.parametrize(
    ("pan", "flow"),
    [
        (_with(PRIMARY, outlet_blocked=1.2), 1e-6),
        (_with(PRIMARY, area_m2=0.0), 1e-6),
        (_with(PRIMARY, depth_m=-0.1), 1e-6),
        (PRIMARY, -1e-6),
        (PRIMARY, np.nan),
    ],
)
def test_impossible_numbers_are_refused(pan: Pan, flow: float) -> None:
    with pytest.raises(OutOfRange):
        pan_history(PanSystem(pan), flow, DAY_S)


def test_missing_pieces_pass_the_water_on_at_once() -> None:
    system = PanSystem(_with(PRIMARY, depth_m=0.0, outlet_height_m=np.inf))
    after = pan_history(system, GALLON_PER_HOUR, DAY_S)
    assert after.hours_to("auxiliary rim") == 0.0
    assert system.auxiliary is NO_AUXILIARY_PAN
    assert system.reservoir is NO_PUMP


def test_share_of_an_unlimited_drain_is_a_large_but_finite_flow() -> None:
    pan = Pan(0.2, 0.05, outlet_height_m=0.0, outlet_blocked=[0.0, 0.5, 1.0])
    after = pan_history(PanSystem(pan), GALLON_PER_HOUR, DAY_S)
    assert (after.flow_m3_s["drain"] > 0).tolist() == [True, True, False]
