"""Coming to rest, or going round in a circle and being told so; the same in every batch."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from catchpan.physics.circuits.network import Solution
from catchpan.plant import settle as settling
from catchpan.plant.blueprint import BranchEffect
from catchpan.plant.part import Surroundings
from catchpan.plant.plant import Plant
from catchpan.plant.settle import State, settle
from tests.physics.circuits.samples import plant_with_faults
from tests.plant.bench import ELECTRIC, HEAT_PUMP, SYSTEMS, look, plant, short, signal

DEMANDS = ("off", "fan", "cool", "heat")
PLANTS = {name: plant_with_faults(name) for name in SYSTEMS}


@pytest.mark.parametrize("name", SYSTEMS)
@pytest.mark.parametrize("demand", DEMANDS)
def test_healthy_systems_come_to_rest(name: str, demand: str) -> None:
    assert not look(name, demand).chatters[0]


@pytest.mark.parametrize("name", SYSTEMS)
def test_weak_supply_makes_the_contactor_chatter(name: str) -> None:
    """The compressor's start drags the line, and with it the transformer, below drop-out."""
    state = look(name, "cool", [BranchEffect("service.leg1", "ohm", 3.0)])
    assert state.chatters[0]
    assert signal(state, "contactor.chatters") == 1.0
    assert {"contactor.coil", "contactor.pole1"} <= set(state.chattering)


@pytest.mark.parametrize("name", SYSTEMS)
def test_overloaded_transformer_makes_the_thermostat_go_on_and_off(name: str) -> None:
    """Its own call drags its own supply away."""
    state = look(name, "cool", [BranchEffect("transformer.secondary", "ohm", 20.0)])
    assert {"stat.Y"} <= set(state.chattering)


def test_call_into_a_short_takes_its_own_supply_away_and_chatters() -> None:
    """The switch that opens on its own action: G onto a short blanks the thermostat."""
    effects = [short("blower_relay.A1", "ctl.C")]
    state = look(ELECTRIC, "fan", effects)
    assert "stat.G" in state.chattering
    assert signal(state, "fuse_low.overload") > 1.5


def test_overload_is_the_worst_moment_of_a_chatter() -> None:
    built = plant(ELECTRIC, [short("contactor.A1", "contactor.A2")])
    state = settle(built, built.set_up([(), ("it",)]), Surroundings("cool"))
    assert state.chatters.tolist() == [False, True]
    felt = state.signals["fuse_low.overload"]
    assert felt[1] > 1.5 > felt[0]


def moments(built: Plant, name: str, demand: str) -> list[State]:
    """Settle one world of a plant alone and among others."""
    others = [(c,) for c in list(built.conditions)[:40]]
    alone = settle(built, built.set_up([(name,)]), Surroundings(demand))
    crowd = settle(built, built.set_up([*others, (name,)]), Surroundings(demand))
    return [alone, crowd]


def test_chattering_world_ends_at_the_same_moment_alone_and_in_a_crowd() -> None:
    built = PLANTS[HEAT_PUMP]
    weak = next(c for c in built.conditions if c == "worn service.leg1")
    alone, crowd = moments(built, weak, "cool")
    assert alone.chatters[0]
    assert crowd.chatters[-1]
    assert np.array_equal(alone.solution.volts[0], crowd.solution.volts[-1])


@settings(max_examples=12)
@given(st.sampled_from(SYSTEMS), st.sampled_from(DEMANDS), st.data())
def test_batch_gives_to_the_last_bit_what_single_worlds_give(
    name: str, demand: str, data: st.DataObject
) -> None:
    """Every voltage, every signal, every chatter, whatever else is in the batch."""
    built = PLANTS[name]
    world = st.lists(st.sampled_from(built.conditions), max_size=2, unique=True)
    worlds = data.draw(st.lists(world, min_size=2, max_size=6))
    batch = settle(built, built.set_up(worlds), Surroundings(demand))
    for i, conditions in enumerate(worlds):
        alone = settle(built, built.set_up([conditions]), Surroundings(demand))
        assert same_world(alone, batch, i)


def same_world(alone: State, batch: State, row: int) -> bool:
    """Whether a world settled alone equals a row of a batch exactly."""
    volts = np.array_equal(alone.solution.volts[0], batch.solution.volts[row])
    signals = all(
        np.array_equal(figure[0], batch.signals[name][row], equal_nan=True)
        for name, figure in alone.signals.items()
    )
    return volts and signals and alone.chatters[0] == batch.chatters[row]


def test_worlds_at_rest_are_left_alone_while_another_chatters(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of 60 worlds the circuit is solved a few times each, not in each of forty passes."""
    built = PLANTS[HEAT_PUMP]
    setup = built.set_up([("worn service.leg1",), *[()] * 59])
    sizes: list[int] = []
    solve = built.network.solve

    def counted(levels: NDArray[np.uint8]) -> Solution:
        sizes.append(len(levels))
        return solve(levels)

    monkeypatch.setattr(built.network, "solve", counted)
    state = settle(built, setup, Surroundings("cool"))
    assert state.chatters.sum() == 1
    assert len(sizes) <= settling.MOST_PASSES + 1
    assert sum(sizes) < 60 * 15


def test_endless_motion_is_cut_off_and_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """With too few passes for the longest sequence, what still moves counts as restless."""
    built = plant(HEAT_PUMP)
    monkeypatch.setattr(settling, "MOST_PASSES", 2)
    state = settle(built, built.set_up([("it",)]), Surroundings("cool"))
    assert state.chatters[0]


@pytest.mark.parametrize("name", SYSTEMS)
def test_without_power_nothing_is_live_and_every_relay_has_dropped_out(name: str) -> None:
    state = look(name, "cool").without_power
    assert np.abs(state.solution.volts).max() == 0.0
    assert signal(state, "contactor.pulled_in") == 0.0
    assert signal(state, "blower.state") == 0.0
    assert state.without_power is state


def test_dead_wire_and_dead_sources_agree() -> None:
    """Opening both legs and switching the sources off leave the same switches closed."""
    built = plant(HEAT_PUMP, [BranchEffect(f"service.leg{k}", "open") for k in (1, 2)])
    cut = settle(built, built.set_up([("it",)]), Surroundings("cool"))
    dead = settle(built, built.set_up([()]), Surroundings("cool"), powered=False)
    legs = [built.column[f"service.leg{k}"] for k in (1, 2)]
    differs = np.flatnonzero(cut.solution.levels[0] != dead.solution.levels[0])
    assert set(differs) <= set(legs)
