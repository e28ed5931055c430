"""Units made of their nameplates reproduce them, and what makers print for other weather."""

import numpy as np
import pytest
from numpy.typing import ArrayLike

from catchpan.physics.cycle.circuit import LineSet
from catchpan.physics.cycle.design import Design, DesignError
from catchpan.physics.cycle.rating import (
    TEST_A,
    TEST_B,
    TEST_H1,
    TEST_H3,
    Rating,
    RatingFitError,
    cop_b_from_seer,
    cop_from_eer,
    fit_unit,
    rated,
)
from catchpan.physics.cycle.solve import operating_points
from catchpan.physics.cycle.unit import Unit, Weather
from catchpan.physics.refrigerant.shelf import refrigerant_table
from catchpan.units.span import FloatArray
from tests.physics.cycle.conftest import cooling
from tests.physics.cycle.published import regressed_heating

WITHIN = 0.02


def kelvin(degf: ArrayLike) -> FloatArray:
    return np.asarray((np.asarray(degf, dtype=np.float64) + 459.67) / 1.8)


@pytest.mark.parametrize("is_valve", [True, False])
@pytest.mark.parametrize(
    ("name", "seer", "eer"),
    [
        ("R-410A", 13.0, 11.2),
        ("R-410A", 14.3, 11.7),
        ("R-410A", 16.0, 12.5),
        ("R-22", 10.0, 9.0),
        ("R-22", 12.0, 10.5),
        ("R-134a", 10.0, 9.0),
        ("R-32", 15.2, 12.0),
        ("R-454B", 14.3, 11.7),
    ],
)
def test_a_unit_does_what_its_nameplate_says(
    name: str, seer: float, eer: float, *, is_valve: bool
) -> None:
    unit = cooling(name, seer, eer, Design(2.6, is_valve=is_valve))
    a, b = rated(unit, TEST_A), rated(unit, TEST_B)
    assert a.net_w[0] == pytest.approx(8800.0, rel=WITHIN)
    assert a.cop[0] == pytest.approx(cop_from_eer(eer), rel=WITHIN)
    assert b.net_w[0] == pytest.approx(8800.0 / 0.936, rel=WITHIN)
    assert b.cop[0] == pytest.approx(cop_b_from_seer(seer), rel=WITHIN)
    assert a.subcooling_k[0] == pytest.approx(5.6, abs=0.1)
    assert a.limits[0] == b.limits[0] == 0


def test_the_sensible_share_of_a_rated_unit_is_usual(valve_unit: Unit) -> None:
    """RESNET addendum 82: gross sensible heat ratio at the rating point 0.708."""
    a = rated(valve_unit, TEST_A)
    gross = (a.sensible_w + valve_unit.indoor_fan_w) / a.coil_w
    assert gross[0] == pytest.approx(0.708, abs=0.06)


def test_a_heat_pump_does_what_its_nameplate_says(heat_pump: Unit) -> None:
    for test, net, cop in ((TEST_H1, 29.0, 3.78), (TEST_H3, 18.2, 2.55)):
        point = rated(heat_pump, test, heating=True)
        assert point.net_w[0] == pytest.approx(net * 293.07, rel=WITHIN)
        assert point.cop[0] == pytest.approx(cop, rel=WITHIN)
    assert rated(heat_pump, TEST_A).net_w[0] == pytest.approx(8800.0, rel=WITHIN)


HEATING = [
    *((65, 36.5, 2.40), (60, 34.5, 2.36), (55, 32.5, 2.32), (50, 30.4, 2.27), (45, 28.1, 2.23)),
    *((40, 26.1, 2.19), (35, 24.1, 2.14), (30, 22.6, 2.20), (25, 20.9, 2.15), (20, 19.2, 2.11)),
    *((15, 17.5, 2.06), (10, 15.7, 2.01)),
]


