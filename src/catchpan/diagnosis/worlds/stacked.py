"""The likelihoods of all checks of a family side by side, made once: what mass work needs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from catchpan.diagnosis.worlds.family import likelihood_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from catchpan.diagnosis.worlds.family import Family


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
    """

    table: NDArray[np.float64]
    spans: Mapping[str, slice]
    starts: NDArray[np.intp]
    doubt_bits: NDArray[np.float64]

    def told_bits(
        self, chance: NDArray[np.float64], worlds: NDArray[np.intp] | None = None
    ) -> NDArray[np.float64]:
        """Mutual information of world and answer for every check, shape (n_checks,), in bits.

        Parameters
        ----------
        chance
            Probabilities that sum to 1, of all worlds or of those given.
        worlds
            Positions of the worlds that count; by default all.
        """
        if not self.spans:
            return np.zeros(0)
        table = self.table if worlds is None else self.table[worlds]
        doubt = self.doubt_bits if worlds is None else self.doubt_bits[worlds]
        usual = chance @ table
        spread = -np.add.reduceat(usual * np.log2(np.maximum(usual, 1e-300)), self.starts)
        result: NDArray[np.float64] = spread - chance @ doubt
        return result


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
