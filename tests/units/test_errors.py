"""Errors build their own sentence."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.units.errors import (
    EXIT_BAD_INPUT,
    BadValue,
    CatchpanError,
    OutOfRange,
    UnknownName,
    close_names,
)


def test_sentence_says_where_what_and_what_would_be_right() -> None:
    error = CatchpanError("the pan is full", hint="empty it", where="attic pan")
    assert str(error) == "attic pan: the pan is full; empty it"
    assert (error.message, error.hint, error.where) == ("the pan is full", "empty it", "attic pan")


def test_sentence_leaves_out_what_is_not_given() -> None:
    assert str(CatchpanError("no power")) == "no power"


def test_general_error_exits_with_one() -> None:
    assert CatchpanError.exit_code == 1


@pytest.mark.parametrize("kind", [OutOfRange, UnknownName, BadValue])
def test_bad_input_has_its_own_exit_code(kind: type[CatchpanError]) -> None:
    assert issubclass(kind, CatchpanError)
    assert kind.exit_code == EXIT_BAD_INPUT == 3


def test_out_of_range_shows_value_span_and_unit() -> None:
    error = OutOfRange("absolute pressure", 5e7, 1e5, 4e6, "Pa").at("suction")
    assert str(error) == (
        "suction: absolute pressure 5e+07 Pa is outside 100000 to 4e+06 Pa; "
        "give a value from 100000 to 4e+06 Pa"
    )
    assert (error.value, error.low, error.high) == (5e7, 1e5, 4e6)


def test_out_of_range_without_unit_has_no_stray_space() -> None:
    assert str(OutOfRange("share", 2, 0, 1, "")).startswith("share 2 is outside 0 to 1;")


def test_out_of_range_accepts_not_a_number() -> None:
    assert "nan" in str(OutOfRange("share", math.nan, 0, 1, ""))


def test_unknown_name_suggests_the_near_one() -> None:
    error = UnknownName("check", "drain/flaot", ["drain/float", "coil/frost"], where="kit.toml")
    assert str(error) == "kit.toml: unknown check 'drain/flaot'; did you mean 'drain/float'?"


def test_unknown_name_lists_known_names_when_none_is_near() -> None:
    assert str(UnknownName("place", "xyzzy", ["roof", "attic"])) == (
        "unknown place 'xyzzy'; known: attic, roof"
    )


def test_unknown_name_shortens_a_long_list() -> None:
    error = UnknownName("place", "xyzzy", [f"room {n}" for n in range(20)])
    assert str(error).endswith(", ...")


def test_unknown_name_with_nothing_known_still_says_the_name() -> None:
    assert str(UnknownName("place", "xyzzy")) == "unknown place 'xyzzy'"


def test_bad_value_says_what_was_wanted() -> None:
    error = BadValue("site.altitude", "'high' is not a number", "a length such as '500 ft'")
    assert str(error) == ("site.altitude: 'high' is not a number; wanted a length such as '500 ft'")


def test_errors_can_be_raised_and_caught_as_the_base_class() -> None:
    with pytest.raises(CatchpanError, match="slope"):
        raise OutOfRange("slope", 2, 0, 1, "m/m")


@given(st.lists(st.text(min_size=3), min_size=1, unique_by=str.casefold))
def test_a_known_name_is_its_own_closest(names: list[str]) -> None:
    assert close_names(names[0], names)[0].casefold() == names[0].casefold()
