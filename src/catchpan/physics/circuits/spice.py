"""Export of solved states as netlists for an independent circuit simulator.

Every state of a batch becomes one disconnected part of the deck, so a single run of the
simulator solves them all. The dialect is that of ngspice; a small-signal analysis at the line
frequency alone gives the phasors this package computes.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from catchpan.physics.circuits.branch import GROUND, LINE_HZ, OMEGA_RAD_S, Branch, Transformer
from catchpan.physics.circuits.island import LEAKAGE_S
from catchpan.physics.circuits.network import Network

QUADRATURE_HENRY = 1.0 / OMEGA_RAD_S
"""One ohm at the line frequency: a unit current in it makes a voltage a quarter turn ahead."""


@dataclass
class Deck:
    """Lines of a netlist under construction, and the names under which the simulator answers.

    ``node_names`` maps (state, node) to the simulator's node; ``current_names`` maps
    (state, branch id) to the zero-volt source whose current is that of the branch from a to b.
    """

    lines: list[str] = field(default_factory=list)
    node_names: dict[tuple[int, str], str] = field(default_factory=dict)
    current_names: dict[tuple[int, str], str] = field(default_factory=dict)

    def text(self, title: str, raw_file: str) -> str:
        """Return the deck; running it writes the answers as text into ``raw_file``."""
        control = [
            ".control",
            "set filetype=ascii",
            f"ac lin 1 {LINE_HZ} {LINE_HZ}",
            f"write {raw_file}",
            "quit",
            ".endc",
            ".end",
        ]
        return "\n".join([f"* {title}", *self.lines, *control, ""])


@dataclass(frozen=True)
class Meter:
    """A voltmeter left connected: two nodes and its input resistance [ohm]."""

    a: str
    b: str
    ohm: float


def deck(network: Network, levels: NDArray[np.uint8], meters: Sequence[Meter] = ()) -> Deck:
    """Write states of a network as a netlist.

    Parameters
    ----------
    network : Network
        The numbered circuit.
    levels : array of uint8, shape (B, branches)
        Level of each branch in each state; switch states are fixed by it.
    meters : sequence of Meter
        Voltmeters connected in every state.

    Returns
    -------
    Deck
        One disconnected part per state.

    Notes
    -----
    A level is a resistor in series with an inductor or a capacitor of the same impedance at the
    line frequency. An induced voltage in quadrature is made by a controlled current through an
    inductor of one ohm. A transformer is a controlled voltage in the secondary and a controlled
    current in the primary. Leakage to ground is written out as resistors.

    Source: ngspice manual, chapters on elementary devices and linear dependent sources (from
    memory); the circuit is ours.
    """
    made = Deck()
    for state, row in enumerate(levels):
        writer = _State(made, network, state)
        writer.leakage()
        for column, branch in enumerate(network.branches):
            writer.branch(branch, int(row[column]))
        for t in network.transformers:
            writer.primary(t)
        for k, meter in enumerate(meters):
            ends = f"{writer.node(meter.a)} {writer.node(meter.b)}"
            made.lines.append(f"rm{k}x{state} {ends} {meter.ohm!r}")
    return made


class _State:
    """Writer of one state into a deck."""

    def __init__(self, made: Deck, network: Network, state: int) -> None:
        self.made, self.network, self.state = made, network, state
        self._windings = {t.id: t for t in network.transformers}

    def node(self, name: str) -> str:
        """Return the simulator's name of a node."""
        if name == GROUND:
            return "0"
        return f"n{self.network.node(name)}x{self.state}"

    def leakage(self) -> None:
        """Write the leakage of every node, and note the nodes' names."""
        for name in self.network.nodes:
            if name != GROUND:
                node = self.node(name)
                self.made.node_names[self.state, name] = node
                self._add(f"rl{node} {node} 0 {1.0 / LEAKAGE_S!r}")

    def branch(self, branch: Branch, code: int) -> None:
        """Write one branch: current sense, resistance, reactance, sources, from a to b."""
        tag = f"{self.network.column[branch.id]}x{self.state}"
        self.made.current_names[self.state, branch.id] = f"vs{tag}"
        pieces = ["vs{tag} {a} {b} dc 0", *self._impedance(branch.levels[code].impedance_ohm)]
        if branch.emf_v:
            turn = np.degrees(np.angle(branch.emf_v))
            pieces.append(f"vd{{tag}} {{a}} {{b}} dc 0 ac {abs(branch.emf_v)!r} {float(turn)!r}")
        if branch.induced is not None and code == 0:
            pieces += self._induced(branch.induced, tag)
        if branch.id in self._windings:
            t = self._windings[branch.id]
            ends = f"{self.node(t.primary[0])} {self.node(t.primary[1])}"
            pieces.append(f"et{{tag}} {{a}} {{b}} {ends} {t.ratio!r}")
        points = [self.node(branch.a), *(f"m{k}b{tag}" for k in range(1, len(pieces)))]
        for piece, a, b in zip(pieces, points, [*points[1:], self.node(branch.b)], strict=True):
            self._add(piece.format(tag=tag, a=a, b=b))

    def primary(self, t: Transformer) -> None:
        """Write the current a transformer's load draws on its primary."""
        tag = f"{self.network.column[t.id]}x{self.state}"
        ends = f"{self.node(t.primary[0])} {self.node(t.primary[1])}"
        self._add(f"ft{tag} {ends} vs{tag} {-t.ratio!r}")

    def _impedance(self, ohm: complex) -> list[str]:
        pieces = []
        if ohm.real != 0.0 or ohm.imag == 0.0:
            pieces.append(f"rz{{tag}} {{a}} {{b}} {ohm.real!r}")
        if ohm.imag > 0.0:
            pieces.append(f"lz{{tag}} {{a}} {{b}} {ohm.imag / OMEGA_RAD_S!r}")
        if ohm.imag < 0.0:
            pieces.append(f"cz{{tag}} {{a}} {{b}} {-1.0 / (OMEGA_RAD_S * ohm.imag)!r}")
        return pieces

    def _induced(self, induced: tuple[str, complex], tag: str) -> list[str]:
        """Voltage gain times that across another branch, its imaginary part a quarter turn on."""
        other = self.network.branches[self.network.column[induced[0]]]
        ends, gain = f"{self.node(other.a)} {self.node(other.b)}", complex(induced[1])
        pieces = []
        if gain.real:
            pieces.append(f"ei{{tag}} {{a}} {{b}} {ends} {gain.real!r}")
        if gain.imag:
            self._add(f"gq{tag} 0 q{tag} {ends} 1")
            self._add(f"lq{tag} q{tag} 0 {QUADRATURE_HENRY!r}")
            pieces.append(f"eq{{tag}} {{a}} {{b}} q{tag} 0 {gain.imag!r}")
        return pieces

    def _add(self, line: str) -> None:
        self.made.lines.append(line)
