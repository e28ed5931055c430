"""The circuit closes; where the first search fails the bracketing finds the same."""

import numpy as np
import pytest

from catchpan.physics.cycle.march import march
from catchpan.physics.cycle.newton import (
    TOLERANCE,
    _bracketed,
    bounds,
    close_circuit,
    usual_guess,
)
from catchpan.physics.cycle.solve import _points
from catchpan.physics.cycle.unit import Departures, Unit, Weather

WEATHER = Weather(299.8, 292.6, np.array([295.0, 308.15, 316.0]))


def test_the_march_closes_at_what_the_search_finds(valve_unit: Unit) -> None:
    parts = valve_unit.parts(heating=False)
    points, _ = _points(valve_unit, WEATHER, Departures(), heating=False)
    closed = close_circuit(parts, points)
    assert np.abs(march(parts, points, closed.guess).error).max() <= TOLERANCE
    assert closed.error.max() <= TOLERANCE
    assert closed.marches < 20


@pytest.mark.parametrize("charge", [0.6, 1.0, 1.3])
def test_bracketing_finds_what_the_search_finds(orifice_unit: Unit, charge: float) -> None:
    parts = orifice_unit.parts(heating=False)
    points, _ = _points(orifice_unit, WEATHER, Departures(charge=charge), heating=False)
    found, _ = _bracketed(parts, points)
    assert found == pytest.approx(close_circuit(parts, points).guess, abs=4e-3)


def test_the_end_does_not_depend_on_the_start(valve_unit: Unit) -> None:
    parts = valve_unit.parts(heating=False)
    points, _ = _points(valve_unit, WEATHER, Departures(charge=0.8), heating=False)
    ends = [
        close_circuit(parts, points, usual_guess(parts, points, attempt)).guess
        for attempt in range(4)
    ]
    for end in ends[1:]:
        assert end == pytest.approx(ends[0], abs=1e-3)


def test_guesses_stay_between_their_bounds(valve_unit: Unit) -> None:
    parts = valve_unit.parts(heating=False)
    points, _ = _points(valve_unit, WEATHER, Departures(), heating=False)
    low, high = bounds(parts, points)
    for attempt in range(4):
        guess = usual_guess(parts, points, attempt)
        assert ((guess >= low) & (guess <= high)).all()
