"""A numbered circuit: levels in, node voltages and branch currents out, in batches."""

from collections.abc import Sequence
from dataclasses import dataclass
from threading import Lock

import numpy as np
from numpy.typing import NDArray

from catchpan.physics.circuits.branch import GROUND, Branch, Circuit, Transformer
from catchpan.physics.circuits.island import Island, Number, distinct_rows
from catchpan.units.errors import UnknownName

OL_OHM = 4.0e7
"""Above this an ordinary meter shows no reading (over limit)."""

METER_OHM = 1.0e7
"""Input resistance of an ordinary digital voltmeter."""


@dataclass(frozen=True)
class Solution:
    """Node voltages of a batch of states: ``volts`` has shape (B, nodes), ground last.

    ``live`` tells whether the sources drive the circuit.
    """

    network: "Network"
    levels: NDArray[np.uint8]
    volts: NDArray[np.complex128]
    live: bool = True

    def between(self, a: str, b: str) -> NDArray[np.complex128]:
        """Phasor voltage from ``b`` to ``a`` [V], shape (B,)."""
        return self.volts[:, self.network.node(a)] - self.volts[:, self.network.node(b)]

    def amps(self, branch_id: str) -> NDArray[np.float64]:
        """Read the current through a branch as a clamp meter shows it [A rms], shape (B,)."""
        return np.abs(self.network.branch_current(self, branch_id))


