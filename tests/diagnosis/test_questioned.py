"""Readings that cannot be are asked back about, with the likely mistake, and never crash.

Common practice of the trade, no source.
"""

import numpy as np
import pytest

from catchpan.diagnosis.inference.belief import Belief
from catchpan.diagnosis.inference.questioned import questions
from tests.diagnosis.small_catalog import cycle_family
from tests.diagnosis.test_panel_belief import read

SOUND = {
    "outdoor-air": 91.0, "return-air": 80.0, "return-wet-bulb": 66.0, "suction-pressure": 138.0,
    "liquid-pressure": 375.0, "suction-line": 60.0, "liquid-line": 100.0, "discharge-line": 160.0,
    "supply-air": 59.0,
}  # fmt: skip


def asked(**changed: float) -> list[str]:
    values = {**SOUND, **{k.replace("_", "-"): v for k, v in changed.items()}}
    held = Belief.prior(cycle_family("txv")).observe_all(read(k, v) for k, v in values.items())
    assert np.isfinite(held.log_weights).all()
    assert held.probabilities().sum() == pytest.approx(1.0)
    return [q.text for q in questions(held)]


def test_sound_readings_are_not_questioned() -> None:
    assert asked() == []


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"liquid_line": 165.0, "discharge_line": 100.0}, "sensors swapped"),
        ({"suction_pressure": 375.0, "liquid_pressure": 138.0}, "hoses swapped"),
        ({"return_wet_bulb": 83.0}, "wet bulb"),
        ({"supply_wet_bulb": 62.0}, "wet bulb of the supply air reads above its dry bulb"),
        ({"supply_air": 75.0, "supply_wet_bulb": 71.0}, "two places swapped"),
        ({"liquid_drop": -6.0}, "Liquid does not warm by itself"),
        ({"liquid_drop": 90.0}, "one off its pipe"),
        ({"liquid_line": 52.0}, "sensor sit tight on the liquid line"),
        ({"suction_line": 20.0}, "sensor sit tight on the suction line"),
        ({"suction_line": 170.0, "discharge_line": 60.0}, "sensors swapped"),
        ({"suction_pressure": 76.0, "liquid_pressure": 225.0}, "R-22"),
    ],
)
def test_what_cannot_be_is_asked_back_with_the_likely_mistake(
    changed: dict[str, float], words: str
) -> None:
    assert any(words in text for text in asked(**changed)), asked(**changed)


def test_subcooling_of_sixty_degrees_is_questioned() -> None:
    held = Belief.prior(cycle_family("orifice")).observe(read("subcooling", 60.0))
    assert [q.checks for q in questions(held)] == [("panel/subcooling",)]


def test_absurd_numbers_never_crash() -> None:
    family = cycle_family("orifice")
    for name, value in (("suction-pressure", -14.0), ("liquid-pressure", 870.0),
                        ("suction-line", 900.0), ("superheat", -90.0)):  # fmt: skip
        held = Belief.prior(family).observe(read(name, value))
        questions(held)
        assert np.isfinite(held.log_weights).all()
