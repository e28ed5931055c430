"""Units are found by every usual spelling and have the right size."""

import pytest

from catchpan.units.errors import UnknownName
from catchpan.units.unit import SI_UNIT, UNITS, Dimension, find_units, units_of


def _si(name: str, dimension: Dimension) -> float:
    unit = next(unit for unit in find_units(name) if unit.dimension is dimension)
    return unit.scale()


@pytest.mark.published("nist-sp-811", "appendix B, conversion factors")
@pytest.mark.parametrize(
    ("name", "dimension", "size"),
    [
        ("psig", Dimension.GAUGE_PRESSURE, 6894.757),
        ("in. w.c.", Dimension.PRESSURE_DIFFERENCE, 249.0889),
        ("micron", Dimension.ABSOLUTE_PRESSURE, 0.1333224),
        ("Btu/h", Dimension.POWER, 0.2930711),
        ("ton", Dimension.POWER, 3516.853),
        ("cfm", Dimension.VOLUME_FLOW, 4.719474e-4),
        ("gpm", Dimension.VOLUME_FLOW, 6.309020e-5),
        ("gal/h", Dimension.VOLUME_FLOW, 1.051503e-6),
        ("grains/lb", Dimension.HUMIDITY_RATIO, 1 / 7000),
        ("oz", Dimension.MASS, 0.02834952),
        ("µF", Dimension.CAPACITANCE, 1e-6),
        ("Mohm", Dimension.RESISTANCE, 1e6),
        ("mohm", Dimension.RESISTANCE, 1e-3),
        ("ppm", Dimension.SHARE, 1e-6),
        ("day", Dimension.TIME, 86400),
    ],
)
def test_size_in_si(name: str, dimension: Dimension, size: float) -> None:
    assert _si(name, dimension) == pytest.approx(size, rel=2e-6)


@pytest.mark.parametrize(
    ("spellings", "name"),
    [
        (["in wc", "inwc", "in. w.c.", "IN. W.C.", "in H2O"], "in. w.c."),
        (["uA", "µA", "μA", "microamps"], "µA"),
        (["uF", "mfd", "MFD", "µF", "μF"], "µF"),
        (["ohm", "ohms", "Ω", "OHMS"], "ohm"),
        (["MΩ", "megohm", "Mohm"], "Mohm"),
        (["mΩ", "mohm"], "mohm"),
        (["°F", "F", "degF", "deg F", "f"], "°F"),
        (["gph", "gal/h", "GAL/HR"], "gal/h"),
        (["Vac", "V", "v", "volts"], "V"),
        (["btuh", "BTU/H", "Btu/hr"], "Btu/h"),
        (["gr/lb", "grains"], "grains/lb"),
        (['"', "inches"], "in"),
    ],
)
def test_spellings(spellings: list[str], name: str) -> None:
    for spelling in spellings:
        assert name in [unit.name for unit in find_units(spelling)]


def test_capitals_that_would_change_the_size_are_not_guessed() -> None:
    with pytest.raises(UnknownName):
        find_units("MOHM")


def test_unknown_unit_is_answered_with_a_near_one() -> None:
    with pytest.raises(UnknownName, match="'psig'"):
        find_units("psgi")


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: f"{unit.name}-{unit.dimension}")
def test_every_unit_is_found_by_its_name_and_has_a_size(unit: object) -> None:
    assert unit in UNITS
    match = next(each for each in UNITS if each is unit)
    if match.name:
        assert match in find_units(match.name)
    assert match.scale() > 0


def test_every_dimension_has_an_si_unit_and_units() -> None:
    assert set(SI_UNIT) == set(Dimension)
    assert all(units_of(dimension) for dimension in Dimension)


def test_temperature_scales_have_their_own_zero() -> None:
    zeros = {unit.name: unit.zero_si() for unit in UNITS if unit.dimension == "temperature"}
    assert zeros == pytest.approx({"°F": 459.67 * 5 / 9, "°C": 273.15, "K": 0.0})