class Network:
    """A circuit numbered for solving; several threads may ask one network at once.

    Parameters
    ----------
    circuit : Circuit
        Branches and transformers. Every transformer secondary feeds an island of its own, whose
        only source it is; all other sources lie in the islands of the primaries.
    """

    def __init__(self, circuit: Circuit) -> None:
        self.transformers: tuple[Transformer, ...] = tuple(circuit.transformers)
        windings = [
            Branch(t.id, t.secondary[0], t.secondary[1], t.levels) for t in self.transformers
        ]
        self.branches: tuple[Branch, ...] = (*circuit.branches, *windings)
        self.column = {br.id: i for i, br in enumerate(self.branches)}
        self.islands = self._split()
        names = [name for island in self.islands for name in island.nodes]
        self._node = {name: i for i, name in enumerate(names)}
        self._node[GROUND] = len(names)
        self._fed_by = self._feeds()
        self._turn = Lock()

    @property
    def nodes(self) -> tuple[str, ...]:
        """All node names, ground last, in the order of a solution's columns."""
        return tuple(self._node)

    def node(self, name: str) -> int:
        """Column of a node; raises UnknownName."""
        try:
            return self._node[name]
        except KeyError:
            raise UnknownName("node", name, tuple(self._node)) from None

    def _split(self) -> list[Island]:
        root = _components(self.branches)
        groups: dict[str, list[int]] = {}
        for i, br in enumerate(self.branches):
            groups.setdefault(_island_key(root, br), []).append(i)
        windings = {t.id: t for t in self.transformers}
        islands = []
        for key, members in groups.items():
            ports = [t.primary for t in self.transformers if _pair_key(root, t.primary) == key]
            feeds = [k for k, i in enumerate(members) if self.branches[i].id in windings]
            if len(feeds) > 1:
                names = ", ".join(self.branches[members[k]].id for k in feeds)
                raise UnknownName("single feed of an island fed by", names, ())
            islands.append(
                Island(
                    [self.branches[i] for i in members],
                    np.array(members, dtype=np.intp),
                    ports,
                    feeds[0] if feeds else None,
                )
            )
        return islands

    def _feeds(self) -> list[tuple[int, int, int]]:
        """Per transformer: (island of its primary, port there, island of its secondary)."""
        found = []
        for t in self.transformers:
            source = next(i for i, isl in enumerate(self.islands) if t.primary in isl.ports)
            port = list(self.islands[source].ports).index(t.primary)
            fed = next(
                i
                for i, isl in enumerate(self.islands)
                if isl.feed is not None and isl.branches[isl.feed].id == t.id
            )
            found.append((source, port, fed))
        return found

    def solve(self, levels: NDArray[np.uint8]) -> Solution:
        """Voltages of every node in every state.

        Parameters
        ----------
        levels : array of uint8, shape (B, branches)
            Level of each branch in each state.
        """
        with self._turn:  # the islands keep and forget what they solved
            return Solution(self, levels, self._volts(levels))

    def _volts(self, levels: NDArray[np.uint8]) -> NDArray[np.complex128]:
        rows = [island.rows_of(levels) for island in self.islands]
        primary = self._primary_volts(levels, rows)
        volts = np.zeros((len(levels), len(self._node)), dtype=np.complex128)
        start = 0
        for i, island in enumerate(self.islands):
            found = island.solutions[rows[i]]
            block = found[:, :, 0].copy()
            for k, (source, port, fed) in enumerate(self._fed_by):
                if fed == i:
                    block = block * (self.transformers[k].ratio * primary[:, k])[:, None]
                elif source == i:
                    drawn = self._reflected(k, levels, rows) * primary[:, k]
                    block = block - found[:, :, 1 + port] * drawn[:, None]
            volts[:, start : start + len(island.nodes)] = block
            start += len(island.nodes)
        return volts

    def dead(self, levels: NDArray[np.uint8]) -> Solution:
        """Return the solution with every source dead: no voltage anywhere.

        Parameters
        ----------
        levels : array of uint8, shape (B, branches)
            Level of each branch in each state.
        """
        volts = np.zeros((len(levels), len(self._node)), dtype=np.complex128)
        return Solution(self, levels, volts, live=False)

    def _reflected(
        self, k: int, levels: NDArray[np.uint8], rows: Sequence[NDArray[np.intp]]
    ) -> NDArray[np.complex128]:
        """Admittance the transformer's load shows on its primary [S], shape (B,)."""
        fed = self._fed_by[k][2]
        island, t = self.islands[fed], self.transformers[k]
        across = island.between(rows[fed], *t.secondary)[:, 0]
        winding = island.feed_admittance(levels)
        reflected: NDArray[np.complex128] = t.ratio**2 * winding * (1.0 - across)
        return reflected

    def _primary_volts(
        self, levels: NDArray[np.uint8], rows: Sequence[NDArray[np.intp]]
    ) -> NDArray[np.complex128]:
        """Voltage on each transformer's primary with all loads connected, shape (B, T)."""
        count = len(self.transformers)
        system = np.zeros((len(levels), count, count), dtype=np.complex128)
        system[:, np.arange(count), np.arange(count)] = 1.0
        unloaded = np.zeros((len(levels), count, 1), dtype=np.complex128)
        for k, (source, _, _) in enumerate(self._fed_by):
            island = self.islands[source]
            found = island.between(rows[source], *self.transformers[k].primary)
            unloaded[:, k, 0] = found[:, 0]
            for j, (other, port, _) in enumerate(self._fed_by):
                if other == source:
                    system[:, k, j] += found[:, 1 + port] * self._reflected(j, levels, rows)
        if count == 0:
            return np.zeros((len(levels), 0), dtype=np.complex128)
        return np.asarray(np.linalg.solve(system, unloaded)[:, :, 0], dtype=np.complex128)

    def branch_current(self, solution: Solution, branch_id: str) -> NDArray[np.complex128]:
        """Phasor current from ``a`` to ``b`` through a branch [A], shape (B,)."""
        if branch_id not in self.column:
            raise UnknownName("branch", branch_id, tuple(self.column))
        column = self.column[branch_id]
        branch = self.branches[column]
        codes = solution.levels[:, column]
        admittance = np.array([level.admittance_s for level in branch.levels])[codes]
        across = solution.between(branch.a, branch.b) - branch.emf_v * solution.live
        for k, t in enumerate(self.transformers):
            if t.id == branch_id:
                across = across - self.transformers[k].ratio * solution.between(*t.primary)
        if branch.induced is not None:
            other = self.branches[self.column[branch.induced[0]]]
            induced = branch.induced[1] * solution.between(other.a, other.b)
            across = across - np.where(codes == 0, induced, 0.0)
        current: NDArray[np.complex128] = admittance * across
        return current

    def voltmeter(
        self, solution: Solution, a: str, b: str, meter_ohm: float = METER_OHM
    ) -> NDArray[np.float64]:
        """Read a voltmeter of finite input resistance between two points [V rms].

        On an open conductor that runs beside a live one the reading is the ghost voltage that
        the cable's capacitance lets through; a meter of low input resistance pulls it down.
        """
        source = self.source_impedance(solution.levels, a, b)
        return np.abs(solution.between(a, b) * meter_ohm / (meter_ohm + source))

    def source_impedance(self, levels: NDArray[np.uint8], a: str, b: str) -> NDArray[np.complex128]:
        """Impedance seen into two points with the sources dead [ohm], shape (B,).

        Within one island exact but for the feeding transformer's primary side, which is below an
        ohm; between islands the sum of each point's impedance to ground.
        """
        total = np.zeros(len(levels), dtype=np.complex128)
        for island, near, far in self._legs(a, b):
            rows, inverse = distinct_rows(levels[:, island.columns])
            total += _driving_point(island.matrix(rows), island.incidence(near, far))[inverse]
        return total

    def ohmmeter(self, levels: NDArray[np.uint8], a: str, b: str) -> NDArray[np.float64]:
        """Resistance between two points with the power off [ohm], shape (B,); inf is over limit.

        The sources count as disconnected, as they are behind the switch that takes the power off.
        Between points of two islands the current goes through ground.
        """
        total = np.zeros(len(levels))
        for island, near, far in self._legs(a, b):
            rows, inverse = distinct_rows(levels[:, island.columns])
            total += _driving_point(island.dc_matrix(rows), island.incidence(near, far))[inverse]
        return np.where(total > OL_OHM, np.inf, total)

    def _legs(self, a: str, b: str) -> list[tuple[Island, str, str]]:
        """Where a test current flows: per island, the two nodes between which it does."""
        self.node(a)
        self.node(b)
        legs = []
        for island in self.islands:
            near, far = (n if n in island.nodes else GROUND for n in (a, b))
            if near != far:
                legs.append((island, near, far))
        return legs


def _driving_point(matrix: NDArray[Number], sense: NDArray[np.float64]) -> NDArray[Number]:
    """Voltage across two nodes per unit current sent through them, shape (U,)."""
    right = np.broadcast_to(sense[:, None], (len(matrix), len(sense), 1))
    volts = np.linalg.solve(matrix, right)[:, :, 0]
    return np.asarray((volts * sense).sum(axis=1), dtype=matrix.dtype)


def _components(branches: Sequence[Branch]) -> dict[str, str]:
    """Union-find over nodes; ground belongs to no island."""
    parent: dict[str, str] = {}

    def find(name: str) -> str:
        parent.setdefault(name, name)
        while parent[name] != name:
            parent[name] = parent[parent[name]]
            name = parent[name]
        return name

    for br in branches:
        for name in (br.a, br.b):
            find(name)
        if GROUND not in (br.a, br.b):
            parent[find(br.a)] = find(br.b)
    return {name: find(name) for name in parent}


def _pair_key(root: dict[str, str], pair: tuple[str, str]) -> str:
    return root[pair[0] if pair[0] != GROUND else pair[1]]


def _island_key(root: dict[str, str], branch: Branch) -> str:
    return _pair_key(root, (branch.a, branch.b))
