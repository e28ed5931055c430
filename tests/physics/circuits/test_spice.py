"""Every circuit agrees with an independent simulator."""

from pathlib import Path

import numpy as np
import pytest

from catchpan.catalog.load import catalog
from catchpan.physics.circuits.branch import (
    GROUND,
    Branch,
    Transformer,
    capacitive,
    inductive,
    resistive,
)
from catchpan.physics.circuits.network import METER_OHM
from catchpan.physics.circuits.spice import Meter, deck
from tests.physics.circuits import ngspice, samples

FAULTS_PER_SYSTEM = 24
AGREEMENT = 1.0e-3

SOURCE = Branch("source", "L", GROUND, (resistive(0.04),), emf_v=120.0 + 0.0j)


@pytest.mark.parametrize("name", sorted(catalog().archetypes))
def test_whole_systems_agree_with_ngspice(name: str, tmp_path: Path) -> None:
    """Healthy and under single faults, in every demand; at least 300 points each system."""
    plant = samples.plant_with_faults(name)
    invented = [c for c in plant.conditions if " " in c]
    ours = [c for c in plant.conditions if " " not in c and plant.effects[c]]
    half = FAULTS_PER_SYSTEM // 2
    faults = [*samples.spread(invented, half), *samples.spread(ours or invented[1:], half)]
    found = ngspice.compare(
        samples.states_of(plant, faults, catalog().archetypes[name].demands), tmp_path
    )
    assert len(faults) == FAULTS_PER_SYSTEM
    assert len(found.names) >= 300
    assert found.worst < AGREEMENT, found.worst_name()


def test_enough_faults_over_all_systems() -> None:
    assert FAULTS_PER_SYSTEM * len(catalog().archetypes) >= 60


def test_induced_voltage_in_quadrature_agrees(tmp_path: Path) -> None:
    """A start winding with the voltage a turning rotor induces, and its run capacitor."""
    solution = samples.solved(
        [
            SOURCE,
            Branch("run", "L", GROUND, (inductive(17.0, 0.85, 0.8),)),
            Branch(
                "start", "S", GROUND, (inductive(12.0, 0.35, 2.4),), induced=("run", 0.3 + 1.2j)
            ),
            Branch("cap", "S", "L", (capacitive(40e-6),)),
        ]
    )
    found = ngspice.compare(solution, tmp_path)
    assert {name.split(" in ")[-1] for name in found.names} >= {"start", "cap", "run"}
    assert found.worst < 1e-8


def test_transformer_with_load_agrees(tmp_path: Path) -> None:
    """The load's current is reflected into the primary's source impedance."""
    solution = samples.solved(
        [
            Branch("source", "L", GROUND, (resistive(20.0),), emf_v=120.0 + 0.0j),
            Branch("load", "R", "C", (inductive(10.0, 0.6, 3.0),)),
            Branch("bond", "C", GROUND, (resistive(0.02),)),
        ],
        [Transformer("t", ("L", GROUND), ("R", "C"), 0.22, (resistive(0.9),))],
    )
    found = ngspice.compare(solution, tmp_path)
    assert len(found.names) == 5  # the bond carries nothing
    assert found.worst < 1e-8


@pytest.mark.parametrize("ohm", [10e6, 3000.0])
def test_ghost_voltage_under_a_real_meter_agrees(ohm: float, tmp_path: Path) -> None:
    """Our voltmeter computes the loading; the simulator has the meter's resistor in the circuit."""
    net = samples.network(
        [
            Branch("source", "R", GROUND, (resistive(0.9),), emf_v=24.0 + 0.0j),
            Branch("beside", "R", "Y", (capacitive(750e-12),)),
            Branch("other", "Y", GROUND, (capacitive(750e-12),)),
        ]
    )
    levels = samples.normal(net)
    made = deck(net, levels, [Meter("Y", GROUND, ohm)])
    theirs = ngspice.solve(made, tmp_path)[f"v({made.node_names[0, 'Y']})"]
    ours = net.voltmeter(net.solve(levels), "Y", GROUND, ohm)[0]
    assert ours == pytest.approx(abs(theirs), rel=1e-6)
    assert ours < 24.0 * (1.0 if ohm > 1e6 else 0.001)


METER_POINTS = [
    ("stat.Y", "stat.C"),
    ("ctl.R", "ctl.C"),
    ("contactor.L1", "contactor.L2"),
    ("contactor.L1", "contactor.T1"),
    ("contactor.A1", GROUND),
    ("stat.Y", "service.L1"),
]


@pytest.mark.parametrize("ohm", [METER_OHM, 3000.0])
@pytest.mark.parametrize(("a", "b"), METER_POINTS)
def test_voltmeter_on_a_whole_system_agrees(a: str, b: str, ohm: float, tmp_path: Path) -> None:
    """The meter's own resistor in the simulator's circuit; healthy and with four wires cut."""
    plant = samples.plant_with_faults("heat-pump-air-handler")
    cuts = ["open cable.Y", "open contactor.pole1", "open bond.C", "open out.C"]
    solution = samples.states_of(plant, cuts, ("fan", "cool"))
    near, far = plant.join.get(a, a), plant.join.get(b, b)
    made = deck(plant.network, solution.levels, [Meter(near, far, ohm)])
    found = ngspice.solve(made, tmp_path)
    ours = plant.network.voltmeter(solution, near, far, ohm)
    for state, shown in enumerate(ours):
        ends = [
            found[f"v({made.node_names[state, n]})"] if n != GROUND else 0.0 for n in (near, far)
        ]
        assert shown == pytest.approx(abs(ends[0] - ends[1]), rel=0.005, abs=0.01)


def test_comparison_notices_a_wrong_value(tmp_path: Path) -> None:
    """The same circuit with one voltage changed by half a percent does not pass."""
    solution = samples.solved([SOURCE, Branch("load", "L", GROUND, (resistive(50.0),))])
    spoilt = solution.volts * np.array([1.005, 1.0])
    changed = type(solution)(solution.network, solution.levels, spoilt)
    assert ngspice.compare(changed, tmp_path).worst > AGREEMENT


def test_missing_simulator_fails_with_a_message(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    monkeypatch.setattr(ngspice, "UNPACKED", Path("nowhere"))
    with pytest.raises(pytest.fail.Exception, match=r"tools\.ngspice"):
        ngspice.program()
