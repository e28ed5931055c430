"""Control transformers."""

import pytest

from catchpan.physics.transformer import load_share, rated_current_a, secondary_voltage_v
from catchpan.units.errors import OutOfRange


def test_wrong_tap() -> None:
    """Worked example D16 (derived): 208 V on the 240 V tap gives 20.8 V; on 230 V 21.7 V."""
    assert secondary_voltage_v(208, [240, 230, 208]) == pytest.approx([20.8, 21.7, 24], abs=0.05)


@pytest.mark.published("parts-maker-training-6", "40 VA at 24 V")
def test_forty_volt_amperes() -> None:
    """Worked example P23: 1.67 A."""
    assert rated_current_a(40.0) == pytest.approx(1.67, abs=0.005)


@pytest.mark.published("industrial-kb-transformer", "ten 10 VA valves with 20 % reserve")
def test_ten_valves_need_more_than_a_hundred_volt_amperes() -> None:
    """Worked example P25: the article rounds to 0.42 A and gets 120.96 VA; exact is 120 VA."""
    loads = [10.0] * 10
    assert load_share(loads, 100.0) * 100 * 1.2 == pytest.approx(120.0)
    assert load_share(loads, 150.0) <= 0.8 < load_share(loads, 100.0)


def test_impossible_load_is_refused() -> None:
    with pytest.raises(OutOfRange, match="control load"):
        load_share([-1.0], 40.0)
