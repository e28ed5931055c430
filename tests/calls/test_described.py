"""What a call says of its system."""

import pytest

from catchpan.calls.described import age_class, describe, usual_setting
from catchpan.calls.use_case import CallBook
from catchpan.catalog.load import catalog
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.enumerate_worlds import rate_of
from tests.calls.one_home import OPTIONS, SYSTEM, open_call


@pytest.mark.parametrize("age_years", [0.0, 3.0, 5.0, 5.5, 9.0, 11.0, 14.0, 20.0, 40.0])
def test_an_age_class_has_the_rates_of_the_age_it_stands_for(age_years: float) -> None:
    one = Description(SYSTEM, OPTIONS, age_years=age_years)
    other = Description(SYSTEM, OPTIONS, age_years=age_class(age_years, catalog()))
    for fault in catalog().faults.values():
        assert rate_of(fault, one) == rate_of(fault, other)


def test_an_unknown_age_stays_unknown(book: CallBook) -> None:
    assert age_class(None, catalog()) is None
    assert describe(open_call(book), catalog()).age_years is None


def test_usual_settings_keep_what_is_given_and_fill_in_the_rest() -> None:
    found = usual_setting(SYSTEM, {"blower": "ecm"}, catalog())
    assert found["blower"] == "ecm"
    assert found.keys() == usual_setting(SYSTEM, {}, catalog()).keys()
