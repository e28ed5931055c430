"""What is not worth anybody's time now: looks that tell nothing, tries that mend nothing.

Left out before anything is priced. These are rules, not costs: what they leave out is either
silent, useless or undone at once, and proposing it costs trust that no price holds.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.inference.telling import silent_checks

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from catchpan.diagnosis.inference.belief import Belief
    from catchpan.diagnosis.planning.practice import Practice
    from catchpan.diagnosis.planning.situation import Situation
    from catchpan.diagnosis.worlds.family import Family

WORTH_TRYING: Final = 0.03
"""Share from which a try is worth a caller's trouble (assumed)."""

WORTH_DOING: Final = 0.005
"""Share from which a repair is worth a technician's time, however cheap it is (assumed)."""


def not_worthwhile(belief: Belief, situation: Situation, practice: Practice) -> frozenset[str]:
    """Return the checks and repairs that are not worth proposing in this situation.

    Looks that tell nothing or heat a hot house, repairs that would be undone at once or mend
    nothing; on the phone also questions answered in other words.
    """
    on_phone = situation.on_phone
    left_out = silent_checks(belief, on_phone=on_phone) | idle_repairs(belief, on_phone=on_phone)
    left_out |= practice.other_season | premature_repairs(belief, practice.returning)
    if on_phone:
        left_out |= practice.answered_alike(situation.done)
    return left_out


def idle_repairs(belief: Belief, *, on_phone: bool) -> frozenset[str]:
    """Return the repairs that hardly any world needs; on the phone all, once the system works.

    A try costs little, but each one that cannot help costs trust.
    """
    family = belief.family
    least = WORTH_TRYING if on_phone else WORTH_DOING
    share = _touched(family) @ belief.probabilities()
    none = on_phone and bool(belief.verdict)
    return frozenset(
        r for r, x in zip(family.repairs, share.tolist(), strict=True) if none or x < least
    )


def premature_repairs(belief: Belief, returning: frozenset[str]) -> frozenset[str]:
    """Return repairs that would be undone at once: a fuse while the short is likelier than not.

    A repair is premature where most of what it removes would arise again as soon as the system is
    run, because the root behind it is still there.

    Parameters
    ----------
    returning : frozenset of str
        The conditions that arise again at once.
    """
    family, chance = belief.family, belief.probabilities()
    rows, undone = _undone(family, returning)
    needed = _touched(family)[rows] @ chance
    names = list(family.repairs)
    early = undone @ chance > 0.5 * needed
    return frozenset(names[row] for row, soon in zip(rows, early, strict=True) if soon)


@lru_cache(maxsize=4)
def _touched(family: Family) -> NDArray[np.float64]:
    """Shape (n_repairs, n_worlds): 1 where the repair has something to remove."""
    rows = [_any_of(family, r.fixes) for r in family.repairs.values()]
    return np.array(rows, dtype=np.float64).reshape(len(rows), len(family.worlds))


@lru_cache(maxsize=32)
def _undone(family: Family, returning: frozenset[str]) -> tuple[list[int], NDArray[np.float64]]:
    """Return the repairs of what arises at once, and where each would be undone by a root."""
    quick = [(k, r) for k, r in enumerate(family.repairs.values()) if r.fixes & returning]
    rows = [
        _any_of(family, r.fixes & returning) & [bool(w.roots - r.fixes) for w in family.worlds]
        for _, r in quick
    ]
    table = np.array(rows, dtype=np.float64).reshape(len(rows), len(family.worlds))
    return [k for k, _ in quick], table


def _any_of(family: Family, conditions: frozenset[str]) -> NDArray[np.bool_]:
    columns = [j for j, c in enumerate(family.conditions) if c in conditions]
    return np.asarray(family.membership[:, columns].any(axis=1))
