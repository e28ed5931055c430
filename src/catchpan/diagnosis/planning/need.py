"""Needs: the conditions that must go before the system works. Equal needs cost the same."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from catchpan.diagnosis.worlds.family import Family, RepairModel


@dataclass(frozen=True, eq=False)
class NeedTable:
    """The needs of a family, made once.

    Parameters
    ----------
    sets
        Distinct needs; the first is empty (the system works).
    of_world
        Shape (n_worlds,): index into ``sets``.
    repairs
        Every repair, by id.
    targets
        Shape (n_repairs, n_needs): index of the needs left after the repair did its work.
    """

    family: Family
    sets: tuple[frozenset[str], ...]
    of_world: NDArray[np.intp]
    repairs: tuple[RepairModel, ...]
    targets: NDArray[np.intp]

    @cached_property
    def conditions(self) -> tuple[str, ...]:
        """Conditions that occur in any needs, sorted."""
        return tuple(sorted(frozenset().union(*self.sets)))

    @cached_property
    def fixed(self) -> NDArray[np.bool_]:
        """Shape (n_conditions, n_repairs): does the repair remove the condition."""
        rows = [[c in r.fixes for r in self.repairs] for c in self.conditions]
        return np.array(rows, dtype=np.bool_).reshape(len(self.conditions), len(self.repairs))

    @cached_property
    def members(self) -> NDArray[np.intp]:
        """Shape (n_needs, most): condition positions; padded with ``len(conditions)``."""
        place = {c: j for j, c in enumerate(self.conditions)}
        return _padded([sorted(place[c] for c in need) for need in self.sets], len(place))

    @cached_property
    def fixers(self) -> NDArray[np.intp]:
        """Shape (n_conditions, most): repair positions; padded with ``len(repairs)``."""
        rows = [np.flatnonzero(row).tolist() for row in self.fixed]
        return _padded(rows, len(self.repairs))

    @cached_property
    def credit(self) -> NDArray[np.float64]:
        """Shape (n_needs, n_repairs): chance that the repair removes something needed."""
        success = np.array([r.success for r in self.repairs])
        touched = np.zeros((len(self.sets), len(self.repairs)), dtype=np.bool_)
        padded = np.vstack([self.fixed, np.zeros((1, len(self.repairs)), dtype=np.bool_)])
        for column in self.members.T:
            touched |= padded[column]
        result: NDArray[np.float64] = touched * success
        return result

    @cached_property
    def lasting(self) -> NDArray[np.float64]:
        """Shape (n_needs,): chance that all the repairs needed do their work."""
        success = np.array([r.success for r in self.repairs], dtype=np.float64)
        best = np.append((self.fixed * success).max(axis=1, initial=0.0), 1.0)
        result: NDArray[np.float64] = np.prod(best[self.members], axis=1)
        return result


CLOSED_AT = 4
"""Needs that only repairs lead to are added until there are so many times those of the worlds."""


@lru_cache(maxsize=4)
def need_table(family: Family) -> NeedTable:
    """Return the needs of the family; made on the first call, then remembered."""
    number: dict[frozenset[str], int] = {frozenset(): 0}
    of_world = np.array([number.setdefault(need, len(number)) for need in family.needs])
    repairs = tuple(family.repairs[r] for r in sorted(family.repairs))
    start = len(number)
    rows: list[dict[int, int]] = []
    sets = list(number)
    for i, need in enumerate(sets):
        rows.append(_left_by(repairs, need, number))
        if i + 1 == len(sets) and len(number) < CLOSED_AT * start:
            sets += list(number)[len(sets) :]
    sets = list(number)
    targets = np.tile(np.arange(len(sets)), (len(repairs), 1))
    for i, row in enumerate(rows):
        for j, target in row.items():
            targets[j, i] = target
    return NeedTable(family, tuple(sets), of_world, repairs, targets)


def _left_by(
    repairs: tuple[RepairModel, ...], need: frozenset[str], number: dict[frozenset[str], int]
) -> dict[int, int]:
    """For every repair that helps: the needs it leaves, numbered on where they are new."""
    return {
        j: number.setdefault(need - repair.fixes, len(number))
        for j, repair in enumerate(repairs)
        if not need.isdisjoint(repair.fixes)
    }


def _padded(rows: list[list[int]], filler: int) -> NDArray[np.intp]:
    width = max((len(row) for row in rows), default=1) or 1
    return np.array([row + [filler] * (width - len(row)) for row in rows], dtype=np.intp).reshape(
        len(rows), width
    )
