"""The order in which things come on.

All common practice of the trade, no source, unless a test says otherwise.
"""

import math
from itertools import pairwise

import pytest

from catchpan.plant.part import Surroundings
from catchpan.plant.sequence import sequence
from tests.plant.bench import (
    FURNACES,
    HEAT_PUMP,
    SYSTEMS,
    begins,
    followed,
    opened,
    plant,
    to,
)

STEPS_OF_A_FURNACE = (
    "furnace.called",
    "inducer.state",
    "ignitor.glows",
    "gas_valve.flow",
    "burner.lit",
    "furnace.proven",
    "blower.state",
)


@pytest.mark.parametrize("name", FURNACES)
def test_furnace_lights_in_order(name: str) -> None:
    changes = followed(name, "heat")
    times = [begins(changes, step) for step in STEPS_OF_A_FURNACE]
    assert all(early <= late for early, late in pairwise(times))
    assert times[-1] < math.inf


@pytest.mark.parametrize("name", FURNACES)
def test_furnace_purges_before_it_glows_glows_before_gas_and_burns_before_it_blows(
    name: str,
) -> None:
    changes = followed(name, "heat")
    marks = [begins(changes, s) for s in ("inducer.state", "ignitor.glows", "gas_valve.flow")]
    marks.append(begins(changes, "blower.state"))
    assert all(early < late for early, late in pairwise(marks))


@pytest.mark.parametrize("name", FURNACES)
def test_furnace_stops_where_draft_is_not_proven(name: str) -> None:
    changes = followed(name, "heat", [to("vent.open_share", 0.0)])
    assert begins(changes, "inducer.state") < math.inf
    assert begins(changes, "ignitor.glows") == math.inf
    assert begins(changes, "blower.state") == math.inf


@pytest.mark.parametrize("name", SYSTEMS)
def test_cooling_starts_all_three_motors_at_once(name: str) -> None:
    changes = followed(name, "cool")
    first = {m: begins(changes, f"{m}.state") for m in ("compressor", "outdoor_fan", "blower")}
    assert set(first.values()) == {1.0}


@pytest.mark.parametrize("name", SYSTEMS)
def test_cooling_after_an_outage_brings_the_blower_at_once_and_the_compressor_later(
    name: str,
) -> None:
    around = Surroundings("cool", since_power_s=0.0)
    changes = sequence(plant(name), ["it"], around)
    assert begins(changes, "blower.state") == 1.0
    assert begins(changes, "compressor.state") == 301.0


def test_emergency_heat_brings_the_strips_after_half_a_minute() -> None:
    changes = followed(HEAT_PUMP, "emergency")
    assert begins(changes, "blower.state") == 1.0
    assert begins(changes, "seq1.pulled_in") == 31.0
    assert begins(changes, "compressor.state") == math.inf


def test_heat_pump_gets_its_strips_when_it_falls_behind() -> None:
    """With the compressor dead the thermostat calls the strips after its quarter hour."""
    built = plant(HEAT_PUMP, [opened("compressor.overload")])
    around = Surroundings("heat", outdoor_c=2.0, indoor_c=20.0)
    changes = sequence(built, ["it"], around, (1.0, 60.0, 600.0, 1800.0))
    assert begins(changes, "outdoor_fan.state") == 1.0
    assert begins(changes, "seq1.pulled_in") == 1800.0


def test_healthy_heat_pump_in_mild_weather_needs_no_strips() -> None:
    built = plant(HEAT_PUMP)
    around = Surroundings("heat", outdoor_c=10.0, indoor_c=20.0)
    changes = sequence(built, ["it"], around, (1.0, 60.0, 600.0, 1800.0))
    assert begins(changes, "compressor.state") == 1.0
    assert begins(changes, "seq1.pulled_in") == math.inf


def test_each_change_is_told_once_and_in_plain_words() -> None:
    built = plant(FURNACES[0])
    changes = sequence(built, ["it"], Surroundings("heat"), (1.0, 600.0))
    assert [c.level for c in changes if c.signal == "furnace.called"] == [1.0]
    assert {c.what for c in changes} >= {"inducer", "burners", "indoor blower"}
