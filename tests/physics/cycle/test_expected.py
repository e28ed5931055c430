"""What a sound unit should read today, and from where that is known."""

import numpy as np
import pytest

from catchpan.physics.cycle.expected import (
    Today,
    chart_split,
    chart_superheat,
    model_expected,
    nameplate_subcooling,
)
from catchpan.physics.cycle.rating import TEST_A, rated
from catchpan.physics.cycle.unit import Unit
from catchpan.physics.cycle.verdict import SUBCOOLING_INSTALLER, Verdict, judged


def kelvin(degf: float) -> float:
    return (degf + 459.67) / 1.8


RATED = Today(kelvin(80), kelvin(67), kelvin(95))


def test_at_the_rating_point_the_model_expects_the_rating(valve_unit: Unit) -> None:
    expected, point = model_expected(valve_unit, RATED), rated(valve_unit, TEST_A)
    assert expected["net_w"].value == pytest.approx(8800.0, rel=2e-3)
    assert expected["subcooling_k"].value == pytest.approx(5.6, abs=0.1)
    assert expected["superheat_k"].value == pytest.approx(float(point.superheat_k[0]), abs=0.1)
    split = kelvin(80) - float(point.indoor_leaving_k[0])
    assert expected["split_k"].value == pytest.approx(split, abs=0.1)


def test_a_poorly_known_wet_bulb_makes_an_orifice_harder_to_judge_than_a_valve(
    valve_unit: Unit, orifice_unit: Unit
) -> None:
    valve, orifice = (
        model_expected(unit, RATED)["superheat_k"] for unit in (valve_unit, orifice_unit)
    )
    assert orifice.deviation > valve.deviation > 1.0


@pytest.mark.published("maker-manual-charging-chart", "95 degF outdoors, 67 degF wet bulb: 12 degF")
def test_chart_and_own_model_stand_side_by_side(old_orifice_unit: Unit) -> None:
    chart = chart_superheat(RATED)
    own = model_expected(old_orifice_unit, RATED)["superheat_k"]
    assert chart.value is not None
    assert own.value is not None
    assert chart.value * 1.8 == pytest.approx(12.0)
    assert own.value == pytest.approx(chart.value, abs=2 * own.deviation)
    assert 0.3 < chart.deviation < 1.5
    assert "chart" in chart.source
    assert "model" in own.source


@pytest.mark.parametrize(
    ("outdoor", "wet", "words"),
    [
        (95, 60, "do not charge by superheat"),
        (50, 60, "55 to 115 °F outdoors"),
        (95, 80, "76 °F wet bulb"),
    ],
)
def test_where_the_chart_is_silent_it_says_why(outdoor: float, wet: float, words: str) -> None:
    silent = chart_superheat(Today(kelvin(85), kelvin(wet), kelvin(outdoor)))
    assert silent.value is None
    assert words in silent.note


def test_split_of_table_and_model(valve_unit: Unit) -> None:
    """The table and a unit rated at 400 cfm a ton agree within their deviations."""
    for dry, wet in ((80, 67), (75, 63), (78, 65)):
        today = Today(kelvin(dry), kelvin(wet), kelvin(90))
        table, own = chart_split(today), model_expected(valve_unit, today)["split_k"]
        assert table.value is not None
        assert own.value is not None
        assert own.value == pytest.approx(table.value, abs=2.5 * np.hypot(0.5, own.deviation))
    assert chart_split(Today(kelvin(95), kelvin(70), kelvin(90))).value is None


@pytest.mark.published("maker-manual-subcooling", "p. 63: 13.0 degF, target 12 to 15: in")
def test_a_nameplate_target_is_taken_at_its_word() -> None:
    target = nameplate_subcooling(13.5 / 1.8)
    assert target.value is not None
    band = SUBCOOLING_INSTALLER
    assert judged(13.0 / 1.8, target.value, band, target.deviation) is Verdict.OK


def test_cold_weather_and_limits_are_noted(valve_unit: Unit, heat_pump: Unit) -> None:
    cold = model_expected(valve_unit, Today(kelvin(72), kelvin(60), kelvin(45)))
    assert "colder than 55" in cold["subcooling_k"].note
    winter = Today(kelvin(70), kelvin(60), kelvin(25), kelvin(23))
    heating = model_expected(heat_pump, winter, heating=True)
    split = heating["split_k"].value
    assert split is not None
    assert split < -5.0
    assert "below freezing" in heating["net_w"].note
