"""Numbers are checked against a span."""

import math

import numpy as np
import pytest

from catchpan.units.errors import OutOfRange
from catchpan.units.span import within


def test_good_numbers_come_back_as_floats() -> None:
    assert within("slope", [0, 1], 0, 1, "").dtype == np.float64
    assert within("slope", 1, 0, 1, "").shape == ()


@pytest.mark.parametrize("bad", [1.5, -0.1, math.nan])
def test_first_bad_number_is_shown(bad: float) -> None:
    with pytest.raises(OutOfRange) as caught:
        within("slope", [0.5, bad, 9.0], 0.0, 1.0, "m/m")
    assert f"slope {bad:g} m/m" in str(caught.value)
