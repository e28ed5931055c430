"""Circuits against hand calculation and against the laws they must keep."""

import math
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.catalog.load import catalog
from catchpan.physics.circuits.branch import (
    CLOSED,
    GROUND,
    OPEN,
    Branch,
    Transformer,
    capacitive,
    inductive,
    resistive,
)
from catchpan.physics.circuits.island import LEAKAGE_S
from catchpan.physics.circuits.network import METER_OHM, Network, Solution
from catchpan.units.errors import UnknownName
from tests.physics.circuits import samples

MAINS = Branch("mains", "L", GROUND, (resistive(0.5),), emf_v=120.0 + 0.0j)


def divider() -> Network:
    """Draw the circuit of the name.

    mains  L-ground  120 V, 0.5 ohm
    switch L-M       closed or open
    load   M-ground  59.5 ohm
    """
    return samples.network(
        [
            MAINS,
            Branch("switch", "L", "M", (resistive(1e-6), OPEN), switches=True),
            Branch("load", "M", GROUND, (resistive(59.5),)),
        ]
    )


def test_divider_by_hand() -> None:
    """120 V over 60 ohm: 2 A, 119 V at the load."""
    net = divider()
    found = net.solve(samples.normal(net))
    assert found.amps("load")[0] == pytest.approx(2.0, rel=1e-6)
    assert abs(found.between("M", GROUND)[0]) == pytest.approx(119.0, rel=1e-6)


def test_open_switch_shows_the_source_and_a_closed_one_nothing() -> None:
    """Common practice, no source: hopscotch along the circuit."""
    net = divider()
    levels = np.array([[0, 0, 0], [0, 1, 0]], dtype=np.uint8)
    shown = net.voltmeter(net.solve(levels), "L", "M")
    assert shown == pytest.approx([0.0, 120.0], abs=1e-3)


def test_series_resonance_by_hand() -> None:
    """Coil and capacitor of equal reactance leave the resistance alone."""
    coil = inductive(100.0, 0.1, 1.0)
    farad = 1.0 / (2.0 * math.pi * 60.0 * coil.impedance_ohm.imag)
    found = samples.solved(
        [
            MAINS,
            Branch("coil", "L", "M", (coil,)),
            Branch("cap", "M", GROUND, (capacitive(farad),)),
        ]
    )
    assert found.amps("coil")[0] == pytest.approx(120.0 / (10.0 + 0.5 + 0.02), rel=1e-6)


def loaded_transformer(load_ohm: float) -> Solution:
    """Draw a 120 V to 27 V transformer with 0.9 ohm on the secondary."""
    return samples.solved(
        [
            Branch("mains", "L", GROUND, (resistive(0.001),), emf_v=120.0 + 0.0j),
            Branch("load", "R", "C", (resistive(load_ohm),)),
            Branch("bond", "C", GROUND, (resistive(0.01),)),
        ],
        [Transformer("t", ("L", GROUND), ("R", "C"), 27.0 / 120.0, (resistive(0.9),))],
    )


def test_transformer_by_hand() -> None:
    """27 V behind 0.9 ohm into 9 ohm: 2.727 A, and 0.225 of that from the line."""
    found = loaded_transformer(9.0)
    assert found.amps("load")[0] == pytest.approx(27.0 / 9.9, rel=1e-4)
    assert found.amps("mains")[0] == pytest.approx(27.0 / 9.9 * 0.225, rel=1e-4)


@given(st.floats(0.5, 1e5))
def test_transformer_passes_on_the_power_it_takes(load_ohm: float) -> None:
    """Power from the source is what load, windings and bond turn into heat."""
    found = loaded_transformer(load_ohm)
    assert power_lost(found) == pytest.approx(power_given(found), rel=1e-6)


def power_given(found: Solution) -> float:
    """Power all sources give [W]."""
    total = 0.0
    for branch in found.network.branches:
        current = found.network.branch_current(found, branch.id)[0]
        total -= float((branch.emf_v * np.conj(current)).real)
    return total


