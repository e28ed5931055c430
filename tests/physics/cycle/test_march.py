"""Going once round the circuit never fails, and errors grow the way the bracketing needs."""

import numpy as np
import pytest

from catchpan.physics.cycle.march import foreign_pressure_pa, march
from catchpan.physics.cycle.newton import _pinned, bounds
from catchpan.physics.cycle.solve import _points
from catchpan.physics.cycle.unit import Departures, Unit, Weather

COUNT = 400


@pytest.mark.parametrize("fixture", ["valve_unit", "orifice_unit", "old_orifice_unit"])
def test_any_guess_between_the_bounds_gives_finite_states(
    fixture: str, request: pytest.FixtureRequest
) -> None:
    unit: Unit = request.getfixturevalue(fixture)
    parts = unit.parts(heating=False)
    off = Departures(charge=np.full(COUNT, 0.7), restriction=0.5, foreign_gas=0.3)
    points, _ = _points(unit, Weather(299.0, 291.0, 305.0), off, heating=False)
    low, high = bounds(parts, points)
    guess = low + (high - low) * np.random.default_rng(2).uniform(0.0, 1.0, (3, COUNT))
    state = march(parts, points, guess)
    assert np.isfinite(state.error).all()
    assert (state.charge_kg > 0.0).all()
    assert (state.flow_kg_s > 0.0).all()


@pytest.mark.parametrize("fixture", ["valve_unit", "orifice_unit"])
def test_a_higher_head_holds_more_charge(fixture: str, request: pytest.FixtureRequest) -> None:
    unit: Unit = request.getfixturevalue(fixture)
    parts = unit.parts(heating=False)
    out = np.full(25, 308.15)
    points, _ = _points(unit, Weather(299.0, 291.0, out), Departures(), heating=False)
    best, _ = _pinned(parts, points, np.linspace(313.0, 332.0, 25))
    held = march(parts, points, best).charge_kg
    known = held[1:] < 1.6 * unit.charge_kg
    assert known.sum() > 11
    assert (np.diff(held)[known] > 0.0).all()


def test_foreign_gas_adds_its_pressure_to_the_head(valve_unit: Unit) -> None:
    parts = valve_unit.parts(heating=False)
    none, some = (foreign_pressure_pa(parts, np.array(g), np.array(318.0)) for g in (0.0, 0.3))
    assert none == 0.0
    assert 30e3 < float(some) < 300e3
