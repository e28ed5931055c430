"""Trap geometry and what traps do."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.physics.trap import TrapGeometry, required_trap, trap_state

INCH = 0.0254
INCH_WATER = 249.08891


@pytest.mark.published("maker-manual-449170", "page 27, drain trap table 3; rule of Brusha 2001")
@pytest.mark.parametrize(
    ("static", "drop", "seal"),
    [
        (-0.5, 1.50, 0.75),
        (-1.0, 2.00, 1.00),
        (-1.5, 2.50, 1.25),
        (-2.0, 3.00, 1.50),
        (-3.0, 4.00, 2.00),
        (-4.0, 5.00, 2.50),
    ],
)
def test_draw_through_rule(static: float, drop: float, seal: float) -> None:
    """Worked examples P1 to P8."""
    trap = required_trap(static * INCH_WATER)
    assert np.asarray(trap.outlet_drop_m) / INCH == pytest.approx(drop, abs=0.005)
    assert np.asarray(trap.seal_m) / INCH == pytest.approx(seal, abs=0.005)


@pytest.mark.published("maker-manual-p65", "blow-through: P1 = fan static, no extra inch")
@given(st.floats(0.01, 5.0))
def test_blow_through_rule(static: float) -> None:
    """Worked example P9."""
    assert np.asarray(required_trap(static * INCH_WATER).seal_m) / INCH == pytest.approx(static)


@given(st.floats(-4.0, 4.0))
def test_required_trap_drains_and_seals(static: float) -> None:
    state = trap_state(required_trap(static * INCH_WATER), static * INCH_WATER)
    assert state.drains
    assert state.sealed or static == 0.0 or abs(static) < 1e-6


def test_outlet_too_high_leaves_water_in_the_pan() -> None:
    """Brusha 2001: the seal stays but water stands in the pan by what the drop lacks."""
    state = trap_state(TrapGeometry(0.4 * INCH, 1.0 * INCH), -1.0 * INCH_WATER)
    assert state.sealed
    assert not state.drains
    assert state.standing_m / INCH == pytest.approx(0.6)


def test_missing_trap_holds_water_back_on_the_suction_side() -> None:
    state = trap_state(TrapGeometry(2 * INCH, 0.0), [-0.5 * INCH_WATER, 0.0])
    assert not state.sealed.any()
    assert state.standing_m / INCH == pytest.approx([0.5, 0.0])
    assert state.drains.tolist() == [False, True]


def test_dry_trap_behaves_like_no_trap_until_it_is_primed() -> None:
    trap = required_trap(-0.5 * INCH_WATER)
    state = trap_state(trap, -0.5 * INCH_WATER, primed=[False, True])
    assert state.drains.tolist() == [False, True]
    assert state.sealed.tolist() == [False, True]


def test_shallow_seal_is_pulled_through() -> None:
    trap = TrapGeometry(2 * INCH, 0.4 * INCH)
    assert trap_state(trap, [-0.7 * INCH_WATER, -0.9 * INCH_WATER]).sealed.tolist() == [True, False]


def test_blown_out_trap_still_drains() -> None:
    state = trap_state(TrapGeometry(1 * INCH, 0.3 * INCH), 0.5 * INCH_WATER)
    assert not state.sealed
    assert state.drains


def test_outlet_above_the_pan_stands_even_without_the_blower() -> None:
    state = trap_state(TrapGeometry(-0.5 * INCH, 1 * INCH), 0.0)
    assert state.standing_m / INCH == pytest.approx(0.5)


@given(st.floats(0, 3), st.floats(0, 3), st.floats(-4, 4), st.floats(0, 2))
def test_more_suction_never_lowers_the_water(
    drop: float, seal: float, static: float, more: float
) -> None:
    trap = TrapGeometry(drop * INCH, seal * INCH)
    less_water, more_water = (
        trap_state(trap, [max(-4.0, s) * INCH_WATER]).standing_m[0] for s in (static, static - more)
    )
    assert more_water >= less_water - 1e-12


@given(st.floats(-1, 3), st.floats(0, 3), st.floats(-4, 4), st.booleans())
def test_standing_water_never_exceeds_suction_plus_rise(
    drop: float, seal: float, static: float, primed: bool
) -> None:
    trap = TrapGeometry(drop * INCH, seal * INCH)
    state = trap_state(trap, static * INCH_WATER, primed=primed)
    assert 0 <= state.standing_m <= (max(-static, 0) + max(-drop, 0)) * INCH + 1e-12
