"""What 24 V controls do: float switches, thermostat, fuse, breakers, delays.

All common practice of the trade, no source, unless a test says otherwise.
"""

import math

import pytest

from catchpan.plant.blueprint import BranchEffect
from catchpan.plant.meter import resistance_between, resistance_of, voltage
from tests.plant.bench import (
    CONDENSING,
    ELECTRIC,
    FURNACES,
    GAS,
    HEAT_PUMP,
    SYSTEMS,
    look,
    opened,
    short,
    signal,
    to,
)

OFF, RUNNING = 0.0, 2.0
WET = (to("pan.trap_blocked", 1.0), to("pan.primary", 1.0))


@pytest.mark.parametrize("name", SYSTEMS)
@pytest.mark.parametrize("blower", ["psc", "ecm"])
def test_healthy_system_cools(name: str, blower: str) -> None:
    state = look(name, "cool", blower=blower)
    assert signal(state, "compressor.state") == RUNNING
    assert signal(state, "outdoor_fan.state") == RUNNING
    assert signal(state, "blower.state") == RUNNING
    assert signal(state, "supply.rise_k") < -8.0
    assert not state.chatters[0]


@pytest.mark.parametrize("name", SYSTEMS)
def test_float_in_r_blanks_the_thermostat_and_stops_everything(name: str) -> None:
    state = look(name, "cool", WET, float_switch="in_r")
    assert signal(state, "float_primary.tripped") == 1.0
    assert signal(state, "stat.display") == 0.0
    for motor in ("compressor", "outdoor_fan", "blower"):
        assert signal(state, f"{motor}.state") == OFF


@pytest.mark.parametrize("name", SYSTEMS)
def test_float_in_y_leaves_display_and_fan(name: str) -> None:
    state = look(name, "cool", WET, float_switch="in_y")
    assert signal(state, "stat.display") == 1.0
    assert signal(state, "blower.state") == RUNNING
    assert signal(state, "contactor.pulled_in") == 0.0
    assert signal(state, "compressor.state") == OFF


@pytest.mark.parametrize("where", ["unwired", "none"])
def test_float_that_is_not_wired_stops_nothing(where: str) -> None:
    state = look(HEAT_PUMP, "cool", WET, float_switch=where)
    assert signal(state, "compressor.state") == RUNNING
    assert signal(state, "spill.floor") == 1.0


@pytest.mark.parametrize("name", SYSTEMS)
@pytest.mark.parametrize("demand", ["fan", "cool", "heat"])
def test_batteries_light_the_display_and_still_run_nothing(name: str, demand: str) -> None:
    """R goes through the tripped float: the contacts close on a dead wire."""
    effects = [to("float_primary.stuck_up", 1.0)]
    state = look(name, demand, effects, float_switch="in_r", thermostat_power="both")
    assert signal(state, "stat.display") == 1.0
    assert signal(state, "stat.calling") == 1.0
    assert voltage(state, "stat.R", "stat.C")[0] < 1.0
    for motor in ("compressor", "blower"):
        assert signal(state, f"{motor}.state") == OFF


def test_flat_batteries_without_c_wire_blank_the_display() -> None:
    state = look(GAS, "cool", [to("stat_cell.good", 0.0)], thermostat_power="battery")
    assert signal(state, "stat.display") == 0.0
    assert signal(state, "compressor.state") == OFF
    assert voltage(state, "ctl.R", "ctl.C")[0] > 23.0


@pytest.mark.parametrize("name", SYSTEMS)
def test_open_switch_shows_24_volts_and_a_closed_one_none(name: str) -> None:
    stuck = look(name, "cool", [to("float_primary.stuck_up", 1.0)], float_switch="in_r")
    fine = look(name, "cool", float_switch="in_r")
    across = ("float_primary.a", "float_primary.b")
    assert 23.0 < voltage(stuck, *across)[0] < 29.0
    assert voltage(fine, *across)[0] < 0.05
    assert math.isinf(resistance_of(stuck, "float_primary.contact")[0])
    assert resistance_of(fine, "float_primary.contact")[0] < 1.0


@pytest.mark.parametrize("name", SYSTEMS)
def test_blown_control_fuse_leaves_the_transformer_alive(name: str) -> None:
    state = look(name, "cool", [opened("fuse_low.link")])
    assert 23.0 < voltage(state, "transformer.s1", "transformer.s2")[0] < 29.0
    assert 23.0 < voltage(state, "fuse_low.a", "fuse_low.b")[0] < 29.0
    assert signal(state, "stat.display") == 0.0
    assert signal(state, "compressor.state") == OFF


@pytest.mark.parametrize("name", SYSTEMS)
def test_shorted_thermostat_cable_overloads_the_control_fuse(name: str) -> None:
    """What blows it: R against C, several times its rating."""
    state = look(name, "off", [short("stat.R", "stat.C")])
    assert signal(state, "fuse_low.overload") > 1.5


def test_short_behind_y_overloads_the_fuse_only_on_a_call() -> None:
    effects = [short("contactor.A1", "contactor.A2")]
    assert signal(look(ELECTRIC, "off", effects), "fuse_low.overload") < 1.0
    assert signal(look(ELECTRIC, "cool", effects), "fuse_low.overload") > 1.5