@pytest.mark.published(
    "maker-manual-heating-table", "2.5 tons, 70 degF indoors, p. 28; 47 and 17 fitted"
)
def test_heating_between_and_beside_the_rating_points(heat_pump: Unit) -> None:
    """4 %; below 10 degF the table falls faster than the model (6 % at 5 degF, 20 % at -5)."""
    out, capacity, power = np.array(HEATING).T
    points = operating_points(heat_pump, Weather(294.261, 288.7, kelvin(out)), heating=True)
    assert points.net_w / 293.07 == pytest.approx(capacity, rel=0.04)
    assert points.total_w / 1e3 == pytest.approx(power, rel=0.04)


@pytest.mark.published("resnet-addendum-82", "heating curve, 70 degF indoors; 47 and 17 fitted")
def test_heating_falls_with_the_cold_as_the_regression_of_measured_units_has_it(
    heat_pump: Unit,
) -> None:
    """2.5 % from 60 degF down to -10, where the maker's table is a straight line."""
    out = np.array([47.0, 60.0, 40.0, 30.0, 20.0, 10.0, 5.0, 0.0, -5.0, -10.0])
    found = operating_points(heat_pump, Weather(294.261, 288.7, kelvin(out)), heating=True).net_w
    assert found / found[0] == pytest.approx(regressed_heating(out)[0], rel=0.025)


COOLING = [
    *((70, 137, 275), (75, 140, 301), (80, 142, 326), (85, 144, 351), (90, 147, 375)),
    *((95, 149, 399), (100, 151, 423), (105, 152, 446), (110, 154, 470), (115, 155, 493)),
]


@pytest.mark.published("maker-manual-cooling-table", "R-410A, 80/67 degF return, 3-ton row, p. 23")
def test_pressures_lie_near_a_makers_table() -> None:
    """A band only: coils differ (the table's 2- and 5-ton rows lie 36 and 13 psi lower at 95)."""
    unit = cooling("R-410A", 13.0, 11.2, Design(2.9), 10550.0)
    out, suction, liquid = np.array(COOLING, dtype=np.float64).T
    points = operating_points(unit, Weather(299.817, 292.594, kelvin(out)))
    assert (points.suction_pa / 6894.757 - 14.696) == pytest.approx(suction, abs=14.0)
    assert (points.liquid_pa / 6894.757 - 14.696) == pytest.approx(liquid, abs=25.0)


def test_seasonal_ratings_become_steady_ones() -> None:
    """SEER = EER at test B times (1 - Cd/2), Cd 0.08."""
    assert cop_b_from_seer(13.0) == pytest.approx(13.0 / 0.96 / 3.412, rel=1e-3)


@pytest.mark.published(
    "maker-manual-line-charge", "25 ft of 1/4 in line at 0.27 oz/ft, allowance 13.5 oz"
)
def test_the_line_set_allowance_of_the_worked_example() -> None:
    """The allowance covers 50 ft, so 25 ft want 6.75 oz less."""
    ounce, foot = 0.0283495, 0.3048
    design = Design(2.5, rated_lines=LineSet(50 * foot), charge_per_metre_kg=0.27 * ounce / foot)
    rating = Rating(8800.0, cop_from_eer(11.2), cop_b=cop_b_from_seer(13.0))
    unit = fit_unit(refrigerant_table("R-410A"), rating, design, lines=LineSet(25 * foot))
    assert (unit.charge_kg - 2.5) / ounce == pytest.approx(-6.75)


def test_a_nameplate_that_cannot_be_is_refused() -> None:
    table = refrigerant_table("R-410A")
    with pytest.raises(DesignError, match="compressor"):
        fit_unit(table, Rating(8800.0, 20.0), Design(2.5))
    with pytest.raises(DesignError, match="coil volume"):
        fit_unit(table, Rating(8800.0, 3.3, cop_b=4.0), Design(40.0))
    with pytest.raises(RatingFitError, match="misses the rating at test B"):
        fit_unit(table, Rating(8800.0, 3.3, capacity_b_w=30000.0, cop_b=9.0), Design(2.5))
