"""How much refrigerant a part holds."""

import numpy as np
import pytest

from catchpan.physics.cycle.charge import accumulator_kg, mean_density_kg_m3, void_fraction
from catchpan.physics.refrigerant.shelf import refrigerant_table


def test_the_mean_density_is_the_integral_over_the_quality() -> None:
    sat = refrigerant_table("R-410A").saturation(np.array(1e6))
    x = np.linspace(0.2, 1.0, 20001)
    void = void_fraction(x, sat)
    local = void * sat.vapour_density_kg_m3 + (1.0 - void) * sat.liquid_density_kg_m3
    ours = mean_density_kg_m3(np.array(0.2), np.array(1.0), sat)
    assert ours == pytest.approx(np.trapezoid(local, x) / 0.8, rel=1e-4)
    assert mean_density_kg_m3(np.array(1.0), np.array(0.2), sat) == pytest.approx(ours)


def test_void_fraction_runs_from_liquid_to_vapour() -> None:
    sat = refrigerant_table("R-22").saturation(np.array(6e5))
    void = void_fraction(np.linspace(0.0, 1.0, 50), sat)
    assert void[0] == 0.0
    assert void[-1] == pytest.approx(1.0)
    assert (np.diff(void) > 0.0).all()


def test_an_accumulator_fills_as_the_suction_gets_wet_and_no_further_than_full() -> None:
    sat = refrigerant_table("R-410A").saturation(np.array(9e5))
    quality = np.array([1.2, 1.0, 0.99, 0.97, 0.94, 0.5])
    held = accumulator_kg(0.004, quality, sat)
    assert held[:2].tolist() == [0.0, 0.0]
    assert (np.diff(held[1:5]) > 0.0).all()
    full = 0.004 * float(sat.liquid_density_kg_m3)
    assert held[4:] == pytest.approx([full, full])
