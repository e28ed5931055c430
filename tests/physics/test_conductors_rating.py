"""Ampacities, breakers and compressor ratings."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.physics.conductors_rating import (
    COPPER_AMPACITY_A,
    STANDARD_BREAKERS_A,
    largest_breaker_a,
    least_copper_awg,
    minimum_circuit_ampacity_a,
    rated_load_from_maximum_a,
)
from catchpan.units.errors import OutOfRange, UnknownName


@pytest.mark.published("ecm-code-qa-2011", "single compressor 24 A, 240 V")
def test_single_compressor() -> None:
    """Worked example P26: 30 A, 10 AWG; 42 A gives 40 A; 54 A gives 50 A."""
    assert minimum_circuit_ampacity_a([24.0]) == pytest.approx(30.0)
    assert least_copper_awg(30.0) == 10
    assert largest_breaker_a([24.0]) == 40
    assert largest_breaker_a([24.0], hard_start=True) == 50


@pytest.mark.published("ecm-qa-42", "MCA 44 A, MOP 60 A, 75 C")
def test_wire_that_looks_small_beside_its_breaker() -> None:
    """Worked example P29: 8 AWG carries 50 A at 75 C and may stand behind the 60 A device."""
    assert least_copper_awg(44.0, 75) == 8
    assert COPPER_AMPACITY_A[8][1] == 50


def test_ten_gauge_is_thirty_five_amps_at_seventy_five_degrees() -> None:
    """The trade article's "10 AWG, 30 A at 75 C" is the 60 C value; not to be copied."""
    assert COPPER_AMPACITY_A[10] == (30, 35, 40)
    assert least_copper_awg(35.0, 75) == 10
    assert least_copper_awg(35.0, 60) == 8


def test_compressor_and_fan() -> None:
    """Worked example D12 (derived): 20 A and 2.5 A make 27.5 A."""
    assert minimum_circuit_ampacity_a([20.0, 2.5]) == pytest.approx(27.5)


def test_rated_load_from_maximum_continuous_current() -> None:
    """Worked examples P38 and D13: 28.1 A over 1.56 is 18.0 A."""
    assert rated_load_from_maximum_a(28.1) == pytest.approx(18.0, abs=0.05)
    assert rated_load_from_maximum_a(28.0, 1.4) == pytest.approx(20.0)


@given(st.lists(st.floats(10, 60), min_size=1, max_size=4))
def test_breaker_is_standard_and_within_its_limit(currents: list[float]) -> None:
    size = largest_breaker_a(currents)
    assert size in STANDARD_BREAKERS_A
    assert size <= sum(currents) + 0.75 * max(currents) + 1e-6
    assert largest_breaker_a(currents, hard_start=True) >= size
    assert sum(currents) < minimum_circuit_ampacity_a(currents) <= 1.25 * sum(currents) + 1e-9


@given(st.floats(1, 110), st.sampled_from([60, 75, 90]))
def test_chosen_wire_carries_the_current(amps: float, terminal: int) -> None:
    column = (60, 75, 90).index(terminal)
    awg = least_copper_awg(amps, terminal)
    assert COPPER_AMPACITY_A[awg][column] >= amps
    thinner = [row[column] for gauge, row in COPPER_AMPACITY_A.items() if gauge > awg]
    assert all(ampacity < amps for ampacity in thinner)


def test_no_motor_and_tiny_motor_are_refused() -> None:
    with pytest.raises(OutOfRange, match="number of motors"):
        minimum_circuit_ampacity_a([])
    with pytest.raises(OutOfRange, match="overcurrent limit"):
        largest_breaker_a([2.0])


def test_unknown_terminal_rating_is_named() -> None:
    with pytest.raises(UnknownName, match="terminal rating"):
        least_copper_awg(10.0, 70)
