"""Causes taken together as a technician takes them: by part, and by the repair that mends them.

Sibling faults (a capacitor weak or dead, a drain plugged at trap or line) share out one suspicion
among them; the part that is at fault, or the repair that puts it right, may be far surer than any
single cause. Shares are exact: the probability that at least one root of the group is there.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from catchpan.diagnosis.inference.causes import Share, part_of
from catchpan.diagnosis.worlds.family import OTHER, ROOT

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from catchpan.diagnosis.inference.belief import Belief
    from catchpan.diagnosis.worlds.family import Family

Weighted = tuple[float, "Belief"]
"""The share of a system it may be, and the belief about its worlds."""


@lru_cache(maxsize=8)
def root_matrix(family: Family) -> tuple[NDArray[np.float32], tuple[str, ...]]:
    """Shape (n_worlds, n_roots): which roots each world holds; and the roots, in sorted order."""
    held = [
        [c for c in w.conditions if c != OTHER and part_of(family, w, c) == ROOT]
        for w in family.worlds
    ]
    names = sorted({c for some in held for c in some})
    column = {name: j for j, name in enumerate(names)}
    matrix = np.zeros((len(held), len(names)), dtype=np.float32)
    for i, some in enumerate(held):
        matrix[i, [column[c] for c in some]] = 1.0
    return matrix, tuple(names)


def shares_of_parts(
    beliefs: Sequence[Weighted], part_of_root: Mapping[str, str]
) -> tuple[Share, ...]:
    """Return for every part the probability that a root of it is there, the likeliest first.

    Parameters
    ----------
    beliefs : sequence of (float, Belief)
        The systems it may be, with shares that sum to 1.
    part_of_root : mapping of str to str
        The part each root belongs to.
    """
    total: dict[str, float] = {}
    for weight, belief in beliefs:
        matrix, names = root_matrix(belief.family)
        parts = sorted({part_of_root[name] for name in names})
        joins = np.array([[part_of_root[name] == p for p in parts] for name in names])
        each = weight * (belief.probabilities() @ (matrix @ joins > 0.0))
        for part, share in zip(parts, each.tolist(), strict=True):
            total[part] = total.get(part, 0.0) + share
    return _ranked(total)


def shares_of_repairs(
    beliefs: Sequence[Weighted], fixes: Mapping[str, frozenset[str]], limit: int = 3
) -> tuple[Share, ...]:
    """Return the repairs that together are likeliest to hit, the best first, at most ``limit``.

    The share of each is the probability that it removes a root that is there where those before
    it would have removed none; so the shares sum to the chance that one of them hits.

    Parameters
    ----------
    beliefs : sequence of (float, Belief)
        The systems it may be, with shares that sum to 1.
    fixes : mapping of str to frozenset of str
        The conditions each repair removes; the first of two that do equally well is taken.
    """
    hits = {repair: [_hit(belief, removed) for _, belief in beliefs] for repair, removed in
            fixes.items()}  # fmt: skip
    left = [weight * belief.probabilities() for weight, belief in beliefs]
    found: list[Share] = []
    while len(found) < limit and hits:
        gain = {
            repair: sum(float(p[h].sum()) for p, h in zip(left, hit, strict=True))
            for repair, hit in hits.items()
        }
        best = max(gain, key=gain.__getitem__)
        if gain[best] <= 0.0:
            break
        found.append(Share(best, gain[best]))
        for p, hit in zip(left, hits.pop(best), strict=True):
            p[hit] = 0.0
    return tuple(found)


def share_of_any(beliefs: Sequence[Weighted], roots: frozenset[str]) -> float:
    """Probability that at least one of some roots is there, 0 to 1."""
    held = ((w, b.probabilities()[_hit(b, roots)]) for w, b in beliefs)
    return min(sum(weight * float(chance.sum()) for weight, chance in held), 1.0)


def _hit(belief: Belief, roots: frozenset[str]) -> NDArray[np.bool_]:
    """Shape (n_worlds,): does the world hold one of the roots."""
    matrix, names = root_matrix(belief.family)
    columns = [j for j, name in enumerate(names) if name in roots]
    return np.asarray(matrix[:, columns].any(axis=1))


def _ranked(shares: Mapping[str, float]) -> tuple[Share, ...]:
    return tuple(
        sorted((Share(k, v) for k, v in shares.items()), key=lambda s: (-s.probability, s.id))
    )