def power_lost(found: Solution) -> float:
    """Power turned to heat in all branches and in the leakage to ground [W]."""
    total = float(LEAKAGE_S * np.sum(np.abs(found.volts[0]) ** 2))
    for column, branch in enumerate(found.network.branches):
        ohm = branch.levels[found.levels[0, column]].impedance_ohm.real
        total += ohm * found.amps(branch.id)[0] ** 2
    return total


def imbalance(found: Solution) -> float:
    """Largest current at any node that does not leave it [A], in any state."""
    net = found.network
    at = np.zeros((len(found.levels), len(net.nodes)), dtype=np.complex128)
    for branch in net.branches:
        current = net.branch_current(found, branch.id)
        at[:, net.node(branch.a)] += current
        at[:, net.node(branch.b)] -= current
    for t in net.transformers:
        taken = -t.ratio * net.branch_current(found, t.id)
        at[:, net.node(t.primary[0])] += taken
        at[:, net.node(t.primary[1])] -= taken
    at += LEAKAGE_S * found.volts
    return float(np.abs(at[:, :-1]).max())


@pytest.mark.parametrize("name", sorted(catalog().archetypes))
def test_currents_balance_at_every_node_of_every_system(name: str) -> None:
    """Within the rounding of 240 V over a closed contact of 2 milliohm."""
    plant = samples.plant_with_faults(name)
    faults = samples.spread(plant.conditions, 40)
    found = samples.states_of(plant, faults, catalog().archetypes[name].demands)
    assert imbalance(found) < 1e-6


@st.composite
def nets(draw: st.DrawFn) -> list[Branch]:
    """Draw a resistive net of one source, a spanning path and switches across it."""
    size = draw(st.integers(2, 6))
    nodes = [*(f"n{i}" for i in range(size)), GROUND]
    ohms = st.floats(1.0, 1e4)
    branches = [Branch("source", "n0", GROUND, (resistive(1.0),), emf_v=100.0 + 0.0j)]
    branches += [
        Branch(f"path{i}", nodes[i], nodes[i + 1], (resistive(draw(ohms)), OPEN))
        for i in range(size)
    ]
    for k in range(draw(st.integers(0, 6))):
        a, b = draw(st.permutations(nodes))[:2]
        branches.append(Branch(f"extra{k}", a, b, (resistive(draw(ohms)), OPEN)))
    return branches


def rows(net: Network, opened: Sequence[Sequence[bool]]) -> np.ndarray:
    """Levels of states in which some branches (not the source) are open."""
    table = np.zeros((len(opened), len(net.branches)), dtype=np.uint8)
    for i, row in enumerate(opened):
        table[i, 1 : 1 + len(row)] = row
    return table


@given(nets(), st.data())
def test_opening_more_switches_never_raises_the_source_current(
    branches: list[Branch], data: st.DataObject
) -> None:
    """Rayleigh's monotonicity law for resistive nets."""
    net = samples.network(branches)
    flags = st.lists(st.booleans(), min_size=len(branches) - 1, max_size=len(branches) - 1)
    fewer, more = data.draw(flags), data.draw(flags)
    both = [a or b for a, b in zip(fewer, more, strict=True)]
    amps = net.solve(rows(net, [fewer, both])).amps("source")
    assert amps[1] <= amps[0] * (1 + 1e-9) + 1e-12


@given(nets(), st.randoms(use_true_random=False))
def test_order_of_branches_does_not_matter(branches: list[Branch], random: object) -> None:
    shuffled = list(branches)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    one, other = samples.solved(branches), samples.solved(shuffled)
    for branch in branches:
        assert one.amps(branch.id) == pytest.approx(other.amps(branch.id), rel=1e-9, abs=1e-12)


@given(nets(), st.data())
def test_batch_gives_to_the_last_bit_what_single_states_give(
    branches: list[Branch], data: st.DataObject
) -> None:
    flags = st.lists(st.booleans(), min_size=len(branches) - 1, max_size=len(branches) - 1)
    opened = data.draw(st.lists(flags, min_size=1, max_size=8))
    together = samples.network(branches)
    batch = together.solve(rows(together, opened)).volts
    for i, row in enumerate(opened):
        alone = samples.network(branches)
        assert np.array_equal(alone.solve(rows(alone, [row])).volts[0], batch[i])


