"""Strip heat at another voltage."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.physics.heat import strip_current_a, strip_power_w, strip_resistance_ohm


def test_ten_kilowatts_on_208_volts() -> None:
    """Worked example D10 (derived): 41.67 A and 10 kW become 36.11 A and 7.511 kW."""
    assert strip_current_a(10e3, 240, [240, 208]) == pytest.approx([41.67, 36.11], abs=0.005)
    assert strip_power_w(10e3, 240, 208) == pytest.approx(7511, abs=0.5)


@pytest.mark.parametrize(
    ("kilowatt", "high_a", "low_a", "low_kw"),
    [(5, 20.8, 18.1, 3.76), (15, 62.5, 54.2, 11.27), (20, 83.3, 72.2, 15.02)],
)
def test_usual_sizes(kilowatt: float, high_a: float, low_a: float, low_kw: float) -> None:
    """Trade table (derived): amps at 240 V and at 208 V, kW at 208 V."""
    assert strip_current_a(kilowatt * 1e3, 240, [240, 208]) == pytest.approx(
        [high_a, low_a], abs=0.06
    )
    assert strip_power_w(kilowatt * 1e3, 240, 208) / 1e3 == pytest.approx(low_kw, abs=0.006)


@given(st.floats(500, 3e4), st.floats(100, 500), st.floats(1, 600))
def test_power_is_volts_times_amps(power: float, rated: float, supply: float) -> None:
    watts = strip_power_w(power, rated, supply)
    assert watts == pytest.approx(supply * strip_current_a(power, rated, supply))
    assert watts == pytest.approx(supply**2 / strip_resistance_ohm(power, rated))
    assert strip_power_w(power, rated, rated) == pytest.approx(power)
