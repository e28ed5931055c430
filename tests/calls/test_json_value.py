import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.calls.json_value import MAX_INTEGER, Json, canonical_text, freeze, thaw
from catchpan.units.errors import BadValue

SCALARS = (
    st.none()
    | st.booleans()
    | st.integers(-MAX_INTEGER, MAX_INTEGER)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(codec="utf-8"))
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(st.characters(codec="utf-8")), inner, max_size=4)
    ),
    max_leaves=20,
)


@given(VALUES)
def test_a_value_comes_back_from_its_text_unchanged(value: Json) -> None:
    assert thaw(freeze(json.loads(canonical_text(freeze(value))))) == value


@given(VALUES)
def test_the_text_of_a_value_is_one_ascii_line(value: Json) -> None:
    text = canonical_text(freeze(value))
    assert text.isascii()
    assert "\n" not in text


def test_a_frozen_value_does_not_follow_its_original() -> None:
    original = {"site": {"floors": [1, 2]}}
    frozen = freeze(original)
    original["site"]["floors"].append(3)
    assert thaw(frozen) == {"site": {"floors": [1, 2]}}


@pytest.mark.parametrize(
    "value",
    [
        math.inf,
        math.nan,
        MAX_INTEGER + 1,
        10**400,
        b"x",
        {1, 2},
        {1: "a"},
        "\ud83d",
        {"\ud83d": 1},
    ],
)
def test_what_json_cannot_carry_is_refused_where_it_is(value: object) -> None:
    with pytest.raises(BadValue, match=r"^body\.readings\.1") as caught:
        freeze({"readings": [0, value]})
    assert caught.value.exit_code == 3


def test_bottomless_nesting_is_refused() -> None:
    nest: list[object] = []
    nest.append(nest)
    with pytest.raises(BadValue, match="nested too deeply"):
        freeze(nest)
