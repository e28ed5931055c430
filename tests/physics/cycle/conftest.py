"""Units that the tests share."""

import pytest

from catchpan.physics.cycle.design import Design
from catchpan.physics.cycle.rating import Rating, cop_b_from_seer, cop_from_eer, fit_unit
from catchpan.physics.cycle.unit import Unit
from catchpan.physics.refrigerant.shelf import refrigerant_table


def cooling(name: str, seer: float, eer: float, design: Design, capacity_w: float = 8800.0) -> Unit:
    """Fit an air conditioner of two and a half tons."""
    rating = Rating(capacity_w, cop_from_eer(eer), cop_b=cop_b_from_seer(seer))
    return fit_unit(refrigerant_table(name), rating, design, of_map=refrigerant_table("R-410A"))


@pytest.fixture(scope="session")
def valve_unit(_tables_in_the_checkout: None) -> Unit:
    """R-410A, expansion valve, SEER 13, 8.8 kW, charged like a heat pump: the one measured was."""
    return cooling("R-410A", 13.0, 11.2, Design(2.9))


@pytest.fixture(scope="session")
def orifice_unit(_tables_in_the_checkout: None) -> Unit:
    """R-410A, fixed orifice, SEER 13, 8.8 kW."""
    return cooling("R-410A", 13.0, 11.2, Design(2.5, is_valve=False))


@pytest.fixture(scope="session")
def old_orifice_unit(_tables_in_the_checkout: None) -> Unit:
    """R-22, fixed orifice, SEER 11, 10.5 kW: of the time of the charging charts."""
    return cooling("R-22", 11.0, 9.8, Design(2.7, is_valve=False), 10550.0)


@pytest.fixture(scope="session")
def heat_pump(_tables_in_the_checkout: None) -> Unit:
    """R-410A heat pump whose heating ratings are those of a maker's table (2.5 tons)."""
    rating = Rating(
        8800.0,
        cop_from_eer(11.7),
        cop_b=cop_b_from_seer(14.3),
        heating_w=29.0e3 * 0.29307,
        heating_cop=3.78,
        heating_h3_w=18.2e3 * 0.29307,
        heating_h3_cop=2.55,
    )
    return fit_unit(refrigerant_table("R-410A"), rating, Design(3.4, indoor_air_m3_s=0.4955))
