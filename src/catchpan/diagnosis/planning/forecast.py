"""The worlds worth reckoning with, and what each outcome of a step would mean for them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.inference.causes import part_of
from catchpan.diagnosis.planning.doubt import tempered
from catchpan.diagnosis.planning.need import NeedTable, need_table
from catchpan.diagnosis.planning.situation import Forecast, Step
from catchpan.diagnosis.worlds.family import OTHER, ROOT, Family

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from catchpan.diagnosis.inference.belief import Belief
    from catchpan.diagnosis.worlds.family import RepairModel
    from catchpan.diagnosis.worlds.stacked import Stacked

MOST_WORLDS: Final = 1200
KEPT_MASS: Final = 0.999
SYSTEM: Final = "system"
"""Target of the step that runs the system as it is; its result goes to ``Belief.system_tried``."""
WORKED: Final = "worked"
"""Outcome of a repair, and of running the system, after which it works."""
NO_FAULT: Final = "no-fault"


@dataclass(frozen=True, eq=False)
class Kept:
    """The likeliest worlds, sorted by needs.

    Parameters
    ----------
    worlds, chance
        Shape (kept,): positions in the family, and probabilities that sum to 1.
    ids, starts
        The needs that occur, and the row at which each of them starts.
    cut
        Probability left out.
    told
        The likelihoods of all checks, as whoever is asked or looks next would tell of them.
    """

    family: Family
    belief: Belief
    needs: NeedTable
    worlds: NDArray[np.intp]
    chance: NDArray[np.float64]
    ids: NDArray[np.intp]
    starts: NDArray[np.intp]
    cut: float
    told: Stacked

    def likelihoods(self, check_id: str) -> NDArray[np.float64]:
        """P(outcome | world) of a check for the worlds kept, shape (kept, outcomes)."""
        return self.told.at(self.worlds, self.told.spans[check_id])

    def by_needs(self, weights: NDArray[np.float64]) -> NDArray[np.float64]:
        """Sum rows of shape (kept, columns) into shape (columns, n_needs)."""
        mass = np.zeros((weights.shape[1], len(self.needs.sets)))
        mass[:, self.ids] = np.add.reduceat(weights, self.starts, axis=0).T
        return mass


def likeliest_first(chance: NDArray[np.float64]) -> NDArray[np.intp]:
    """Return positions by falling chance, equal ones in their own order.

    What differs in the last bits of a sum alone is equal, on every machine alike.
    """
    return np.argsort(-chance.astype(np.float32), kind="stable")


def keep(family: Family, belief: Belief, *, on_phone: bool = False) -> Kept:
    """Keep the likeliest worlds: at most ``MOST_WORLDS``, covering ``KEPT_MASS`` if they can."""
    needs, chance = need_table(family), belief.probabilities()
    order = likeliest_first(chance)
    enough = int(np.searchsorted(np.cumsum(chance[order]), KEPT_MASS)) + 1
    best = order[: min(enough, MOST_WORLDS, len(order))]
    best = best[np.argsort(needs.of_world[best], kind="stable")]
    ids, starts = np.unique(needs.of_world[best], return_index=True)
    share = float(chance[best].sum())
    cut = max(0.0, 1.0 - share)
    told = belief.as_told_by("caller" if on_phone else "technician")
    return Kept(family, belief, needs, best, chance[best] / share, ids, starts, cut, told)


@lru_cache(maxsize=4)
def _statements(family: Family) -> tuple[NDArray[np.float32], tuple[str, ...]]:
    """Shape (n_worlds, n_statements): which roots (or no fault, or OTHER) a world states."""
    names = sorted({c for w in family.worlds for c in w.conditions} | {NO_FAULT})
    column = {name: j for j, name in enumerate(names)}
    matrix = np.zeros((len(family.worlds), len(names)), dtype=np.float32)
    for i, world in enumerate(family.worlds):
        roots = [c for c in world.conditions if c == OTHER or part_of(family, world, c) == ROOT]
        matrix[i, [column[c] for c in roots]] = 1.0
    matrix[family.lasts, column[NO_FAULT]] = 1.0
    return matrix, tuple(names)


def with_forecasts(kept: Kept, step: Step, doubt: float = 0.0) -> Step:
    """Add what each way the step may come out would mean.

    After a repair the statements are those of the state it leaves: what it removed is gone. How
    likely it is to work is tempered by the doubt whether this home is like any of the worlds.
    """
    family = kept.family
    if step.target in family.checks:
        check = family.checks[step.target]
        joint = kept.chance[:, None] * kept.likelihoods(check.id)
        named = [(o.id, o.label, o.danger) for o in check.outcomes]
        columns = zip(named, joint.T, strict=True)
        found = [_forecast(kept, n, kept.worlds, column) for n, column in columns]
    elif step.target in family.repairs or step.target == SYSTEM:
        after, weights = _tried(kept, family.repairs.get(step.target))
        runs = family.works[after]
        found = [
            _forecast(kept, (WORKED, "it works now", False), after, weights * runs),
            _forecast(kept, ("did-not", "it still fails", False), after, weights * ~runs),
        ]
        if step.target in family.repairs:
            found = _tempered(found[0], found[1], doubt)
    else:
        return step
    return replace(step, forecasts=tuple(found))


def _tempered(works: Forecast, fails: Forecast, doubt: float) -> list[Forecast]:
    chance = tempered(works.probability, doubt)
    rest = works.probability + fails.probability - chance
    return [replace(works, probability=chance), replace(fails, probability=rest)]


def chance_to_work(belief: Belief, repair: RepairModel) -> float:
    """Return how likely the system is to work after a repair, as the worlds say."""
    after, weights = _tried(keep(belief.family, belief), repair)
    return float(weights[belief.family.works[after]].sum())


def outlook(kept: Kept) -> Forecast:
    """Return what leads before anything further is done."""
    return _forecast(kept, ("now", "now", False), kept.worlds, kept.chance)


def holds(kept: Kept, statement: str) -> NDArray[np.bool_]:
    """Shape (kept,): does the world state this root, no fault, or the world outside the library."""
    matrix, names = _statements(kept.family)
    found: NDArray[np.bool_] = matrix[kept.worlds, names.index(statement)] > 0.0
    return found


def _tried(kept: Kept, repair: RepairModel | None) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Return the worlds that may be there when the system is tried, each with its weight.

    As it is, or after a repair: those it leads to, and those where it missed or has no target.
    """
    if repair is None:
        return kept.worlds, kept.chance
    reached = kept.family.targets(repair.fixes)[kept.worlds]
    mended = np.where(reached < 0, kept.worlds, reached)
    share = np.where(reached < 0, 0.0, repair.success)
    weights = (kept.chance * share, kept.chance * (1.0 - share))
    return np.concatenate([mended, kept.worlds]), np.concatenate(weights)


def _forecast(
    kept: Kept,
    named: tuple[str, str, bool],
    worlds: NDArray[np.intp],
    weights: NDArray[np.float64],
) -> Forecast:
    matrix, names = _statements(kept.family)
    total = float(weights.sum())
    shares = weights @ matrix[worlds] / max(total, 1e-300)
    best = int(np.round(shares, 9).argmax())
    outcome_id, label, danger = named
    return Forecast(outcome_id, label, total, names[best], float(shares[best]), danger)
