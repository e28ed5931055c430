"""What instruments show: hand calculation, published relations, and the system's own figures."""

import math

import numpy as np
import pytest

from catchpan.physics.motors import WindingState, run_capacitance_f, winding_state
from catchpan.plant.blueprint import BranchEffect
from catchpan.plant.errors import UnknownPart
from catchpan.plant.meter import (
    capacitance_of,
    current,
    insulation_of,
    resistance_across,
    resistance_between,
    resistance_of,
    voltage,
)
from catchpan.plant.part import Surroundings
from catchpan.plant.settle import settle
from tests.plant.bench import ELECTRIC, GAS, HEAT_PUMP, SYSTEMS, look, opened, plant, short, to


@pytest.mark.published("capacitor-factors", "microfarad = 2652 I / V at 60 Hz")
@pytest.mark.parametrize("name", SYSTEMS)
@pytest.mark.parametrize(
    ("branch", "hot", "microfarad"),
    [("capacitor.herm", "capacitor.HERM", 40.0), ("capacitor.fan", "capacitor.FAN", 5.0)],
)
def test_run_capacitor_from_the_amps_and_volts_under_load(
    name: str, branch: str, hot: str, microfarad: float
) -> None:
    """Worked example P34's formula on the plant's own clamp and voltmeter."""
    state = look(name, "cool")
    amps, volts = current(state, branch)[0], voltage(state, hot, "capacitor.C")[0]
    assert 2652.0 * amps / volts == pytest.approx(microfarad, rel=1e-3)
    assert run_capacitance_f(amps, volts) == pytest.approx(
        capacitance_of(state, branch)[0], rel=1e-3
    )


def windings(motor: str, name: str, *effects: BranchEffect) -> tuple[float, float, float]:
    """Readings C-S, C-R, S-R of a motor with its leads off."""
    state = look(name, "off", effects)
    pairs = [("C", "S"), ("C", "R"), ("S", "R")]
    found = [resistance_across(state, motor, f"{motor}.{a}", f"{motor}.{b}")[0] for a, b in pairs]
    return (float(found[0]), float(found[1]), float(found[2]))


@pytest.mark.published("windings-sum-rule", "S-R = C-S + C-R (examples P35, P36)")
@pytest.mark.parametrize("name", SYSTEMS)
@pytest.mark.parametrize("motor", ["compressor", "outdoor_fan"])
def test_windings_add_up(name: str, motor: str) -> None:
    start, run, both = windings(motor, name)
    assert both == pytest.approx(start + run, abs=0.02)
    assert winding_state(start, run, both) is WindingState.GOOD


@pytest.mark.published("windings-overload", "C-S and C-R open, S-R reads (example P37)")
def test_open_overload_reads_only_between_start_and_run() -> None:
    start, run, both = windings("compressor", HEAT_PUMP, opened("compressor.overload"))
    assert winding_state(start, run, both) is WindingState.OVERLOAD_OPEN


@pytest.mark.parametrize("name", SYSTEMS)
def test_transformer_gives_24_volts_at_its_rated_load_and_more_without(name: str) -> None:
    """24 V at 40 VA, 27 V unloaded (24 to 28 V, common practice, no source)."""
    ohm = 24.0**2 / 40.0
    loaded = look(name, "off", [short("transformer.s1", "transformer.s2", ohm)])
    across = ("transformer.s1", "transformer.s2")
    assert voltage(loaded, *across)[0] == pytest.approx(24.0, abs=0.6)
    unloaded = look(name, "off", [opened("fuse_low.link"), to("breaker_out.on", 0.0)])
    assert 24.5 < voltage(unloaded, *across)[0] < 28.0


@pytest.mark.published("transformer-rating", "40 VA / 24 V = 1.67 A (example P23)")
def test_rated_current_of_the_transformer_is_where_its_overload_reads_one() -> None:
    ohm = 24.0 / 1.67
    state = look(ELECTRIC, "off", [short("transformer.s1", "transformer.s2", ohm)])
    drawn = current(state, "transformer.secondary")[0]
    felt = state.signals["transformer.overload"][0]
    assert drawn / felt == pytest.approx(1.67, abs=0.005)


@pytest.mark.published("coil-current", "48 ohm on 24 V: 0.5 A (example P21)")
def test_contactor_coil_by_ohms_law() -> None:
    """The same law on the plant's coil: volts across it over its impedance when sealed."""
    state = look(ELECTRIC, "cool")
    volts = voltage(state, "contactor.A1", "contactor.A2")[0]
    assert current(state, "contactor.coil")[0] == pytest.approx(volts / 72.0, rel=1e-3)
    assert pytest.approx(0.5) == 24.0 / 48.0


@pytest.mark.published("voltage-drop-two-wire", "2-wire drop = 2 I R (example P20)")
@pytest.mark.parametrize("name", SYSTEMS)
def test_drop_along_the_thermostat_cable_is_current_times_resistance(name: str) -> None:
    state = look(name, "cool")
    drop = voltage(state, "ctl.R", "stat.R")[0]
    ohm = resistance_of(state, "cable.R")[0]
    assert drop == pytest.approx(current(state, "cable.R")[0] * ohm, rel=1e-3)
    assert drop < 0.03 * 24.0


