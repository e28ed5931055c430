"""What a sound unit should read today, as it is told to the technician."""

import pytest

from catchpan.catalog.load import catalog
from catchpan.diagnosis.cases.todays_reading import likeliest_setting, todays_reading
from catchpan.diagnosis.inference.belief import Belief
from catchpan.diagnosis.worlds.family import Family
from tests.diagnosis.small_catalog import cycle_family
from tests.diagnosis.test_panel_belief import read


def told(held: Belief, name: str) -> tuple[float, float]:
    """Mean and spread of a panel check, out of the words for it."""
    check = held.family.checks[f"panel/{name}"]
    entry = catalog().checks[check.id]
    words = todays_reading(held, check, entry, likeliest_setting(held))
    shown, spread = words.split(" give or take ")
    assert spread.split()[1:] == shown.split()[1:], "both have the unit"
    return float(shown.split()[0]), float(spread.split()[0])


def known(family: Family, outdoor_f: float) -> Belief:
    weather = {"outdoor-air": outdoor_f, "return-air": 80.0, "return-wet-bulb": 67.0}
    return Belief.prior(family).observe_all(read(k, v) for k, v in weather.items())


@pytest.mark.published("maker-manual-cooling-table", "T4: R-410A, 80/67 degF return")
def test_pressures_follow_the_day_and_lie_where_the_trade_expects_them() -> None:
    """Condensing 10 to 30 degF over the air: 295 to 391 psig at 85, 391 to 505 at 105 degF (common
    practice for R-410A, no source); suction within 3 psi of makers' units at 95 degF, 145 to 150.
    """
    family = cycle_family("txv")
    mild, hot = (told(known(family, f), "liquid-pressure")[0] for f in (85.0, 105.0))
    assert 295.0 < mild < 391.0
    assert 391.0 < hot < 505.0
    assert 142.0 < told(known(family, 95.0), "suction-pressure")[0] < 153.0


def test_the_spread_narrows_when_the_weather_is_read() -> None:
    family = cycle_family("txv")
    blind = told(Belief.prior(family), "liquid-pressure")[1]
    assert told(known(family, 91.4), "liquid-pressure")[1] < blind


def test_readings_of_the_circuit_do_not_change_what_a_sound_one_reads() -> None:
    family = cycle_family("orifice")
    held = known(family, 95.0)
    after = held.observe(read("suction-pressure", 80.0))
    assert told(held, "suction-line") == told(after, "suction-line")


def test_a_check_of_something_else_says_nothing() -> None:
    family = cycle_family("txv")
    proof = family.checks["refrigerant/proof-superheat"]
    entry = catalog().checks["panel/superheat"]
    assert todays_reading(Belief.prior(family), proof, entry, 0) == ""
