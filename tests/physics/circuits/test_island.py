"""Solutions are kept, forgotten when there are too many, and the same either way."""

import numpy as np
import pytest

from catchpan.physics.circuits import island
from catchpan.physics.circuits.branch import GROUND, OPEN, Branch, resistive
from catchpan.physics.circuits.network import Network
from tests.physics.circuits import samples


def ladder() -> Network:
    """Draw a source and six switched rungs."""
    rungs = [
        Branch(f"r{i}", "A", GROUND, (resistive(10.0 * (i + 1)), OPEN), switches=True)
        for i in range(6)
    ]
    source = Branch("source", "A", GROUND, (resistive(1.0),), emf_v=24.0 + 0.0j)
    return samples.network([source, *rungs])


def every_state() -> np.ndarray:
    """All 64 states of the ladder's switches."""
    bits = (np.arange(64)[:, None] >> np.arange(6)) & 1
    return np.concatenate([np.zeros((64, 1), dtype=int), bits], axis=1).astype(np.uint8)


def test_each_state_is_solved_once() -> None:
    net = ladder()
    net.solve(np.repeat(every_state(), 3, axis=0))
    net.solve(every_state()[::-1])
    assert len(net.islands[0].solutions) == 64


def test_forgetting_changes_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    states = every_state()
    expected = ladder().solve(states).volts
    monkeypatch.setattr(island, "MOST_KEPT", 10)
    monkeypatch.setattr(island, "CHUNK", 7)
    net = ladder()
    found = [net.solve(states[i : i + 5]).volts for i in range(0, 64, 5)]
    assert np.array_equal(np.concatenate(found), expected)
    assert len(net.islands[0].solutions) < 64


def test_conductances_add_up() -> None:
    """Six rungs in parallel: 1/10 + ... + 1/60 S; the source is disconnected."""
    net = ladder()
    matrix = net.islands[0].dc_matrix(samples.normal(net))
    rungs = sum(1.0 / (10.0 * (i + 1)) for i in range(6))
    assert matrix[0, 0, 0] == pytest.approx(rungs, rel=1e-9)


def test_nothing_solved_yet_is_an_empty_table() -> None:
    assert ladder().islands[0].solutions.shape == (0, 1, 1)
