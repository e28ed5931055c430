"""One point on plain floats is the same point as in arrays."""

from dataclasses import replace

import numpy as np

from catchpan.physics.cycle.newton import close_circuit
from catchpan.physics.cycle.newton_one import close_one
from catchpan.physics.cycle.solve import _points
from catchpan.physics.cycle.unit import Unit
from tests.physics.cycle.test_solve import envelope


def test_plain_floats_find_what_arrays_find(valve_unit: Unit, orifice_unit: Unit) -> None:
    for unit in (valve_unit, orifice_unit):
        weather, off = envelope(60, heating=False)
        points, _ = _points(unit, weather, off, heating=False)
        parts = unit.parts(heating=False)
        together = close_circuit(parts, points)
        settled = 0
        for i in range(points.count):
            one = close_one(parts, points.plain(i))
            if one is not None and together.error[i] < 1e-5:
                assert np.abs(np.array(one[0]) - together.guess[:, i]).max() < 5e-3
                settled += 1
        assert settled > 50


def test_a_learnt_start_changes_nothing_but_the_way_there(valve_unit: Unit) -> None:
    weather, off = envelope(60, heating=False)
    points, _ = _points(valve_unit, weather, off, heating=False)
    parts = valve_unit.parts(heating=False)
    assert parts.start is not None
    with_it, without = (close_circuit(each, points) for each in (parts, replace(parts, start=None)))
    both = (with_it.error < 1e-5) & (without.error < 1e-5)
    assert both.sum() > 55
    assert np.abs(with_it.guess - without.guess)[:, both].max() < 5e-3
