"""Where condensate goes: the chain from a plugged trap to a unit that stays off.

All common practice of the trade, no source, unless a test says otherwise.
"""

import pytest

from tests.plant.bench import CONDENSING, ELECTRIC, GAS, HEAT_PUMP, SYSTEMS, look, signal, to

OFF, RUNNING = 0.0, 2.0
PLUGGED = to("pan.trap_blocked", 1.0)
PRIMARY_FULL = to("pan.primary", 1.0)
AUX_FULL = to("pan.aux", 1.0)


@pytest.mark.parametrize("name", SYSTEMS)
def test_cooling_makes_water_and_it_leaves(name: str) -> None:
    state = look(name, "cool")
    assert signal(state, "drain.outlet_flow") == 1.0
    assert signal(state, "pan.backs_up") == 0.0
    assert signal(state, "spill.floor") == 0.0


@pytest.mark.parametrize("name", SYSTEMS)
@pytest.mark.parametrize("demand", ["off", "heat"])
def test_only_cooling_makes_water(name: str, demand: str) -> None:
    assert signal(look(name, demand), "pan.makes_water") == 0.0


def test_dry_air_makes_none() -> None:
    state = look(ELECTRIC, "cool", around={"indoor_rh": 0.2})
    assert signal(state, "compressor.state") == RUNNING
    assert signal(state, "pan.makes_water") == 0.0


@pytest.mark.parametrize("name", SYSTEMS)
def test_plugged_trap_fills_the_primary_pan_first(name: str) -> None:
    state = look(name, "cool", [PLUGGED], aux_pan="with_switch")
    assert signal(state, "pan.backs_up") == 1.0
    assert signal(state, "drain.outlet_flow") == 0.0
    assert signal(state, "spill.aux") == 0.0
    assert signal(state, "compressor.state") == RUNNING


@pytest.mark.parametrize("name", SYSTEMS)
def test_full_primary_pan_spills_into_the_auxiliary_pan(name: str) -> None:
    state = look(name, "cool", [PLUGGED, PRIMARY_FULL], aux_pan="with_switch")
    assert signal(state, "spill.aux") == 1.0
    assert signal(state, "spill.floor") == 0.0
    assert signal(state, "compressor.state") == RUNNING


@pytest.mark.parametrize("name", SYSTEMS)
def test_full_auxiliary_pan_trips_its_switch_before_the_floor_gets_wet(name: str) -> None:
    state = look(name, "cool", [PLUGGED, PRIMARY_FULL, AUX_FULL], aux_pan="with_switch")
    assert signal(state, "float_aux.tripped") == 1.0
    assert signal(state, "compressor.state") == OFF
    assert signal(state, "spill.floor") == 0.0


@pytest.mark.parametrize("name", SYSTEMS)
def test_cleared_trap_with_a_full_auxiliary_pan_stays_off(name: str) -> None:
    """The pan has no drain: what stands there holds its float up."""
    state = look(name, "cool", [AUX_FULL], aux_pan="with_switch")
    assert signal(state, "water.primary") == 0.0
    assert signal(state, "float_aux.tripped") == 1.0
    assert signal(state, "stat.display") == 0.0
    assert signal(state, "compressor.state") == OFF


@pytest.mark.parametrize("name", SYSTEMS)
def test_emptied_pan_lets_it_restart_after_its_delay(name: str) -> None:
    early = look(name, "cool", around={"since_power_s": 30.0}, aux_pan="with_switch")
    late = look(name, "cool", around={"since_power_s": 300.0}, aux_pan="with_switch")
    assert (signal(early, "stat.display"), signal(early, "compressor.state")) == (1.0, OFF)
    assert signal(early, "blower.state") == RUNNING
    assert signal(late, "compressor.state") == RUNNING


def test_clearing_the_way_empties_the_primary_pan() -> None:
    """The opposite of the auxiliary pan: what stands there drains by itself."""
    state = look(HEAT_PUMP, "cool", [PRIMARY_FULL], float_switch="in_r")
    assert signal(state, "water.primary") == 0.0
    assert signal(state, "compressor.state") == RUNNING


def test_auxiliary_pan_with_a_drain_shows_at_its_outlet() -> None:
    state = look(HEAT_PUMP, "cool", [PLUGGED, PRIMARY_FULL], aux_pan="with_drain")
    assert signal(state, "spill.secondary_outlet") == 1.0
    assert signal(state, "spill.floor") == 0.0


@pytest.mark.parametrize(("name", "on_furnace"), [(GAS, 1.0), (CONDENSING, 1.0), (ELECTRIC, 0.0)])
def test_coil_above_a_furnace_spills_into_it(name: str, on_furnace: float) -> None:
    state = look(name, "cool", [PLUGGED, PRIMARY_FULL])
    assert signal(state, "spill.floor") == 1.0
    assert signal(state, "spill.furnace") == on_furnace


@pytest.mark.parametrize("wired", ["pump_wired", "pump_unwired"])
def test_dead_pump_trips_its_safety_switch_only_where_it_is_wired(wired: str) -> None:
    dead = [to("pump.seized", 1.0), to("pump.reservoir", 1.0)]
    state = look(ELECTRIC, "cool", dead, drain=wired)
    assert signal(state, "pump.state") < RUNNING
    assert signal(state, "water.pump") == 1.0
    assert (signal(state, "compressor.state") == OFF) == (wired == "pump_wired")


def test_stuck_float_misses_the_water() -> None:
    effects = [PLUGGED, PRIMARY_FULL, to("float_primary.free", 0.0)]
    state = look(GAS, "cool", effects, float_switch="in_r")
    assert signal(state, "float_primary.tripped") == 0.0
    assert signal(state, "compressor.state") == RUNNING
    assert signal(state, "spill.floor") == 1.0


def test_iced_coil_thaws_when_the_compressor_rests() -> None:
    ice = [to("coil.ice", 1.0)]
    assert signal(look(ELECTRIC, "cool", ice), "coil.thaws") == 0.0
    assert signal(look(ELECTRIC, "fan", ice), "coil.thaws") == 1.0
    assert signal(look(ELECTRIC, "fan", ice), "spill.floor") == 1.0


def test_iced_coil_chokes_the_air() -> None:
    iced, clear = (look(ELECTRIC, "cool", e) for e in ([to("coil.ice", 1.0)], []))
    assert signal(iced, "air.flow_share") < 0.5 * signal(clear, "air.flow_share")
