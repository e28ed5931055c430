"""Line sets and the bookkeeping of points."""

import numpy as np
import pytest

from catchpan.physics.cycle.circuit import LineSet
from catchpan.physics.cycle.solve import _points
from catchpan.physics.cycle.unit import Departures, Unit, Weather


def test_a_line_set_holds_and_resists_in_proportion_to_its_length() -> None:
    short, long = LineSet(5.0), LineSet(15.0)
    assert long.liquid_volume_m3 == pytest.approx(3.0 * short.liquid_volume_m3)
    assert long.vapour_resistance_1_m4 == pytest.approx(3.0 * short.vapour_resistance_1_m4)


def test_a_three_eighths_line_holds_about_what_installers_allow_for_it() -> None:
    """Common practice allows 0.6 oz/ft, 0.056 kg/m; liquid taken as 1000 kg/m3."""
    assert LineSet(1.0).liquid_volume_m3 * 1000.0 == pytest.approx(0.0558, rel=0.15)


def test_points_can_be_picked_out(valve_unit: Unit) -> None:
    weather = Weather(299.0, 291.0, np.linspace(295.0, 310.0, 6))
    points, _ = _points(valve_unit, weather, Departures(charge=0.9), heating=False)
    some = points.at(np.array([1, 4]))
    assert some.count == 2
    assert some.condenser_air.temperature_k == pytest.approx([298.0, 307.0])
    assert some.charge_kg == pytest.approx([0.9 * valve_unit.charge_kg] * 2)


def test_coils_change_their_roles_with_the_mode(heat_pump: Unit) -> None:
    cooling, heating = (heat_pump.parts(heating=mode) for mode in (False, True))
    assert cooling.evaporator is heating.condenser is heat_pump.indoor
    assert cooling.suction_line
    assert not heating.suction_line
    parts = heat_pump.indoor.volume_m3 + heat_pump.outdoor.volume_m3
    assert cooling.volume_m3 > parts + heat_pump.accumulator_m3