def test_threads_that_ask_one_network_at_once_do_not_disturb_each_other() -> None:
    branches = [Branch("source", "n0", GROUND, (resistive(1.0),), emf_v=100.0 + 0.0j)]
    branches += [Branch(f"b{i}", f"n{i}", f"n{i + 1}", (resistive(5.0), OPEN)) for i in range(11)]
    branches.append(Branch("end", "n11", GROUND, (resistive(5.0), OPEN)))
    shared = samples.network(branches)
    states = np.random.default_rng(1).integers(0, 2, (4000, len(branches)), dtype=np.uint8)
    states[:, 0] = 0
    parts = np.array_split(states, 400)
    with ThreadPoolExecutor(8) as pool:
        found = np.concatenate([s.volts for s in pool.map(shared.solve, parts)])
    assert np.array_equal(found, samples.network(branches).solve(states).volts)


@given(nets())
def test_power_given_is_power_lost(branches: list[Branch]) -> None:
    found = samples.solved(branches)
    assert power_lost(found) == pytest.approx(power_given(found), rel=1e-9)


def test_meter_loads_a_weak_source() -> None:
    """100 V behind 10 megohm: an ordinary meter of 10 megohm shows half of it."""
    found = samples.solved(
        [Branch("weak", "A", GROUND, (resistive(METER_OHM),), emf_v=100.0 + 0.0j)]
    )
    shown = found.network.voltmeter(found, "A", GROUND)[0]
    assert shown == pytest.approx(50.0, rel=2e-3)


def test_ohmmeter_by_hand() -> None:
    """10 ohm beside 40 ohm, and 2 ohm in series: 10 ohm; over an open contact nothing."""
    net = samples.network(
        [
            Branch("ten", "A", "B", (resistive(10.0),)),
            Branch("forty", "A", "B", (resistive(40.0),)),
            Branch("two", "B", "D", (resistive(2.0),)),
            Branch("open", "D", "E", (OPEN,)),
        ]
    )
    levels = samples.normal(net)
    assert net.ohmmeter(levels, "A", "D")[0] == pytest.approx(10.0, rel=1e-6)
    assert math.isinf(net.ohmmeter(levels, "A", "E")[0])


def test_ohmmeter_finds_the_way_through_ground_between_islands() -> None:
    """3 ohm from one circuit to ground and 4 ohm from ground to the other."""
    net = samples.network(
        [
            Branch("three", "A", GROUND, (resistive(3.0),)),
            Branch("four", "B", GROUND, (resistive(4.0),)),
        ]
    )
    assert net.ohmmeter(samples.normal(net), "A", "B")[0] == pytest.approx(7.0, rel=1e-6)


def test_ohmmeter_does_not_look_back_through_the_source() -> None:
    """The load's 59.5 ohm and the closed switch, not the source's half ohm beside them."""
    net = divider()
    assert net.ohmmeter(samples.normal(net), "L", GROUND)[0] == pytest.approx(59.5, rel=1e-6)


def test_dead_network_has_no_voltage_and_no_current() -> None:
    net = divider()
    found = net.dead(samples.normal(net))
    assert np.abs(found.volts).max() == 0.0
    assert found.amps("mains")[0] == 0.0


def test_island_fed_by_two_transformers_is_refused() -> None:
    """Two secondaries in one circuit need phasing, which no residential control circuit has."""
    windings = [
        Transformer(name, ("L", GROUND), ("R", "C"), 0.2, (resistive(1.0),))
        for name in ("t1", "t2")
    ]
    with pytest.raises(UnknownName, match="t1, t2"):
        samples.network([MAINS, Branch("load", "R", "C", (CLOSED,))], windings)


def test_unknown_node_and_branch_are_named() -> None:
    net = divider()
    found = net.solve(samples.normal(net))
    with pytest.raises(UnknownName, match="'N'"):
        found.between("N", GROUND)
    with pytest.raises(UnknownName, match="'lode'"):
        found.amps("lode")
    with pytest.raises(UnknownName, match="'N'"):
        net.ohmmeter(found.levels, "N", "L")
