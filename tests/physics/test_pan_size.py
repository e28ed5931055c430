"""Pan volumes, fill times and the least size of an auxiliary pan."""

import numpy as np
import pytest

from catchpan.physics.pan_size import auxiliary_pan_size, fill_time_s, pan_volume_m3

INCH_M = 0.0254
GALLON_M3 = 231 * INCH_M**3
GALLON_PER_HOUR = GALLON_M3 / 3600


def test_pan_volume_and_fill_time_of_the_code_minimum_pan() -> None:
    """Worked example D7: unit 22 x 21 in, 1 gal/h (arithmetic, 231 in3 to the gallon)."""
    size = auxiliary_pan_size(22 * INCH_M, 21 * INCH_M)
    total = pan_volume_m3(size.length_total_m * size.width_total_m, size.depth_m)
    each = pan_volume_m3(size.length_each_side_m * size.width_each_side_m, size.depth_m)
    assert total / GALLON_M3 == pytest.approx(3.90, abs=0.005)
    assert each / GALLON_M3 == pytest.approx(4.91, abs=0.005)
    hours = fill_time_s(total / size.depth_m, size.depth_m, GALLON_PER_HOUR) / 3600
    assert hours == pytest.approx(3.9, abs=0.05)


def test_large_pan_volume() -> None:
    """Trade practice figure: a 51 x 25 x 1.5 in pan holds 8.3 gal (arithmetic)."""
    volume = pan_volume_m3(51 * 25 * INCH_M**2, 1.5 * INCH_M) / GALLON_M3
    assert volume == pytest.approx(8.3, abs=0.05)


@pytest.mark.published("irc-2018", "M1411.3.1 item 1")
def test_auxiliary_pan_is_an_inch_and_a_half_deep_and_three_inches_larger() -> None:
    size = auxiliary_pan_size(1.0, 0.5)
    assert size.depth_m == pytest.approx(1.5 * INCH_M)
    assert size.length_total_m - 1.0 == pytest.approx(3 * INCH_M)
    assert size.width_each_side_m - 0.5 == pytest.approx(6 * INCH_M)


def test_pan_that_loses_as_much_as_it_gets_never_fills() -> None:
    assert np.isinf(fill_time_s(1.0, 0.1, 1e-6, [1e-6, 2e-6])).all()