@pytest.mark.parametrize("name", SYSTEMS)
def test_breaker_that_only_looks_on_has_no_voltage_behind_it(name: str) -> None:
    state = look(name, "cool", [opened("breaker_in.pole1")])
    assert signal(state, "breaker_in.is_on") == 1.0
    assert voltage(state, "breaker_in.in1")[0] == pytest.approx(120.0, abs=3.0)
    assert voltage(state, "transformer.s1", "transformer.s2")[0] < 1.0
    assert signal(state, "stat.display") == 0.0


@pytest.mark.parametrize("name", SYSTEMS)
def test_indoor_breaker_off_stops_the_outdoor_unit_which_still_has_line_voltage(name: str) -> None:
    """The contactor's coil is fed from the indoor unit's transformer."""
    state = look(name, "cool", [to("breaker_in.on", 0.0)])
    assert voltage(state, "contactor.L1", "contactor.L2")[0] == pytest.approx(240.0, abs=3.0)
    assert signal(state, "contactor.pulled_in") == 0.0
    assert signal(state, "compressor.state") == OFF


@pytest.mark.parametrize("name", SYSTEMS)
def test_outdoor_breaker_off_leaves_the_blower_and_a_pulled_contactor(name: str) -> None:
    state = look(name, "cool", [to("breaker_out.on", 0.0)])
    assert signal(state, "contactor.pulled_in") == 1.0
    assert voltage(state, "contactor.L1", "contactor.L2")[0] < 1.0
    assert signal(state, "compressor.state") == OFF
    assert signal(state, "blower.state") == RUNNING


@pytest.mark.parametrize("name", SYSTEMS)
def test_lost_leg_leaves_half_the_voltage_to_ground_and_no_cooling(name: str) -> None:
    state = look(name, "cool", [opened("service.leg1")])
    assert voltage(state, "contactor.L2")[0] == pytest.approx(120.0, abs=3.0)
    assert signal(state, "compressor.state") != RUNNING


@pytest.mark.parametrize("name", SYSTEMS)
def test_unit_holds_off_after_power_returns(name: str) -> None:
    early = look(name, "cool", around={"since_power_s": 60.0})
    late = look(name, "cool", around={"since_power_s": 301.0})
    assert signal(early, "compressor.state") == OFF
    assert signal(early, "stat.waiting") == 1.0
    assert signal(late, "compressor.state") == RUNNING


def test_defrost_board_holds_off_by_itself() -> None:
    """With a thermostat that does not wait, the outdoor board still does."""
    state = look(HEAT_PUMP, "cool", [BranchEffect("stat.Y", "stuck_closed")], {"since_power_s": 60})
    assert signal(state, "compressor.state") == OFF
    assert voltage(state, "defrost.Y", "defrost.C")[0] > 23.0
    assert voltage(state, "defrost.Y_out", "defrost.C")[0] < 1.0


@pytest.mark.parametrize("name", FURNACES)
def test_open_door_switch_kills_the_furnace(name: str) -> None:
    for demand in ("fan", "cool", "heat"):
        state = look(name, demand, [to("door_switch.closed", 0.0)])
        assert signal(state, "board.lamp") == 0.0
        assert signal(state, "stat.display") == 0.0
        assert signal(state, "blower.state") == OFF


def test_high_pressure_switch_stops_the_compressor_alone() -> None:
    state = look(CONDENSING, "cool", [to("hp_switch.open", 1.0)])
    assert signal(state, "compressor.state") == OFF
    assert signal(state, "blower.state") == RUNNING
    assert voltage(state, "hp_switch.a", "hp_switch.b")[0] > 23.0


@pytest.mark.parametrize("name", SYSTEMS)
def test_broken_y_conductor_stops_the_outdoor_unit_alone(name: str) -> None:
    state = look(name, "cool", [opened("cable.Y")])
    assert voltage(state, "stat.Y", "stat.C")[0] > 23.0
    assert voltage(state, "ctl.Y", "ctl.C")[0] < 1.0
    assert signal(state, "blower.state") == RUNNING
    assert signal(state, "compressor.state") == OFF


@pytest.mark.parametrize("name", SYSTEMS)
def test_ghost_voltage_on_a_cut_conductor_goes_with_a_low_impedance_meter(name: str) -> None:
    """Y is broken at the furnace end and off: it only lies beside live wires."""
    state = look(name, "fan", [opened("cable.Y")])
    ordinary = voltage(state, "stat.Y", "stat.C")[0]
    loaded = voltage(state, "stat.Y", "stat.C", meter_ohm=3000.0)[0]
    assert ordinary > 1.0
    assert loaded < 0.1


@pytest.mark.parametrize("name", SYSTEMS)
def test_contactor_with_jammed_poles_pulls_in_and_passes_nothing(name: str) -> None:
    state = look(name, "cool", [to("contactor.blocked", 1.0)])
    assert signal(state, "contactor.pulled_in") == 1.0
    assert voltage(state, "contactor.T1", "contactor.T2")[0] < 1.0
    assert voltage(state, "contactor.L1", "contactor.L2")[0] == pytest.approx(240.0, abs=3.0)


@pytest.mark.parametrize("name", SYSTEMS)
def test_welded_contactor_runs_the_outdoor_unit_with_the_thermostat_off(name: str) -> None:
    welded = [BranchEffect(f"contactor.pole{k}", "stuck_closed") for k in (1, 2)]
    state = look(name, "off", welded)
    assert signal(state, "compressor.state") == RUNNING
    assert signal(state, "blower.state") == OFF
    assert resistance_between(state, "contactor.L1", "contactor.T1")[0] < 1.0
