"""The belief after a repair on a real job: relapses, look-alikes, a second fault that shows now."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.worlds.compile_family import PAIR_SHARE
from catchpan.diagnosis.worlds.likelihood import RESET_OUTCOMES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from catchpan.diagnosis.inference.belief import Belief

WORKS, _, _, NO_CHANGE = RESET_OUTCOMES

COMES_BACK: Final = 0.5
"""Chance that what a root left behind is there again after a try, its root untouched (assumed)."""

LOOKS_ALIKE: Final = 0.025
"""Chance that what a repair took for a root of the library only looks like it (assumed): it reads
the same, and no repair of ours mends it. A part put in twice for nothing was not to blame."""


def after_repair(belief: Belief, repair_id: str, worked: bool | None) -> Belief:
    """Return the belief after a repair and what came of it.

    Parameters
    ----------
    belief : Belief
        Before the repair.
    repair_id : str
        A repair of its family.
    worked : bool or None
        Whether the system works now; None where that is not known.
    """
    after = with_relapse(belief, belief.repair_tried(repair_id, None), repair_id)
    after = with_look_alike(belief, after, repair_id)
    after = with_second_fault(after, PAIR_SHARE * _root_removed(belief, repair_id))
    return after if worked is None else after.system_tried(worked)


def after_putting_back(
    belief: Belief, conditions: frozenset[str], outcome_id: str | None
) -> Belief:
    """Return the belief after something that tripped or blew was put back once and watched.

    Parameters
    ----------
    belief : Belief
        With the reading of what came of it.
    conditions : frozenset of str
        What is gone once it is put back.
    outcome_id : str or None
        The answer. Where it tripped or blew again, all is as it was; where not, the system has
        still to be run and judged, as after anything that was done to it.
    """
    if outcome_id not in {WORKS, NO_CHANGE}:
        return replace(belief, verdict=False)
    family, chance = belief.family, belief.probabilities()
    targets = family.targets(conditions)
    reached = np.where(targets >= 0, targets, np.arange(len(targets)))
    moved = np.bincount(reached, chance, minlength=len(chance)).astype(np.float64)
    return replace(_started(belief, moved), verdict=None)


def with_relapse(before: Belief, after: Belief, repair_id: str) -> Belief:
    """Return the belief, mindful that a new fuse blows again while the short is still there."""
    family, chance = before.family, before.probabilities()
    repair = family.repairs[repair_id]
    targets = family.targets(repair.fixes)
    untouched = np.array([bool(w.roots) and not w.roots & repair.fixes for w in family.worlds])
    moved = untouched & (targets >= 0) & (targets != np.arange(len(targets)))
    back = np.where(moved, COMES_BACK * repair.success * chance, 0.0)
    left = np.bincount(targets[moved], weights=back[moved], minlength=len(chance))
    return _started(after, after.probabilities() - left + back)


def with_look_alike(before: Belief, after: Belief, repair_id: str) -> Belief:
    """Return the belief, mindful that what was repaired may be another thing that looks the same.

    That much of what the repair took to be gone goes to the world outside the library.
    """
    family, chance = before.family, before.probabilities()
    repair = family.repairs[repair_id]
    targets = family.targets(repair.fixes)
    touched = np.array([bool(w.roots & repair.fixes) for w in family.worlds])
    taken = touched & (targets >= 0) & (family.outside >= 0)
    if not taken.any():
        return after
    alike = LOOKS_ALIKE * repair.success * chance[taken]
    count = len(chance)
    left = np.bincount(targets[taken], weights=alike, minlength=count)
    gained = np.bincount(family.outside[taken], weights=alike, minlength=count)
    return _started(after, after.probabilities() - left + gained)


def _root_removed(belief: Belief, repair_id: str) -> float:
    """Return the chance that a repair took away a root."""
    repair = belief.family.repairs[repair_id]
    touched = np.array([bool(w.roots & repair.fixes) for w in belief.family.worlds])
    return repair.success * float(belief.probabilities()[touched].sum())


def with_second_fault(belief: Belief, share: float = PAIR_SHARE) -> Belief:
    """Return the belief after a repair, mindful that a second fault may have been there as well.

    A family holds the likeliest pairs of roots only. Once one root is gone, the pairs it does not
    hold would be single roots; they are given the share of two roots at once, by their own priors
    and the settings as they stand. What was read before the repair is not held against them.
    """
    family, chance = belief.family, belief.probabilities()
    setting = np.array([w.setting for w in family.worlds])
    single = np.array([len(w.roots) == 1 for w in family.worlds]) & ~family.other
    prior = np.exp(family.log_prior - family.log_prior.max()) * single
    held = np.bincount(setting, chance, minlength=len(family.settings))
    usual = np.bincount(setting, prior, minlength=len(family.settings))
    second = prior * (held / np.maximum(usual, 1e-300))[setting]
    total = float(second.sum())
    if total <= 0.0:
        return belief
    mixed = (1.0 - share) * chance + share * second / total
    return _started(belief, mixed)


def _started(belief: Belief, chance: NDArray[np.float64]) -> Belief:
    """Begin a new stage with these probabilities; the readings so far are contained in them."""
    start = np.log(np.maximum(chance, np.finfo(np.float64).tiny))
    past = (*belief.earlier, *belief.readings)
    return replace(belief, start=start, readings=(), earlier=past)
