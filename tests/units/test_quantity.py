"""Quantities are read and written as technicians give them."""

import contextlib
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.units.errors import BadValue, CatchpanError, UnknownName
from catchpan.units.quantity import format_quantity, parse
from catchpan.units.unit import UNITS, Dimension, Unit


@pytest.mark.parametrize(
    ("text", "dimension", "default", "expected"),
    [
        ("75 °F", "temperature", "°F", (75 - 32) * 5 / 9 + 273.15),
        ("-40F", "temperature", "°C", 233.15),
        ("\N{MINUS SIGN}40 °C", "temperature", "°F", 233.15),
        ("18 °F", "temperature difference", "°F", 10.0),
        ("18 delta °F", "temperature difference", "°F", 10.0),
        ("10 K", "temperature difference", "°F", 10.0),
        ("118 psig", "gauge pressure", "psig", 118 * 6894.757),
        ("118", "absolute pressure", "psig", 118 * 6894.757 + 101325),
        ("500 microns", "absolute pressure", "micron", 66.66119),
        ("-0.5 in. w.c.", "pressure difference", "Pa", -124.5445),
        ("28 Vac", "voltage", "V", 28.0),
        ("3.2 uA", "current", "A", 3.2e-6),
        ("7.5 mfd", "capacitance", "µF", 7.5e-6),
        ("2 MΩ", "resistance", "ohm", 2e6),
        ("4.7 k", "resistance", "ohm", 4700.0),
        ("1,200 cfm", "volume flow", "cfm", 0.5663369),
        ("0.6 gal/h", "volume flow", "cfm", 6.30902e-7),
        ("1-1/2 in", "length", "ft", 0.0381),
        ("3/4", "length", "in", 0.01905),
        ("1 1/4 in", "length", "in", 0.03175),
        (".5 in", "length", "in", 0.0127),
        ("50 %", "share", "%", 0.5),
        ("9 ppm", "share", "%", 9e-6),
        ("78 grains/lb", "humidity ratio", "grains/lb", 78 / 7000),
        ("60Hz", "frequency", "Hz", 60.0),
        ("40 VA", "apparent power", "VA", 40.0),
        ("36000 Btu/h", "power", "kW", 10550.559),
        ("1e3 W", "power", "W", 1000.0),
        ("90 min", "time", "h", 5400.0),
        ("8", "number", "", 8.0),
    ],
)
def test_text_is_read(text: str, dimension: str, default: str, expected: float) -> None:
    assert parse(text, dimension, default) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("text", ["OL", "ol", "O.L.", "open", "inf", "∞", "Over limit"])
def test_over_limit_is_an_infinite_resistance(text: str) -> None:
    assert parse(text, "resistance", "ohm") == math.inf
    assert format_quantity(math.inf, "ohm") == "OL"


def test_over_limit_is_nothing_but_a_resistance() -> None:
    with pytest.raises(BadValue, match="not a usable voltage"):
        parse("OL", "voltage", "V")


def test_bare_number_takes_the_default_unit() -> None:
    assert parse(24, "voltage", "V") == 24.0
    assert parse(24.0, "voltage", "mV") == pytest.approx(0.024)


def test_gauge_pressure_at_altitude_uses_the_barometer_there() -> None:
    denver = 83437.0
    absolute = parse("100 psig", "absolute pressure", "psig", barometer_pa=denver)
    assert absolute == pytest.approx(100 * 6894.757 + denver, rel=1e-6)
    printed = format_quantity(
        absolute, "psig", 1, dimension="absolute pressure", barometer_pa=denver
    )
    assert printed == "100.0 psig"
    assert parse("14.696 psia", "gauge pressure", "psig") == pytest.approx(0, abs=5)


def test_wrong_unit_names_both_dimensions() -> None:
    with pytest.raises(BadValue) as caught:
        parse("24 A", "voltage", "V", where="contactor coil")
    assert str(caught.value) == (
        "contactor coil: '24 A' is a current, not a voltage; wanted a voltage in V, mV or kV"
    )


def test_difference_is_never_a_temperature() -> None:
    with pytest.raises(BadValue, match="is a temperature difference, not a temperature"):
        parse("18 delta °F", "temperature", "°F")


def test_unknown_unit_suggests_one_that_fits() -> None:
    with pytest.raises(UnknownName, match="'psig'"):
        parse("118 psgi", "gauge pressure", "psig")


def test_unknown_dimension_is_named() -> None:
    with pytest.raises(UnknownName, match="'voltage'"):
        parse("1", "volltage", "V")


@pytest.mark.parametrize(
    ("value", "dimension", "default", "says"),
    [
        ("", "voltage", "V", "does not begin with a number"),
        ("warm", "temperature", "°F", "such as '1.5 °F'"),
        ("1/0 in", "length", "in", "does not begin with a number"),
        ("0,5 V", "voltage", "V", "has a comma"),
        ("1e999 V", "voltage", "V", "not a usable voltage"),
        (math.nan, "voltage", "V", "not a usable voltage"),
        (math.inf, "voltage", "V", "not a usable voltage"),
        (True, "voltage", "V", "not a usable voltage"),
        ("-500 °F", "temperature", "°F", "below absolute zero"),
        ("-20 psig", "absolute pressure", "psig", "below vacuum"),
        ("5 V", "voltage", "A", "is a current, not a voltage"),
    ],
)
def test_nonsense_is_refused(value: str | float, dimension: str, default: str, says: str) -> None:
    with pytest.raises(BadValue) as caught:
        parse(value, dimension, default)
    assert says in str(caught.value)


@pytest.mark.parametrize(
    ("value", "unit", "digits", "text"),
    [
        (297.0388889, "°F", 1, "75.0 °F"),
        (10.0, "delta °F", 0, "18 delta °F"),
        (-124.5445, "in. w.c.", 2, "-0.50 in. w.c."),
        (7.5e-6, "µF", 1, "7.5 µF"),
        (-1e-9, "V", 2, "0.00 V"),
        (8.0, "", 0, "8"),
        (0.5, "%", 0, "50 %"),
    ],
)
def test_quantity_is_printed(value: float, unit: str, digits: int, text: str) -> None:
    assert format_quantity(value, unit, digits) == text


@pytest.mark.parametrize("value", [math.nan, -math.inf, math.inf])
def test_no_number_no_text(value: float) -> None:
    with pytest.raises(BadValue, match="cannot be printed"):
        format_quantity(value, "V")


@given(st.sampled_from(UNITS), st.floats(-1e4, 1e4))
def test_printed_quantity_reads_back(unit: Unit, number: float) -> None:
    si_value = number * unit.scale() + unit.zero_si()
    if unit.dimension in {Dimension.TEMPERATURE, Dimension.ABSOLUTE_PRESSURE} and si_value < 0:
        si_value = unit.scale()
    text = format_quantity(si_value, unit.name, 9, dimension=unit.dimension)
    back = parse(text, unit.dimension, unit.name)
    assert back == pytest.approx(si_value, rel=1e-9, abs=1e-8 * unit.scale())


@given(st.text(max_size=12), st.sampled_from(list(Dimension)))
def test_anything_typed_is_read_or_refused_politely(text: str, dimension: Dimension) -> None:
    default = next(unit.name for unit in UNITS if unit.dimension is dimension)
    with contextlib.suppress(CatchpanError):
        assert not math.isnan(parse(text, dimension, default))
