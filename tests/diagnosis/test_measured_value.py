"""Values with their units, as the checks of the catalog take them."""

import math

import pytest

from catchpan.catalog.entry import CheckEntry
from catchpan.catalog.load import catalog
from catchpan.diagnosis.cases.measured_value import (
    answer_of_value,
    read_value,
    scale_of,
    takes_a_number,
    write_value,
)
from catchpan.units.errors import BadValue, OutOfRange
from catchpan.units.unit import Dimension

NUMERIC = [c for c in catalog().checks.values() if takes_a_number(c)]


def observing(unit: str, **look: object) -> CheckEntry:
    some = next(c for c in NUMERIC)
    answers = ({"id": "low", "label": "Low", "high": 10.0}, {"id": "high", "label": "H", "low": 10})
    fields = {**some.model_dump(), "unit": unit, "observe": look, "answers": answers}
    return CheckEntry.model_validate(fields)


@pytest.mark.parametrize(
    ("unit", "of", "text", "kept"),
    [
        ("°F", "supply.rise_k", "18 °F", 10.0),
        ("°F", "coil.temperature_c", "32 °F", 0.0),
        ("µA", "flame_sensor.reading", "2.5 µA", 2.5),
        ("in. w.c.", "air.static_pa", "0.5", 124.5445),
        ("%", "air.flow_share", "80 %", 0.8),
    ],
)
def test_a_signal_is_read_in_the_scale_the_plant_keeps_it_in(
    unit: str, of: str, text: str, kept: float
) -> None:
    check = observing(unit, quantity="signal", of=of)
    assert read_value(check, text) == pytest.approx(kept, rel=1e-4, abs=1e-9)


@pytest.mark.parametrize("check", NUMERIC, ids=lambda c: c.id)
def test_every_number_of_the_catalog_can_be_written_and_read_again(check: CheckEntry) -> None:
    limits = {x for a in check.answers for x in (a.low, a.high) if x is not None}
    for limit in limits:
        again = read_value(check, write_value(check, limit, digits=9))
        assert again == pytest.approx(limit, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("check", NUMERIC, ids=lambda c: c.id)
def test_the_answers_of_every_number_cover_the_line(check: CheckEntry) -> None:
    limits = sorted({x for a in check.answers for x in (a.low, a.high) if x is not None})
    for value in (-1e9, *limits, 1e9, math.inf):
        assert answer_of_value(check, value) in {a.id for a in check.answers}


def test_a_limit_belongs_to_the_answer_above_it() -> None:
    check = observing("V", quantity="voltage", between=("a.1", "a.2"))
    assert answer_of_value(check, 9.999) == "low"
    assert answer_of_value(check, 10.0) == "high"


def test_over_limit_is_an_infinite_resistance() -> None:
    check = observing("ohm", quantity="resistance", of="contactor.coil")
    assert read_value(check, "OL") == math.inf
    assert write_value(check, math.inf) == "OL"


def test_what_no_instrument_shows_is_refused_in_the_unit_given() -> None:
    check = observing("V", quantity="voltage", between=("a.1", "a.2"))
    with pytest.raises(OutOfRange, match="24000 V is outside 0 to 1000 V"):
        read_value(check, 24, "kV")
    with pytest.raises(BadValue, match="is a current, not a voltage"):
        read_value(check, "24 A")


def test_words_take_no_number() -> None:
    check = catalog().checks["phone/outdoor-fan"]
    assert not takes_a_number(check)
    with pytest.raises(BadValue, match="one of: still, humming, turning"):
        scale_of(check)


def test_gaps_between_answers_are_told() -> None:
    whole = observing("V", quantity="voltage", between=("a.1", "a.2"))
    gap = whole.model_copy(update={"answers": whole.answers[:1]})
    with pytest.raises(BadValue, match="no answer covers 12"):
        answer_of_value(gap, 12.0)
    assert scale_of(gap).dimension is Dimension.VOLTAGE
