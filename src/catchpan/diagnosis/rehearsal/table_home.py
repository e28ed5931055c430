"""A hidden home that is exactly one of the planner's own worlds and answers by its own tables.

Nothing is learned about the field from it. It shows whether what catchpan promises is what comes
when everything it takes for true is true.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from catchpan.diagnosis.inference.aftermath import NO_CHANGE, WORKS
from catchpan.diagnosis.inference.belief import PROOF_ERROR, Belief
from catchpan.diagnosis.worlds.family import likelihood_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np

    from catchpan.diagnosis.inference.belief import Reading
    from catchpan.diagnosis.rehearsal.luck import Luck
    from catchpan.diagnosis.worlds.family import Family


@dataclass
class TableHome:
    """A home in one of the family's worlds; repairs lead to others.

    Parameters
    ----------
    puts_back
        For checks that put a tripped or blown thing back: the conditions that are gone then.
    """

    family: Family
    world: int
    luck: Luck
    puts_back: Mapping[str, frozenset[str]] = field(default_factory=dict)
    tried: list[str] = field(default_factory=list, init=False)

    def can_do(self, target: str) -> bool:
        """Say that every check of the family can be made."""
        return target in self.family.checks

    def answer(self, check_id: str) -> str:
        """Return an answer drawn from the check's table."""
        check = self.family.checks[check_id]
        chance = likelihood_table(self.family, check)[self.world]
        rng = self.luck.of(check_id, len(self.tried))
        found = check.outcomes[int(rng.choice(len(chance), p=chance))].id
        if found in {WORKS, NO_CHANGE}:
            self._move(self.puts_back.get(check_id, frozenset()))
        return found

    def number(self, check_id: str) -> None:
        """Return None: a table knows answers only."""
        del check_id

    def prove(self, proof_id: str) -> str:
        """Return an answer of a proof drawn from its table."""
        return self.answer(proof_id)

    def try_repair(self, repair_id: str) -> bool:
        """Move to the world without what the repair removes, if it does its work."""
        repair = self.family.repairs[repair_id]
        rng = self.luck.of(repair_id, self.tried.count(repair_id))
        self.tried.append(repair_id)
        if rng.random() < repair.success:
            self._move(repair.fixes)
        return self._judged(rng)

    def runs(self) -> bool:
        """Run the system as it is and say whether it is seen to work."""
        return self._judged(self.luck.of("runs", len(self.tried)))

    def pace(self, target: str) -> float:
        """Return 1: everything takes its usual minutes."""
        return float(bool(target))

    def left_over(self) -> frozenset[str]:
        """Return the conditions that are there now."""
        return self.family.worlds[self.world].conditions

    def must_go(self) -> frozenset[str]:
        """Return those of them that the family says must go."""
        return self.family.needs[self.world]

    def works(self) -> bool:
        """Say whether the system works now, rightly judged."""
        return bool(self.family.works[self.world])

    def is_fixed(self) -> bool:
        """Say whether the system works and nothing that must go is left."""
        return self.works() and not self.family.needs[self.world]

    def would_help(self, repair_id: str) -> bool:
        """Say whether a repair removes anything that is there now."""
        return bool(self.left_over() & self.family.repairs[repair_id].fixes)

    def _move(self, gone: frozenset[str]) -> None:
        target = int(self.family.targets(gone)[self.world])
        self.world = target if target >= 0 else int(self.family.outside[self.world])

    def _judged(self, rng: np.random.Generator) -> bool:
        wrong = rng.random() < PROOF_ERROR
        return self.works() != wrong


def draw_table_home(
    family: Family,
    complaint: Reading,
    luck: Luck,
    puts_back: Mapping[str, frozenset[str]] | None = None,
) -> TableHome:
    """Draw a world by the family's own prior and the chance that its caller complains so.

    Parameters
    ----------
    complaint
        What the caller says, as a reading.
    puts_back
        As for the home.
    """
    chance = Belief.prior(family).observe(complaint).probabilities()
    world = int(luck.of("call").choice(len(chance), p=chance))
    return TableHome(family, world, luck, puts_back or {})
