"""Partly filled drains, sizes and slope."""

import math

import fluids
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.physics.drain import (
    BORE_M,
    drain_capacity_m3_s,
    drain_flow_m3_s,
    drain_velocity_m_s,
    flow_section,
    has_enough_slope,
    least_nominal_size_m,
)
from catchpan.units.errors import OutOfRange

INCH = 0.0254
FOOT = 0.3048
GPM = 3.785411784e-3 / 60
CFS = FOOT**3
TON_W = 12000 * 1055.05585262 / 3600


@pytest.mark.published("nspc-2009", "appendix K, multipliers")
@pytest.mark.parametrize(
    ("fill", "flow", "velocity", "off"),
    [(1.0, 2.00, 1.00, 0.005), (0.25, 0.274, 0.701, 0.0005), (0.75, 1.82, 1.13, 0.005)],
)
def test_multipliers_from_half_full(fill: float, flow: float, velocity: float, off: float) -> None:
    """Worked examples P11 to P13."""
    ours = drain_flow_m3_s(0.05, 0.01, [fill, 0.5])
    speed = drain_velocity_m_s(0.05, 0.01, [fill, 0.5])
    assert ours[0] / ours[1] == pytest.approx(flow, abs=off)
    assert speed[0] / speed[1] == pytest.approx(velocity, abs=off)


@pytest.mark.published("nspc-2009", "appendix K, correction for roughness")
def test_roughness_scales_the_flow() -> None:
    """Worked example P14."""
    ratio = drain_flow_m3_s(0.05, 0.01, 0.5, 0.009) / drain_flow_m3_s(0.05, 0.01, 0.5, 0.015)
    assert ratio == pytest.approx(0.015 / 0.009)


@pytest.mark.published("civiltoolbox-manning", "8 in pipe full, n 0.013, S 0.005")
def test_full_sewer_pipe() -> None:
    """Worked example P15; the page rounds the hydraulic radius early, so 1 %."""
    area, radius = flow_section(0.667 * FOOT, 1.0)
    assert area / FOOT**2 == pytest.approx(0.349, abs=0.0006)
    assert radius / FOOT == pytest.approx(0.167, abs=0.0005)
    assert drain_flow_m3_s(0.667 * FOOT, 0.005, 1.0, 0.013) / CFS == pytest.approx(0.854, rel=0.01)
    assert drain_velocity_m_s(0.667 * FOOT, 0.005, 1, 0.013) / FOOT == pytest.approx(
        2.448, rel=0.01
    )


@pytest.mark.published("civil-rcp-example", "24 in concrete pipe full, n 0.012, S 0.003")
def test_full_storm_pipe() -> None:
    """Worked example P16."""
    area, radius = flow_section(2 * FOOT, 1.0)
    assert area / FOOT**2 == pytest.approx(3.142, abs=0.0005)
    assert radius / FOOT == pytest.approx(0.5)
    assert drain_flow_m3_s(2 * FOOT, 0.003, 1.0, 0.012) / CFS == pytest.approx(13.4, abs=0.05)


@pytest.mark.published("plumbing-code-half-full", "n 0.015, nominal bores, gpm and ft/s")
@pytest.mark.parametrize(
    ("inches", "inch_per_foot", "gpm", "ft_s"),
    [
        (1.25, 1 / 2, 3.40, 1.78),
        (1.5, 1 / 4, 3.91, 1.42),
        (1.5, 1 / 2, 5.53, 2.01),
        (2.0, 1 / 4, 8.42, 1.72),
        (2.0, 1 / 2, 11.9, 2.43),
        (2.5, 1 / 8, 10.8, 1.41),
        (3.0, 1 / 8, 17.6, 1.59),
        (3.0, 1 / 4, 24.8, 2.25),
        (3.0, 1 / 2, 35.1, 3.19),
        (4.0, 1 / 8, 37.8, 1.93),
        (4.0, 1 / 4, 53.4, 2.73),
        (4.0, 1 / 2, 75.5, 3.86),
    ],
)
def test_half_full_table(inches: float, inch_per_foot: float, gpm: float, ft_s: float) -> None:
    """Worked table T3 (table known from memory, recomputed with the nominal bore)."""
    capacity = drain_capacity_m3_s(inches * INCH, inch_per_foot / 12, 0.015)
    speed = drain_velocity_m_s(inches * INCH, inch_per_foot / 12, 0.5, 0.015)
    assert capacity / GPM == pytest.approx(gpm, rel=0.005)
    assert speed / FOOT == pytest.approx(ft_s, rel=0.005)


