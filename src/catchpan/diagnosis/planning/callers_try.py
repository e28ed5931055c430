"""What a question on the phone is worth because it comes before something the caller could try.

A try that is made only where the answer speaks for it is cheaper than one made at once. Whether a
try helps is worth the same to every world it touches; what it is worth there follows from what it
saves now against going at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.planning.ending import GO

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from catchpan.diagnosis.planning.draft import Draft
    from catchpan.diagnosis.planning.forecast import Kept
    from catchpan.diagnosis.planning.situation import Step

TINY: Final = 1e-9


def tries_after_answers(
    kept: Kept, drafts: Sequence[Draft], steps: Sequence[Step]
) -> dict[str, float]:
    """Return the dollars each question saves by the tries that its answers speak for.

    Parameters
    ----------
    steps
        Every step that is allowed now on the phone, priced.
    """
    total = {s.target: s.total_cost for s in steps}
    tries = [d for d in drafts if d.kind == "repair"]
    asks = [d for d in drafts if d.kind == "ask"]
    if GO not in total or not tries or not asks:
        return {}
    touched = np.array([_touched(kept, d.target) for d in tries])
    chance = touched.sum(axis=1)
    cost = np.array([d.own_cost for d in tries])
    saves = np.array([total[GO] - total[d.target] for d in tries])
    worth = np.maximum(saves + cost, 0.0) / np.maximum(chance, TINY)
    spans = [kept.told.spans[d.target] for d in asks]
    columns = np.concatenate([np.r_[span] for span in spans])
    table = kept.told.at(kept.worlds, columns)
    gain = worth[:, None] * (touched @ table) - cost[:, None] * (kept.chance @ table)
    best = np.maximum(gain.max(axis=0), 0.0)
    starts = np.cumsum([0, *(span.stop - span.start for span in spans[:-1])])
    each = np.add.reduceat(best, starts)
    return {d.target: float(x) for d, x in zip(asks, each, strict=True)}


def _touched(kept: Kept, repair_id: str) -> NDArray[np.float64]:
    """Shape (kept,): the chance of each world that holds what a try would remove, else 0."""
    family = kept.family
    fixes = family.repairs[repair_id].fixes
    columns = [j for j, c in enumerate(family.conditions) if c in fixes]
    held = family.membership[kept.worlds][:, columns].any(axis=1)
    result: NDArray[np.float64] = kept.chance * held
    return result
