import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.calls.carried.container import (
    FORM,
    BrokenCarriedCall,
    Parts,
    read_parts,
    write_parts,
)

EXAMPLE = Parts(
    {"key": "abc", "words": ["µF", "°F"]},
    {
        "a": np.array([1, 2, 3], dtype=np.uint8),
        "b": np.array([[1.5, np.inf]], dtype=np.float32),
        "c": np.array([], dtype=np.float64),
    },
)


def test_what_is_written_is_read_again() -> None:
    found = read_parts(write_parts(EXAMPLE))
    assert found.header["words"] == ["µF", "°F"]
    for name, array in EXAMPLE.arrays.items():
        assert found.arrays[name].dtype == array.dtype
        assert found.arrays[name].tolist() == array.tolist()


def test_every_array_lies_where_a_browser_can_use_it_in_place() -> None:
    content = write_parts(EXAMPLE)
    length = int.from_bytes(content[12:16], "little")
    data_at = 16 + length + (-(16 + length) % 8)
    assert content[data_at : data_at + 3] == bytes([1, 2, 3])
    assert data_at % 8 == 0


@given(st.integers(min_value=0), st.integers(min_value=0, max_value=255))
def test_a_changed_byte_of_the_data_is_noticed(place: int, value: int) -> None:
    content = bytearray(write_parts(EXAMPLE))
    at = len(content) - 1 - place % 16
    if content[at] == value:
        return
    content[at] = value
    with pytest.raises(BrokenCarriedCall):
        read_parts(bytes(content))


@pytest.mark.parametrize("length", [0, 7, 15, 40, 200])
def test_a_file_that_breaks_off_is_refused(length: int) -> None:
    with pytest.raises(BrokenCarriedCall, match="fetch the compiled call again"):
        read_parts(write_parts(EXAMPLE)[:length])


def test_a_newer_form_is_refused() -> None:
    content = bytearray(write_parts(EXAMPLE))
    content[8] = FORM + 1
    with pytest.raises(BrokenCarriedCall, match=f"form {FORM + 1}"):
        read_parts(bytes(content))


def test_two_parts_of_one_name_are_refused() -> None:
    parts = Parts()
    parts.add({"worlds": {}}, {})
    with pytest.raises(ValueError, match="worlds"):
        parts.add({"worlds": {}}, {})


def test_an_array_of_another_type_is_refused() -> None:
    with pytest.raises(ValueError, match="int64"):
        write_parts(Parts({}, {"a": np.array([1])}))
