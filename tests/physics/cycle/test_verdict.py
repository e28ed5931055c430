"""Readings against targets: published bands, and too close to call."""

import numpy as np
import pytest

from catchpan.physics.cycle.verdict import (
    SPLIT_INSTALLER,
    SUBCOOLING_INSTALLER,
    SUPERHEAT_INSTALLER,
    SUPERHEAT_RATER,
    VALVE_SUPERHEAT_INSTALLER_K,
    VALVE_SUPERHEAT_RATER_K,
    Band,
    Verdict,
    judged,
    judged_range,
    subcooling_deviation_k,
    superheat_deviation_k,
    thermometer_deviation_k,
)
from catchpan.physics.refrigerant.shelf import refrigerant_table


@pytest.mark.published("cec-ra3.2", "RA3-14: installer 5 degF; rater 6")
@pytest.mark.parametrize(
    ("away_degf", "band", "verdict"),
    [
        (5, SUPERHEAT_INSTALLER, Verdict.OK),
        (6, SUPERHEAT_INSTALLER, Verdict.HIGH),
        (-6, SUPERHEAT_INSTALLER, Verdict.LOW),
        (6, SUPERHEAT_RATER, Verdict.OK),
        (3, SUBCOOLING_INSTALLER, Verdict.OK),
        (-4, SUBCOOLING_INSTALLER, Verdict.LOW),
    ],
)
def test_published_bands_are_closed_at_their_edges(
    away_degf: float, band: Band, verdict: Verdict
) -> None:
    target = 12.0 / 1.8
    assert judged(target + away_degf / 1.8, target, band) is verdict


@pytest.mark.published("cec-ra3.2", "RA3-16: split 3, -3, 4, -5 degF off; 4: too little air")
def test_a_split_off_its_target() -> None:
    """-5 passes there after a second look, "likely low capacity"; here it is too low, and said."""
    target = 19.0 / 1.8
    found = [judged(target + each / 1.8, target, SPLIT_INSTALLER) for each in (3, -3, 4, -5)]
    assert found == [Verdict.OK, Verdict.OK, Verdict.HIGH, Verdict.LOW]


@pytest.mark.published("cec-ra3.2", "RA3-15: valve without a maker's range, 3/4/25/26 degF")
def test_a_valve_without_a_makers_range() -> None:
    found = [judged_range(each / 1.8, VALVE_SUPERHEAT_INSTALLER_K) for each in (3, 4, 25, 26)]
    assert found == [Verdict.LOW, Verdict.OK, Verdict.OK, Verdict.HIGH]
    found = [judged_range(each / 1.8, VALVE_SUPERHEAT_RATER_K) for each in (3, 26)]
    assert found == [Verdict.OK, Verdict.OK]


def test_what_the_uncertainty_covers_is_too_close_to_call() -> None:
    band = Band(3.0, 3.0)
    found = [judged(away, 0.0, band, 1.0) for away in (0.0, 1.9, 2.1, 3.9, 4.1, -2.5, -4.1)]
    close, ok, high, low = Verdict.TOO_CLOSE, Verdict.OK, Verdict.HIGH, Verdict.LOW
    assert found == [ok, ok, close, close, high, close, low]
    assert judged(0.0, 0.0, band, 4.0) is close


def test_calls_are_right_as_often_as_they_claim() -> None:
    """At one deviation a call is wrong at most one time in six, wherever the truth lies."""
    draw, band = np.random.default_rng(5), Band(2.5, 2.5)
    for truth in (0.0, 2.4, 2.6, 5.0):
        right = Verdict.OK if truth < 2.5 else Verdict.HIGH
        calls = [judged(truth + noise, 0.0, band, 1.0) for noise in draw.normal(0, 1, 2000)]
        wrong = sum(call not in (right, Verdict.TOO_CLOSE) for call in calls) / len(calls)
        assert wrong < 0.18


def test_instruments_in_kelvin() -> None:
    """3.5 psi are about 0.9 K at 118 psig of R-410A and twice that of R-134a at 35 psig."""
    psi = 6894.757
    assert thermometer_deviation_k(283.0) == pytest.approx(0.36, abs=0.03)
    high = superheat_deviation_k(refrigerant_table("R-410A"), 133.0 * psi, 283.0)
    low = superheat_deviation_k(refrigerant_table("R-134a"), 49.7 * psi, 283.0)
    assert high == pytest.approx(np.hypot(0.37, 3.5 / 2.2 / 1.8 / 2), rel=0.1)
    assert low > 1.5 * high
    liquid = subcooling_deviation_k(refrigerant_table("R-410A"), 370.0 * psi, 306.0)
    assert liquid == pytest.approx(np.hypot(0.39, 7.0 / 4.6 / 1.8 / 2), rel=0.1)