@pytest.mark.parametrize(
    ("bore", "slope", "expected"),
    [
        (0.824, 1 / 96, [0.932, 0.763, 0.559]),
        (0.824, 1 / 48, [1.318, 1.078, 0.791]),
        (1.049, 1 / 96, [1.774]),
        (1.049, 1 / 48, [2.509]),
    ],
)
def test_small_condensate_lines(bore: float, slope: float, expected: list[float]) -> None:
    """Worked examples D4 to D6 (derived there), n 0.009, 0.011, 0.015."""
    rough = np.array([0.009, 0.011, 0.015])[: len(expected)]
    ours = drain_capacity_m3_s(bore * INCH, slope, rough) / GPM
    assert ours == pytest.approx(expected, abs=6e-4)


def test_small_line_carries_many_times_a_five_ton_coil() -> None:
    """Derived trade fact: at least 20 times, even rough; clogs govern, not capacity."""
    five_tons = 5 * 0.3 / 60
    assert drain_capacity_m3_s(BORE_M[0.75], 1 / 96, 0.015) / GPM > 20 * five_tons


@given(st.floats(0.01, 1.0), st.floats(0.0, 0.5), st.floats(0.05, 1.0), st.floats(0.008, 0.03))
def test_manning_equals_the_reference_library(
    bore: float, slope: float, fill: float, rough: float
) -> None:
    area, radius = flow_section(bore, fill)
    theirs = fluids.V_Manning(Rh=float(radius), S=slope, n=rough)
    assert drain_velocity_m_s(bore, slope, fill, rough) == pytest.approx(theirs)
    assert drain_flow_m3_s(bore, slope, fill, rough) == pytest.approx(float(area) * theirs)


@given(st.floats(0.01, 1.0))
def test_full_and_empty_sections(bore: float) -> None:
    area, radius = flow_section(bore, [0.0, 0.5, 1.0])
    assert area == pytest.approx(np.array([0, 0.5, 1]) * math.pi * bore**2 / 4)
    assert radius == pytest.approx(np.array([0, 1, 1]) * bore / 4)


@given(st.floats(0.0, 0.9), st.floats(0.01, 0.03))
def test_fuller_pipe_carries_more_until_nearly_full(fill: float, step: float) -> None:
    less, more = drain_flow_m3_s(0.02, 0.01, [fill, fill + step])
    assert more > less


@pytest.mark.published("imc-307.2.2", "table 307.2.2")
@pytest.mark.parametrize(
    ("tons", "inches"),
    [
        (20.0, 0.75),
        (20.1, 1.0),
        (40.0, 1.0),
        (40.1, 1.25),
        (90.0, 1.25),
        (90.1, 1.5),
        (125.0, 1.5),
        (125.1, 2.0),
        (250.0, 2.0),
    ],
)
def test_least_size_by_tons(tons: float, inches: float) -> None:
    """Worked example P10."""
    assert least_nominal_size_m(tons * TON_W) == pytest.approx(inches * INCH)


def test_more_than_the_table_is_refused() -> None:
    with pytest.raises(OutOfRange, match="cooling capacity"):
        least_nominal_size_m(251 * TON_W)


@pytest.mark.published("imc-307.2.1", "1/8 in per 12 in")
def test_slope_rule() -> None:
    assert has_enough_slope([1 / 48, 1 / 96, 1 / 120, 0.0, -0.01]).tolist() == [
        True,
        True,
        False,
        False,
        False,
    ]
