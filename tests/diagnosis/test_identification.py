"""A few visits as benchmarks/identification simulates them: causes named, chances to be believed.

Units, installations and instruments are not the model's own, so this fails when the panel weighs
readings wrongly, and when it is surer of itself, or less sure, than it may be.
"""

from pathlib import Path

import numpy as np
import pytest

from benchmarks.identification.drawing import Array, Places, calibration, confusion, draw
from benchmarks.identification.visits import CAUSES, make_of, visits
from benchmarks.identification.weighing import by_chart, shares

SEED = 8
MAKES = 6
EACH = 40


@pytest.fixture(scope="module")
def weighed() -> tuple[Places, Array]:
    """Causes and shares of 240 visits with gauges to R-410A units of three tons."""
    random = np.random.default_rng(SEED)
    found = []
    for number in range(MAKES):
        unit = make_of(random, "r410a", "three", is_valve=number % 2 == 0)
        some, _ = visits(unit, np.arange(EACH) % len(CAUSES), random)
        found += some
    chance = np.array([shares(visit, gauges=True, nameplate=True) for visit in found])
    for visit, share in zip(found[:20], chance, strict=False):
        assert share.sum() == pytest.approx(1.0), visit.cause
        assert set(by_chart(visit, gauges=True, nameplate=True)) <= set(CAUSES)
    return np.array([CAUSES.index(visit.cause) for visit in found]), chance


def test_causes_are_named(weighed: tuple[Places, Array]) -> None:
    """80 % of the whole study come first, at -0.61 nats; knowing nothing: 10 %, -2.30."""
    truth, chance = weighed
    assert len(truth) > 200
    assert (chance.argmax(axis=1) == truth).mean() > 0.745
    assert np.log(chance[np.arange(len(truth)), truth]).mean() > -0.72
    assert confusion(truth, chance)[CAUSES.index("low charge")].argmax() == 1


def test_chances_can_be_believed(weighed: tuple[Places, Array]) -> None:
    """Of those given more than nine in ten, and of all, as many are right as was said."""
    truth, chance = weighed
    first, right = chance.max(axis=1), chance.argmax(axis=1) == truth
    sure = first > 0.9
    assert 50 < sure.sum() < 125
    assert right[sure].mean() > first[sure].mean() - 0.03
    assert right.mean() == pytest.approx(first.mean(), abs=0.1)


def test_plots_and_table_count_every_share(weighed: tuple[Places, Array], tmp_path: Path) -> None:
    truth, chance = weighed
    rows = calibration(truth, chance)
    assert rows[:, 2].sum() == (chance > 0.0).sum()
    assert (rows[:, 0] * rows[:, 2]).sum() == pytest.approx(chance.sum())
    assert (rows[:, 1] * rows[:, 2]).sum() == pytest.approx(len(truth), abs=1.0)
    draw(truth, {"with gauges": chance}, tmp_path)
    assert {p.name for p in tmp_path.glob("*.svg")} == {"confusion.svg", "calibration.svg"}
