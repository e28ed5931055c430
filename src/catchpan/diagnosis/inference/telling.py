"""Which checks would tell anything now: the others are not worth anybody's time."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.worlds.family import likelihood_table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from catchpan.diagnosis.inference.belief import Belief
    from catchpan.diagnosis.worlds.family import Family

LEAST_BITS: Final = 0.03
"""A look expected to tell less than this many bits is not proposed (assumed)."""

LIKELY_WORLDS: Final = 0.999


def told_bits(belief: Belief) -> dict[str, float]:
    """Return for every check how many bits its answer is expected to tell about the worlds.

    The mutual information of answer and world under the belief; 0 where the answer is the same
    in all worlds that still count, whatever people mistake.
    """
    family, chance = belief.family, belief.probabilities()
    order = np.argsort(-chance, kind="stable")
    count = int(np.searchsorted(np.cumsum(chance[order]), LIKELY_WORLDS)) + 1
    share = np.zeros(len(chance), dtype=np.float32)
    share[order[:count]] = chance[order[:count]] / chance[order[:count]].sum()
    answers, certain, starts = _tables(family)
    usual = (share @ answers).astype(np.float64)
    spread = np.add.reduceat(usual * np.log2(np.maximum(usual, 1e-300)), starts)
    told = np.maximum(share @ certain - spread, 0.0)
    return dict(zip(family.checks, told.tolist(), strict=True))


@lru_cache(maxsize=2)
def _tables(family: Family) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.intp]]:
    """Return all checks' tables side by side, sum p log2 p of each row of each, and the starts."""
    tables = [likelihood_table(family, check) for check in family.checks.values()]
    certain = [(t * np.log2(np.maximum(t, 1e-300))).sum(axis=1) for t in tables]
    starts = np.cumsum([0, *(t.shape[1] for t in tables[:-1])])
    side, own = np.hstack(tables), np.stack(certain, axis=1)
    return side.astype(np.float32), own.astype(np.float32), starts


def silent_checks(belief: Belief) -> frozenset[str]:
    """Return the checks that would tell next to nothing now, questions about danger excepted."""
    bits = told_bits(belief)
    checks = belief.family.checks
    return frozenset(
        name
        for name, told in bits.items()
        if told < LEAST_BITS
        and not checks[name].proof
        and not (checks[name].phone and any(o.danger for o in checks[name].outcomes))
    )
