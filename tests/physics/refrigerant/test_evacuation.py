"""Vacuum decay against published limits."""

import pytest

from catchpan.physics.refrigerant.evacuation import MICRON_PA, Vacuum, vacuum_after
from catchpan.units.errors import BadValue


@pytest.mark.published("distributor-vacuum-note", "isolated 10 min: 900 flat; 1500 flat; 2100")
@pytest.mark.parametrize(
    ("microns", "verdict"),
    [(900, Vacuum.TIGHT), (1500, Vacuum.MOISTURE), (2100, Vacuum.LEAK)],
)
def test_ten_minutes_off_the_pump(microns: float, verdict: Vacuum) -> None:
    assert vacuum_after(microns * MICRON_PA, 600.0) is verdict


@pytest.mark.published("two-makers-manuals", "rise limit: 20 min at 500 micron or less")
def test_a_stricter_maker_has_the_last_word() -> None:
    limit = 500.0 * MICRON_PA
    assert vacuum_after(500.0 * MICRON_PA, 1200.0, limit) is Vacuum.TIGHT
    assert vacuum_after(700.0 * MICRON_PA, 1200.0, limit) is Vacuum.MOISTURE


def test_a_short_look_is_no_test() -> None:
    with pytest.raises(BadValue, match="600 s or more"):
        vacuum_after(50.0, 60.0)
