"""One galvanically connected part of a network, solved in batches by nodal analysis.

Transformers join islands magnetically only, so an island is solved once for each distinct row of
levels seen in it, whatever the rest of the network does; the results are kept.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from catchpan.physics.circuits.branch import GROUND, Branch

LEAKAGE_S = 1.0e-10
"""Conductance from every node to ground, so that a floating wire has a defined voltage."""

CHUNK = 1500


@dataclass
class Island:
    """Branches of one island with their incidence, and the solutions found so far.

    Parameters
    ----------
    branches : sequence of Branch
        The branches; ``columns`` gives each one's column in the network's level table.
    columns : array of int, shape (E,)
        Column of each branch in the whole network's level table.
    ports : sequence of (str, str)
        Node pairs where a transformer's primary draws current.
    feed : int or None
        Position (within this island) of the secondary winding that feeds it.
    """

    branches: Sequence[Branch]
    columns: NDArray[np.intp]
    ports: Sequence[tuple[str, str]]
    feed: int | None
    nodes: list[str] = field(init=False)
    _rows: dict[bytes, int] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        names = {n for br in self.branches for n in (br.a, br.b)}
        names |= {n for pair in self.ports for n in pair}
        self.nodes = sorted(names - {GROUND})
        self._index = {name: i for i, name in enumerate(self.nodes)}
        self._stamp, self._source = self._stamps()
        depth = max(len(br.levels) for br in self.branches)
        self._admittance = np.zeros((len(self.branches), depth), dtype=np.complex128)
        self._conductance = np.zeros((len(self.branches), depth))
        for e, br in enumerate(self.branches):
            for k, level in enumerate(br.levels):
                self._admittance[e, k] = level.admittance_s
                self._conductance[e, k] = level.dc_conductance_s
        self._solved: NDArray[np.complex128] | None = None

    def incidence(self, a: str, b: str) -> NDArray[np.float64]:
        """Row vector picking ``v(a) - v(b)`` out of the node voltages, shape (n,)."""
        row = np.zeros(len(self.nodes))
        if a != GROUND:
            row[self._index[a]] += 1.0
        if b != GROUND:
            row[self._index[b]] -= 1.0
        return row

    def _stamps(self) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
        """Per branch: its contribution to the nodal matrix and to the source vector."""
        count, n = len(self.branches), len(self.nodes)
        by_id = {br.id: br for br in self.branches}
        stamp = np.zeros((count, 2, n * n), dtype=np.complex128)
        source = np.zeros((count, n), dtype=np.complex128)
        for e, br in enumerate(self.branches):
            row = self.incidence(br.a, br.b).astype(np.complex128)
            stamp[e, 1] = np.outer(row, row).ravel()
            sensed = row.copy()
            if br.induced is not None:
                other = by_id[br.induced[0]]
                sensed -= br.induced[1] * self.incidence(other.a, other.b)
            stamp[e, 0] = np.outer(row, sensed).ravel()
            emf = 1.0 if e == self.feed else br.emf_v
            source[e] = row * emf
        return stamp, source

    def rows_of(self, levels: NDArray[np.uint8]) -> NDArray[np.intp]:
        """Index of each state's solution, solving those not met before.

        Parameters
        ----------
        levels : array of uint8, shape (B, E_all)
            Level of every branch of the whole network in each state.
        """
        mine = np.ascontiguousarray(levels[:, self.columns])
        distinct, inverse = distinct_rows(mine)
        position = np.empty(len(distinct), dtype=np.intp)
        fresh: list[int] = []
        for i, row in enumerate(distinct):
            known = self._rows.get(row.tobytes())
            if known is None:
                known = len(self._rows)
                self._rows[row.tobytes()] = known
                fresh.append(i)
            position[i] = known
        if fresh:
            self._append(self._solve(distinct[fresh]))
        return position[inverse]

    @property
    def solutions(self) -> NDArray[np.complex128]:
        """Kept solutions, shape (rows, n, 1 + ports): per source, then per unit port current."""
        if self._solved is None:
            return np.zeros((0, len(self.nodes), 1 + len(self.ports)), dtype=np.complex128)
        return self._solved[: len(self._rows)]

    def _append(self, fresh: NDArray[np.complex128]) -> None:
        total = len(self._rows)
        if self._solved is None:
            self._solved = fresh
        elif total > len(self._solved):
            room = np.empty((max(2 * len(self._solved), total), *fresh.shape[1:]), np.complex128)
            room[: total - len(fresh)] = self._solved[: total - len(fresh)]
            self._solved = room
            self._solved[total - len(fresh) : total] = fresh
        else:
            self._solved[total - len(fresh) : total] = fresh

    def _solve(self, rows: NDArray[np.uint8]) -> NDArray[np.complex128]:
        parts = [self._solve_chunk(rows[i : i + CHUNK]) for i in range(0, len(rows), CHUNK)]
        return np.concatenate(parts)

    def _solve_chunk(self, rows: NDArray[np.uint8]) -> NDArray[np.complex128]:
        matrix, admittance = self.matrix(rows)
        n = len(self.nodes)
        right = np.zeros((len(rows), n, 1 + len(self.ports)), dtype=np.complex128)
        right[:, :, 0] = admittance @ self._source
        for k, (a, b) in enumerate(self.ports):
            right[:, :, 1 + k] = self.incidence(a, b)
        return np.linalg.solve(matrix, right)

    def matrix(
        self, rows: NDArray[np.uint8]
    ) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
        """Nodal matrices (U, n, n) and branch admittances (U, E) of the given level rows."""
        count, n = len(self.branches), len(self.nodes)
        admittance = self._admittance[np.arange(count), rows]
        moving = np.where(rows == 0, admittance, 0.0)
        flat = moving @ self._stamp[:, 0] + (admittance - moving) @ self._stamp[:, 1]
        matrix = flat.reshape(len(rows), n, n)
        matrix[:, np.arange(n), np.arange(n)] += LEAKAGE_S
        return matrix, admittance

    def dc_matrix(self, rows: NDArray[np.uint8]) -> NDArray[np.float64]:
        """Conductance matrices (U, n, n) an ohmmeter sees with every source dead."""
        count, n = len(self.branches), len(self.nodes)
        conductance = self._conductance[np.arange(count), rows]
        matrix = (conductance @ self._stamp[:, 1].real).reshape(len(rows), n, n)
        matrix[:, np.arange(n), np.arange(n)] += LEAKAGE_S
        return matrix

    def branch_admittance(self, levels: NDArray[np.uint8]) -> NDArray[np.complex128]:
        """Admittance of each branch of the island in each state, shape (B, E)."""
        return self._admittance[np.arange(len(self.branches)), levels[:, self.columns]]


def distinct_rows(
    table: NDArray[np.uint8],
) -> tuple[NDArray[np.uint8], NDArray[np.intp]]:
    """Distinct rows of a table of bytes and, for each row, which distinct row it is."""
    width = table.shape[1]
    view = np.ascontiguousarray(table).view(np.dtype((np.void, width))).ravel()
    _, first, inverse = np.unique(view, return_index=True, return_inverse=True)
    return table[first], inverse.ravel()
