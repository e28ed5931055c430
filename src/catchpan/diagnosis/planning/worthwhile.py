"""What is not worth anybody's time now: looks that tell nothing, tries that mend nothing.

Left out before anything is priced. These are rules, not costs: what they leave out is either
silent, useless or undone at once, and proposing it costs trust that no price holds.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.inference.telling import silent_checks

if TYPE_CHECKING:
    from catchpan.diagnosis.inference.belief import Belief
    from catchpan.diagnosis.planning.practice import Practice
    from catchpan.diagnosis.planning.situation import Situation

WORTH_TRYING: Final = 0.03
"""Share from which a try is worth a caller's trouble (assumed)."""

WORTH_DOING: Final = 0.005
"""Share from which a repair is worth a technician's time, however cheap it is (assumed)."""


def not_worthwhile(belief: Belief, situation: Situation, practice: Practice) -> frozenset[str]:
    """Return the checks and repairs that are not worth proposing in this situation.

    Looks that tell nothing, repairs that would be undone at once or mend nothing; on the phone
    also questions of the other season and those answered in other words.
    """
    left_out = silent_checks(belief) | premature_repairs(belief, practice.returning)
    left_out |= idle_repairs(belief, on_phone=situation.on_phone)
    if situation.on_phone:
        left_out |= practice.other_season | practice.answered_alike(situation.done)
    return left_out


def idle_repairs(belief: Belief, *, on_phone: bool) -> frozenset[str]:
    """Return the repairs that hardly any world needs; on the phone all, once the system works.

    A try costs little, but each one that cannot help costs trust.
    """
    family, chance = belief.family, belief.probabilities()
    column = {c: j for j, c in enumerate(family.conditions)}
    least = WORTH_TRYING if on_phone else WORTH_DOING
    idle = set()
    for repair in family.repairs.values():
        mine = [column[c] for c in repair.fixes if c in column]
        share = float(chance[family.membership[:, mine].any(axis=1)].sum())
        if share < least or (on_phone and belief.verdict):
            idle.add(repair.id)
    return frozenset(idle)


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
    column = {c: j for j, c in enumerate(family.conditions)}
    found = set()
    for repair in family.repairs.values():
        quick = [column[c] for c in repair.fixes & returning if c in column]
        if not quick:
            continue
        fixed = [column[c] for c in repair.fixes if c in column]
        needed = family.membership[:, fixed].any(axis=1)
        behind = family.membership[:, quick].any(axis=1)
        rooted = np.array([bool(w.roots - repair.fixes) for w in family.worlds])
        if float(chance[behind & rooted].sum()) > 0.5 * float(chance[needed].sum()):
            found.add(repair.id)
    return frozenset(found)