def test_ordinary_meter_shows_a_ghost_and_a_low_impedance_meter_does_not() -> None:
    """15 m of 50 pF/m to each neighbour: half the voltage of the live side, hand calculation."""
    state = look(GAS, "fan", [opened("cable.Y")])
    ghost = voltage(state, "stat.Y", "stat.C")[0]
    live = voltage(state, "stat.R", "stat.C")[0]
    assert 0.2 * live < ghost < live
    assert voltage(state, "stat.Y", "stat.C", 3000.0)[0] < 0.01 * live


def test_ghost_by_hand() -> None:
    """Y lies between C (dead) and G (live): two equal capacitors, loaded by 10 megohm."""
    farad = 15.0 * 50.0e-12
    reactance = 1.0 / (2.0 * math.pi * 60.0 * farad)
    state = look(GAS, "fan", [opened("cable.Y")])
    live = voltage(state, "stat.G", "stat.C", 1e12)[0]
    expected = abs(live / 2.0 * 1e7 / (1e7 - 0.5j * reactance))
    assert voltage(state, "stat.Y", "stat.C")[0] == pytest.approx(expected, rel=0.03)


def test_resistance_off_the_wire_and_in_the_circuit() -> None:
    """A coil alone, and with what lies beside it."""
    state = look(ELECTRIC, "cool")
    assert resistance_of(state, "contactor.coil")[0] == pytest.approx(14.0)
    assert resistance_between(state, "contactor.A1", "contactor.A2")[0] <= 14.0 + 1e-6
    strip = resistance_of(state, "strip1.wire")[0]
    assert strip == pytest.approx(240.0**2 / 5000.0)


@pytest.mark.parametrize("name", SYSTEMS)
def test_primary_winding_is_read_past_the_service(name: str) -> None:
    """With the power off an ohmmeter on the transformer finds its winding, an open one nothing."""
    sound = look(name, "off", blower="psc")
    burnt = look(name, "off", [opened("transformer.primary")], blower="psc")
    points = ("transformer.p1", "transformer.p2")
    alone = resistance_of(sound, "transformer.primary")[0]
    assert 5.0 < alone < 200.0
    assert resistance_between(sound, *points)[0] == pytest.approx(alone, rel=0.01)
    assert resistance_between(burnt, *points)[0] > 100.0 * alone


def test_power_off_opens_what_current_held_closed() -> None:
    """With the power on the contactor is in; the ohmmeter finds its poles open."""
    state = look(ELECTRIC, "cool")
    assert voltage(state, "contactor.L1", "contactor.T1")[0] < 0.5
    assert math.isinf(resistance_of(state, "contactor.pole1")[0])


def test_battery_thermostat_calls_even_with_the_power_off() -> None:
    state = look(GAS, "cool", thermostat_power="battery")
    assert resistance_of(state, "stat.Y")[0] < 1.0


def test_tripped_float_stays_open_with_the_power_off() -> None:
    state = look(GAS, "cool", [to("float_primary.stuck_up", 1.0)], float_switch="in_r")
    assert math.isinf(resistance_of(state, "float_primary.contact")[0])


def test_capacitor_reads_its_capacitance_and_an_open_one_nothing() -> None:
    good = look(HEAT_PUMP, "off")
    weak = look(HEAT_PUMP, "off", [BranchEffect("capacitor.herm", "factor", 1.25)])
    dead = look(HEAT_PUMP, "off", [opened("capacitor.herm")])
    found = [capacitance_of(s, "capacitor.herm")[0] * 1e6 for s in (good, weak, dead)]
    assert found == pytest.approx([40.0, 32.0, 0.0], rel=1e-3)
    assert math.isinf(resistance_of(good, "capacitor.herm")[0])


def test_sound_and_burnt_insulation() -> None:
    good = look(HEAT_PUMP, "off")
    burnt = look(HEAT_PUMP, "off", [BranchEffect("compressor.insulation", "ohm", 2.0e5)])
    assert insulation_of(good, "compressor.insulation")[0] > 1.0e8
    assert insulation_of(burnt, "compressor.insulation")[0] == pytest.approx(2.0e5)
    assert math.isinf(resistance_across(good, "compressor", "compressor.C", "ground")[0])
    through = resistance_across(burnt, "compressor", "compressor.C", "ground")[0]
    assert through == pytest.approx(2.0e5, rel=0.01)


def test_readings_come_in_the_order_of_the_worlds() -> None:
    built = plant(ELECTRIC, [opened("contactor.coil")])
    state = settle(built, built.set_up([(), ("it",), ()]), Surroundings("cool"))
    ohm = resistance_of(state, "contactor.coil")
    assert np.isinf(ohm).tolist() == [False, True, False]
    amps = current(state, "compressor.overload")
    assert (amps > 1.0).tolist() == [True, False, True]


def test_unknown_names_are_refused() -> None:
    state = look(ELECTRIC, "off")
    with pytest.raises(UnknownPart, match=r"contactor\.A3"):
        voltage(state, "contactor.A3")
    with pytest.raises(UnknownPart, match="board"):
        current(state, "board.supply")
    with pytest.raises(UnknownPart, match="boiler"):
        resistance_across(state, "boiler", "contactor.A1", "contactor.A2")
