"""One galvanically connected part of a network, solved in batches by nodal analysis.

Transformers join islands magnetically only, so an island is solved once for each distinct row of
levels seen in it, whatever the rest of the network does; the results are kept.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from catchpan.physics.circuits.branch import GROUND, Branch

LEAKAGE_S = 1.0e-10
"""Conductance from every node to ground, so that a floating wire has a defined voltage."""

CHUNK = 1500

MOST_KEPT = 20_000
"""Solutions an island keeps before it forgets them all, about 30 MB."""

Number = TypeVar("Number", np.float64, np.complex128)


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
        self._entries = [self._stamp(br.a, br.b, br.a, br.b) for br in self.branches]
        self._induced = self._induced_stamps()
        self._sources = self._source_stamps()
        depth = max(len(br.levels) for br in self.branches)
        self._admittance = np.zeros((len(self.branches), depth), dtype=np.complex128)
        self._conductance = np.zeros((len(self.branches), depth))
        for e, br in enumerate(self.branches):
            for k, level in enumerate(br.levels):
                self._admittance[e, k] = level.admittance_s
                self._conductance[e, k] = 0.0 if br.emf_v else level.dc_conductance_s
        self._solved: NDArray[np.complex128] | None = None

    def incidence(self, a: str, b: str) -> NDArray[np.float64]:
        """Row vector picking ``v(a) - v(b)`` out of the node voltages, shape (n,)."""
        row = np.zeros(len(self.nodes))
        if a != GROUND:
            row[self._index[a]] += 1.0
        if b != GROUND:
            row[self._index[b]] -= 1.0
        return row

    def between(self, rows: NDArray[np.intp], a: str, b: str) -> NDArray[np.complex128]:
        """``v(a) - v(b)`` in the kept solutions of these rows, shape (B, 1 + ports)."""
        kept = self.solutions
        found = np.zeros((len(rows), 1 + len(self.ports)), dtype=np.complex128)
        if a != GROUND:
            found += kept[rows, self._index[a]]
        if b != GROUND:
            found -= kept[rows, self._index[b]]
        return found

    def _stamp(self, a: str, b: str, across_a: str, across_b: str) -> list[tuple[int, float]]:
        """Entries of the flat nodal matrix for a current a to b per volt across another pair."""
        n = len(self.nodes)
        return [
            (self._index[row] * n + self._index[column], sign * turn)
            for row, sign in ((a, 1.0), (b, -1.0))
            for column, turn in ((across_a, 1.0), (across_b, -1.0))
            if GROUND not in (row, column)
        ]

    def _induced_stamps(self) -> list[tuple[int, complex, list[tuple[int, float]]]]:
        """Per branch with an induced voltage: its position, level 0's transfer, its entries."""
        by_id = {br.id: br for br in self.branches}
        found = []
        for e, br in enumerate(self.branches):
            if br.induced is not None:
                other = by_id[br.induced[0]]
                transfer = -br.induced[1] * br.levels[0].admittance_s
                found.append((e, transfer, self._stamp(br.a, br.b, other.a, other.b)))
        return found

    def _source_stamps(self) -> list[tuple[int, complex, list[tuple[int, float]]]]:
        """Per branch with a source: its position, its volts, the nodes it drives."""
        found = []
        for e, br in enumerate(self.branches):
            emf = 1.0 if e == self.feed else br.emf_v
            if emf:
                ends = ((br.a, 1.0), (br.b, -1.0))
                drives = [(self._index[name], sign) for name, sign in ends if name != GROUND]
                found.append((e, emf, drives))
        return found

    def rows_of(self, levels: NDArray[np.uint8]) -> NDArray[np.intp]:
        """Index of each state's solution, solving those not met before.

        The indices hold until the next call, which may forget the oldest solutions.

        Parameters
        ----------
        levels : array of uint8, shape (B, E_all)
            Level of every branch of the whole network in each state.
        """
        if len(self._rows) > MOST_KEPT:
            self._rows.clear()
            self._solved = None
        mine = np.ascontiguousarray(levels[:, self.columns])
        known = len(self._rows)
        fresh: list[int] = []
        position = np.empty(len(mine), dtype=np.intp)
        for i, row in enumerate(_keys(mine)):
            found = self._rows.setdefault(row, known + len(fresh))
            if found == known + len(fresh):
                fresh.append(i)
            position[i] = found
        if fresh:
            self._append(self._solve(mine[fresh]))
        return position

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
        right = np.zeros((len(rows), len(self.nodes), 1 + len(self.ports)), dtype=np.complex128)
        for e, emf, drives in self._sources:
            pushed = (self._admittance[e] * emf)[rows[:, e]]
            for node, sign in drives:
                right[:, node, 0] += sign * pushed
        for k, (a, b) in enumerate(self.ports):
            right[:, :, 1 + k] = self.incidence(a, b)
        return np.asarray(np.linalg.solve(self.matrix(rows), right), dtype=np.complex128)

    def matrix(self, rows: NDArray[np.uint8]) -> NDArray[np.complex128]:
        """Nodal matrices (U, n, n) of the given level rows.

        Each is added up branch by branch, so that it is the same to the last bit whatever other
        rows are asked for.
        """
        flat = np.zeros((len(self.nodes) ** 2, len(rows)), dtype=np.complex128)
        self._add(flat, self._admittance, rows)
        for e, transfer, entries in self._induced:
            felt = np.where(rows[:, e] == 0, transfer, 0.0)
            for at, sign in entries:
                flat[at] += sign * felt
        return self._square(flat)

    def dc_matrix(self, rows: NDArray[np.uint8]) -> NDArray[np.float64]:
        """Conductance matrices (U, n, n) an ohmmeter sees with every source disconnected."""
        flat = np.zeros((len(self.nodes) ** 2, len(rows)))
        self._add(flat, self._conductance, rows)
        return self._square(flat)

    def _add(self, flat: NDArray[Number], table: NDArray[Number], rows: NDArray[np.uint8]) -> None:
        """Add every branch's own entries."""
        for e, entries in enumerate(self._entries):
            admittance = table[e][rows[:, e]]
            for at, sign in entries:
                if sign > 0.0:
                    flat[at] += admittance
                else:
                    flat[at] -= admittance

    def _square(self, flat: NDArray[Number]) -> NDArray[Number]:
        n = len(self.nodes)
        flat[:: n + 1] += LEAKAGE_S
        return np.ascontiguousarray(flat.T).reshape(-1, n, n)

    def feed_admittance(self, levels: NDArray[np.uint8]) -> NDArray[np.complex128]:
        """Admittance of the secondary winding that feeds the island, shape (B,)."""
        feed = 0 if self.feed is None else self.feed
        found: NDArray[np.complex128] = self._admittance[feed, levels[:, self.columns[feed]]]
        return found


def _keys(table: NDArray[np.uint8]) -> Iterator[bytes]:
    """Each row of a table of bytes, to look it up by."""
    raw, width = table.tobytes(), table.shape[1]
    return (raw[i * width : (i + 1) * width] for i in range(len(table)))


def distinct_rows(
    table: NDArray[np.uint8],
) -> tuple[NDArray[np.uint8], NDArray[np.intp]]:
    """Distinct rows of a table of bytes and, for each row, which distinct row it is."""
    width = table.shape[1]
    view = np.ascontiguousarray(table).view(np.dtype((np.void, width))).ravel()
    _, first, inverse = np.unique(view, return_index=True, return_inverse=True)
    return table[first], inverse.ravel()
