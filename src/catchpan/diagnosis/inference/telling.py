"""Which checks would tell anything now: the others are not worth anybody's time."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from catchpan.diagnosis.inference.belief import Belief

LEAST_BITS: Final = 0.03
"""A look expected to tell less than this many bits is not proposed (assumed)."""

LIKELY_WORLDS: Final = 0.999


def told_bits(belief: Belief, *, on_phone: bool = False) -> dict[str, float]:
    """Return for every check how many bits its answer is expected to tell about the worlds.

    The mutual information of answer and world under the belief; 0 where the answer is the same
    in all worlds that still count, whatever people mistake.
    """
    kept, share = likely_worlds(belief.probabilities())
    side_by_side = belief.as_told_by("caller" if on_phone else "technician")
    bits = side_by_side.told_bits(share, kept)
    return dict(zip(side_by_side.spans, bits.tolist(), strict=True))


def likely_worlds(chance: NDArray[np.float64]) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Return the positions of the likeliest worlds that nearly make up all, and their shares of 1.

    What differs in the last bits alone is equal, so that every machine keeps the same worlds.

    Parameters
    ----------
    chance
        Shape (n_worlds,), sums to 1.
    """
    order = np.argsort(-chance.astype(np.float32), kind="stable")
    count = int(np.searchsorted(np.cumsum(chance[order]), LIKELY_WORLDS)) + 1
    kept = np.sort(order[:count])
    return kept, chance[kept] / chance[kept].sum()


def telling_of_conditions(belief: Belief) -> tuple[tuple[str, ...], NDArray[np.float64]]:
    """Return the checks, and how far each one's answer under a condition is from the usual one.

    Shape (n_conditions, n_checks), in bits, as the belief stands; 0 for a condition in none of the
    likeliest worlds.
    """
    kept, share = likely_worlds(belief.probabilities())
    side_by_side = belief.side_by_side
    table = side_by_side.table[kept]
    weight = belief.family.membership[kept].T * share
    mass = weight.sum(axis=1, keepdims=True)
    under = (weight @ table) / np.maximum(mass, 1e-300)
    surprise = under * np.log2(np.maximum(under, 1e-12) / (share @ table))
    return tuple(side_by_side.spans), np.add.reduceat(surprise, side_by_side.starts, axis=1)


def silent_checks(belief: Belief, *, on_phone: bool = False) -> frozenset[str]:
    """Return the checks that would tell next to nothing now, questions about danger excepted."""
    bits = told_bits(belief, on_phone=on_phone)
    checks = belief.family.checks
    return frozenset(
        name
        for name, told in bits.items()
        if told < LEAST_BITS
        and not checks[name].proof
        and not (checks[name].phone and any(o.danger for o in checks[name].outcomes))
    )
