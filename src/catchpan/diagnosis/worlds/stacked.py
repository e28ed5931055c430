"""The likelihoods of all checks of a family side by side, made once: what mass work needs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.worlds.family import likelihood_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from catchpan.diagnosis.worlds.family import Family

ALL: Final = slice(None)


@dataclass(frozen=True, eq=False)
class Apart:
    """Worlds that have other likelihoods than those of the table.

    Parameters
    ----------
    worlds
        Their positions, ascending.
    rows
        Shape (so many, n_columns).
    """

    worlds: NDArray[np.intp]
    rows: NDArray[np.float64]

    def among(self, worlds: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
        """Return where in some worlds they are, and their rows there."""
        held = np.flatnonzero(np.isin(worlds, self.worlds))
        return held, self.rows[np.searchsorted(self.worlds, worlds[held])]


@dataclass(frozen=True, eq=False)
class Stacked:
    """Likelihoods side by side.

    Parameters
    ----------
    table
        Shape (n_worlds, n_columns): P(outcome | world), a column for each outcome of each check.
    spans
        The columns of each check.
    starts
        Shape (n_checks,): first column of each check, in the order of ``spans``.
    doubt_bits
        Shape (n_worlds, n_checks): entropy of the answer in each world, in bits.
    apart
        The worlds that have other likelihoods than those of the table, if any.
    """

    table: NDArray[np.float64]
    spans: Mapping[str, slice]
    starts: NDArray[np.intp]
    doubt_bits: NDArray[np.float64]
    apart: Apart | None = None

    def at(
        self, worlds: NDArray[np.intp], columns: NDArray[np.intp] | slice = ALL
    ) -> NDArray[np.float64]:
        """Shape (worlds, columns): the likelihoods of some worlds, all columns or some."""
        if isinstance(columns, slice):
            found = self.table[:, columns][worlds]
        else:
            found = self.table[np.ix_(worlds, columns)]
        if self.apart is not None:
            held, rows = self.apart.among(worlds)
            found[held] = rows[:, columns]
        return found

    def _doubt_at(self, worlds: NDArray[np.intp]) -> NDArray[np.float64]:
        found = self.doubt_bits[worlds]
        if self.apart is not None:
            held, rows = self.apart.among(worlds)
            each = rows * np.log2(np.maximum(rows, 1e-300))
            found[held] = -np.add.reduceat(each, self.starts, axis=1)
        return found

    def told_bits(
        self, chance: NDArray[np.float64], worlds: NDArray[np.intp] | None = None
    ) -> NDArray[np.float64]:
        """Mutual information of world and answer for every check, shape (n_checks,), in bits.

        Parameters
        ----------
        chance
            Probabilities that sum to 1, of all worlds or of those given.
        worlds
            Positions of the worlds that count; by default all, and none of them apart.
        """
        if not self.spans:
            return np.zeros(0)
        table = self.table if worlds is None else self.at(worlds)
        doubt = self.doubt_bits if worlds is None else self._doubt_at(worlds)
        usual = chance @ table
        spread = -np.add.reduceat(usual * np.log2(np.maximum(usual, 1e-300)), self.starts)
        result: NDArray[np.float64] = spread - chance @ doubt
        return result

    def replaced(self, tables: Mapping[str, NDArray[np.float64]]) -> Stacked:
        """Return it with other likelihoods for some checks; itself where there are none."""
        if not tables:
            return self
        table, doubt = self.table.copy(), self.doubt_bits.copy()
        place = {check_id: j for j, check_id in enumerate(self.spans)}
        for check_id, own in tables.items():
            table[:, self.spans[check_id]] = own
            doubt[:, place[check_id]] = -(own * np.log2(np.maximum(own, 1e-300))).sum(axis=1)
        return replace(self, table=table, doubt_bits=doubt)


@lru_cache(maxsize=2)
def stacked(family: Family) -> Stacked:
    """Return the stacked likelihoods; made on the first call, then remembered."""
    spans: dict[str, slice] = {}
    tables, column = [np.ones((len(family.worlds), 0))], 0
    for check_id, check in sorted(family.checks.items()):
        tables.append(likelihood_table(family, check))
        spans[check_id] = slice(column, column + tables[-1].shape[1])
        column = spans[check_id].stop
    table = np.hstack(tables)
    starts = np.array([s.start for s in spans.values()], dtype=np.intp)
    each = table * np.log2(np.maximum(table, 1e-300))
    doubt = -np.add.reduceat(each, starts, axis=1) if spans else np.zeros((len(table), 0))
    return Stacked(table, spans, starts, doubt)
