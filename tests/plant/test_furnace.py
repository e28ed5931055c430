"""A gas furnace lights in order, and stops at the first thing that is not proven.

All common practice of the trade, no source, unless a test says otherwise.
"""

import pytest

from catchpan.plant.meter import voltage
from catchpan.plant.part import Surroundings
from catchpan.plant.parts.furnace import (
    LED_FLAME,
    LED_IGNITION,
    LED_LIMIT,
    LED_NORMAL,
    LED_PRESSURE,
    LED_STUCK,
)
from catchpan.plant.settle import settle
from tests.plant.bench import CONDENSING, FURNACES, GAS, look, opened, plant, signal, to

OFF, RUNNING = 0.0, 2.0


@pytest.mark.parametrize("name", FURNACES)
@pytest.mark.parametrize("blower", ["psc", "ecm"])
def test_healthy_furnace_heats(name: str, blower: str) -> None:
    state = look(name, "heat", blower=blower)
    assert signal(state, "furnace.proven") == 1.0
    assert signal(state, "board.lamp") == LED_NORMAL
    assert signal(state, "blower.state") == RUNNING
    assert 15.0 < signal(state, "supply.rise_k") < 45.0
    assert signal(state, "compressor.state") == OFF


@pytest.mark.parametrize("name", FURNACES)
@pytest.mark.parametrize("switch", ["limit", "rollout"])
def test_open_limit_runs_the_blower_without_fire(name: str, switch: str) -> None:
    for demand in ("heat", "off"):
        state = look(name, demand, [to(f"{switch}.open", 1.0)])
        assert signal(state, "board.lamp") == LED_LIMIT
        assert signal(state, "blower.state") == RUNNING
        assert signal(state, "inducer.state") == OFF
        assert signal(state, "gas_valve.flow") == 0.0
        assert voltage(state, f"{switch}.a", f"{switch}.b")[0] > 23.0


@pytest.mark.parametrize("name", FURNACES)
@pytest.mark.parametrize("cause", ["vent.open_share", "pressure_switch.hose_open"])
def test_pressure_switch_not_closed_keeps_the_inducer_running_without_ignition(
    name: str, cause: str
) -> None:
    state = look(name, "heat", [to(cause, 0.0)])
    assert signal(state, "inducer.state") == RUNNING
    assert signal(state, "ignitor.glows") == 0.0
    assert signal(state, "gas_valve.flow") == 0.0
    assert signal(state, "board.lamp") == LED_PRESSURE
    assert signal(state, "blower.state") == OFF


def test_water_in_a_condensing_furnace_keeps_its_pressure_switch_open() -> None:
    state = look(CONDENSING, "heat", [to("furnace_drain.water_in_way", 1.0)])
    assert signal(state, "board.lamp") == LED_PRESSURE
    assert signal(state, "burner.lit") == 0.0


@pytest.mark.parametrize("name", FURNACES)
def test_pressure_switch_closed_before_the_inducer_runs_stops_the_start(name: str) -> None:
    state = look(name, "heat", [to("pressure_switch.stuck_closed", 1.0)])
    assert signal(state, "inducer.state") == OFF
    assert signal(state, "board.lamp") == LED_STUCK


@pytest.mark.parametrize("name", FURNACES)
def test_dead_inducer_means_no_draft_and_no_fire(name: str) -> None:
    state = look(name, "heat", [to("inducer.seized", 1.0)])
    assert signal(state, "draft.share") == 0.0
    assert signal(state, "gas_valve.flow") == 0.0


@pytest.mark.parametrize("name", FURNACES)
def test_broken_ignitor_lets_gas_try_and_nothing_light(name: str) -> None:
    state = look(name, "heat", [opened("ignitor.element")])
    assert voltage(state, "ignitor.L1", "ignitor.N")[0] > 110.0
    assert signal(state, "ignitor.glows") == 0.0
    assert signal(state, "burner.lit") == 0.0
    assert signal(state, "board.lamp") == LED_IGNITION


@pytest.mark.parametrize("name", FURNACES)
def test_flame_that_is_not_proven_heats_nothing(name: str) -> None:
    """Below half a microampere: it lights, drops out, and the blower never comes on."""
    state = look(name, "heat", [to("flame_sensor.microamp", 0.3)])
    assert signal(state, "burner.lit") == 1.0
    assert signal(state, "burner.stays") == 0.0
    assert signal(state, "burner.watts") == 0.0
    assert signal(state, "blower.state") == OFF
    assert signal(state, "board.lamp") == LED_IGNITION
    assert signal(state, "flame_sensor.reading") == pytest.approx(0.3)


@pytest.mark.parametrize("name", FURNACES)
def test_valve_that_leaks_by_keeps_the_blower_on(name: str) -> None:
    state = look(name, "off", [to("gas_valve.opens", 2.0)])
    assert signal(state, "board.lamp") == LED_FLAME
    assert signal(state, "blower.state") == RUNNING


@pytest.mark.parametrize("name", FURNACES)
def test_dead_gas_valve_gets_its_voltage_and_passes_nothing(name: str) -> None:
    state = look(name, "heat", [opened("gas_valve.coil")])
    assert voltage(state, "gas_valve.A1", "gas_valve.A2")[0] > 23.0
    assert signal(state, "gas_valve.flow") == 0.0


def test_pilot_furnace_lights_without_inducer() -> None:
    state = look(GAS, "heat", ignition="pilot")
    assert signal(state, "furnace.proven") == 1.0
    assert (
        signal(look(GAS, "heat", [to("burner.pilot_lit", 0.0)], ignition="pilot"), "burner.lit")
        == 0
    )


@pytest.mark.parametrize("name", FURNACES)
@pytest.mark.parametrize(
    ("since_end_s", "inducer", "blower"),
    [(5.0, RUNNING, RUNNING), (60.0, OFF, RUNNING), (200.0, OFF, OFF)],
)
def test_inducer_purges_and_blower_runs_on_after_the_call(
    name: str, since_end_s: float, inducer: float, blower: float
) -> None:
    built = plant(name)
    around = Surroundings("off", ended="heat", since_end_s=since_end_s)
    state = settle(built, built.set_up([("it",)]), around)
    assert signal(state, "inducer.state") == inducer
    assert signal(state, "blower.state") == blower
    assert signal(state, "gas_valve.flow") == 0.0


@pytest.mark.parametrize("name", FURNACES)
def test_a_fan_timer_starts_the_blower_though_nothing_lit(name: str) -> None:
    cold = [opened("ignitor.element")]
    assert signal(look(name, "heat", cold, fan_start="flame"), "blower.state") == OFF
    blown = look(name, "heat", cold, fan_start="timer")
    assert signal(blown, "blower.state") == RUNNING
    assert signal(blown, "burner.lit") == 0.0
    assert abs(signal(blown, "supply.rise_k")) < 1.0
