"""Faults that come in degrees."""

import numpy as np
import pytest

from catchpan.catalog.load import catalog
from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.inference.causes import rank_causes
from catchpan.diagnosis.worlds.compile_family import Size, compile_family
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import Family
from catchpan.diagnosis.worlds.severity import graded_conditions, severity_spread


def test_a_weak_capacitor_is_graded_and_an_open_one_is_not() -> None:
    graded = graded_conditions(catalog().faults)
    assert "capacitor/herm-weak" in graded
    assert "capacitor/herm-open" not in graded


def test_the_spread_grows_with_the_distance_from_sound() -> None:
    shown = np.array([40.0, 30.0, 10.0, 10.0, np.inf, np.nan])
    graded = np.array([True, True, True, False, True, True])
    spread = severity_spread(shown, 40.0, graded)
    np.testing.assert_allclose(spread, [0.0, 3.5, 10.5, 0.0, 0.0, 0.0])


@pytest.fixture(scope="module")
def family() -> Family:
    return compile_family(
        Description("air-conditioner-condensing-furnace", {}, season="cooling"),
        size=Size(settings=1, pairs=0),
    )


@pytest.mark.parametrize("microfarad", [12.0, 16.0, 20.0, 24.0])
def test_any_low_capacitance_speaks_for_a_weak_capacitor(family: Family, microfarad: float) -> None:
    belief = Belief.prior(family).observe_all(
        [
            Reading("complaint/no-cooling", "yes", reporter="caller"),
            Reading("capacitor/herm-microfarad", value_si=microfarad * 1e-6),
        ]
    )
    leading = rank_causes(belief).roots[0]
    assert leading.id == "capacitor/herm-weak"
    assert leading.probability > 0.5
