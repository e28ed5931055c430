"""Running the independent circuit simulator on a deck and reading what it found."""

import shutil
import subprocess
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from catchpan.physics.circuits.network import Solution
from catchpan.physics.circuits.spice import Deck, deck

UNPACKED = Path(__file__).parents[3] / ".cache" / "bin" / "ngspice"
MISSING = (
    "these tests compare circuits with ngspice, and there is none: run python3 -m tools.ngspice"
)

VOLTS_FLOOR = 0.05
"""Voltages below 50 mV are not compared: conductors cut off at both ends, whose voltage hangs on
leakages of a tenth of a nanosiemens beside contacts of 500 S, which both solvers round."""

AMPS_FLOOR = 1.0e-5
"""Currents below 10 microampere are not compared: leakage over open contacts, no instrument of
the trade shows it."""


def program() -> str:
    """Find ngspice; a missing one fails the test."""
    found = shutil.which("ngspice") or (str(UNPACKED) if UNPACKED.exists() else None)
    if found is None:
        pytest.fail(MISSING)
    return found


def run(text: str, folder: Path) -> str:
    """Run a deck that writes ``answer.raw`` and return that file's text."""
    (folder / "deck.cir").write_text(text)
    said = subprocess.run(
        [program(), "-b", "deck.cir"], cwd=folder, capture_output=True, text=True, check=False
    )
    answer = folder / "answer.raw"
    if not answer.exists():
        pytest.fail(f"ngspice wrote no answer: {said.stdout[-800:]} {said.stderr[-800:]}")
    return answer.read_text()


def read_raw(text: str) -> dict[str, complex]:
    """Read the one point of a textual answer: vector name to phasor."""
    head, values = text.split("Values:", 1)
    names = [line.split()[1] for line in head.split("\nVariables:", 1)[1].strip().splitlines()]
    pairs = [field.split(",") for field in values.split()[1:]]
    return {
        name.lower(): complex(float(real), float(imaginary))
        for name, (real, imaginary) in zip(names, pairs, strict=True)
    }


def solve(made: Deck, folder: Path) -> Mapping[str, complex]:
    """Have the simulator solve a deck."""
    return read_raw(run(made.text("states of a plant", "answer.raw"), folder))


@dataclass(frozen=True)
class Comparison:
    """Magnitudes from both solvers, with their names, after the floors."""

    names: list[str]
    ours: np.ndarray
    theirs: np.ndarray

    @property
    def worst(self) -> float:
        """Largest relative difference of phasors."""
        return float(np.max(np.abs(self.ours - self.theirs) / np.abs(self.theirs)))

    def worst_name(self) -> str:
        """Which one that is."""
        return self.names[int(np.argmax(np.abs(self.ours - self.theirs) / np.abs(self.theirs)))]


def compare(solution: Solution, folder: Path) -> Comparison:
    """Solve the same states with the simulator and pair up everything above the floors."""
    made = deck(solution.network, solution.levels)
    found = solve(made, folder)
    rows: list[tuple[str, complex, complex]] = []
    for (state, node), name in made.node_names.items():
        theirs = found[f"v({name})"]
        ours = solution.volts[state, solution.network.node(node)]
        if max(abs(ours), abs(theirs)) > VOLTS_FLOOR:
            rows.append((f"{state}: volts at {node}", complex(ours), theirs))
    currents = {b: solution.network.branch_current(solution, b) for _, b in made.current_names}
    for (state, branch), name in made.current_names.items():
        theirs = found[f"i({name})"]
        ours = currents[branch][state]
        if max(abs(ours), abs(theirs)) > AMPS_FLOOR:
            rows.append((f"{state}: amps in {branch}", complex(ours), theirs))
    return Comparison(
        [row[0] for row in rows],
        np.array([row[1] for row in rows]),
        np.array([row[2] for row in rows]),
    )
