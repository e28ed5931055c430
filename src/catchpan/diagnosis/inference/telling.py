"""Which checks would tell anything now: the others are not worth anybody's time."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from catchpan.diagnosis.inference.belief import Belief

LEAST_BITS: Final = 0.03
"""A look expected to tell less than this many bits is not proposed (assumed)."""

LIKELY_WORLDS: Final = 0.999


def told_bits(belief: Belief) -> dict[str, float]:
    """Return for every check how many bits its answer is expected to tell about the worlds.

    The mutual information of answer and world under the belief; 0 where the answer is the same
    in all worlds that still count, whatever people mistake.
    """
    chance = belief.probabilities()
    # what differs in the last bits alone is equal, so that every machine keeps the same worlds
    order = np.argsort(-chance.astype(np.float32), kind="stable")
    count = int(np.searchsorted(np.cumsum(chance[order]), LIKELY_WORLDS)) + 1
    kept = np.sort(order[:count])
    side_by_side = belief.side_by_side
    bits = side_by_side.told_bits(chance[kept] / chance[kept].sum(), kept)
    return dict(zip(side_by_side.spans, bits.tolist(), strict=True))


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
