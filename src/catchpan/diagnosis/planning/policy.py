"""Policies: ways to choose the next step. Ours, and the habits and rules it is measured against.

A policy sees the belief and the situation and nothing else. All of them stand under the same hard
rules: what means danger is asked first on the phone and ends the work, what was seen to work is
proven, and what is proven is closed. They differ in how they find the fault.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Protocol

import numpy as np

from catchpan.diagnosis.planning.draft import Draft, check_drafts, repair_drafts, to_redo
from catchpan.diagnosis.planning.ending import GO, LEAVE_ID, SOLVED, Standing, endings, standing_of
from catchpan.diagnosis.planning.expected_cost import entropy_bits
from catchpan.diagnosis.planning.forecast import SYSTEM, Kept, holds, keep, outlook
from catchpan.diagnosis.planning.planner import plan
from catchpan.diagnosis.planning.safety_order import screens_danger, standing_dangers
from catchpan.diagnosis.planning.situation import Step

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from catchpan.diagnosis.inference.belief import Belief
    from catchpan.diagnosis.planning.situation import Situation
    from catchpan.diagnosis.worlds.family import Family

PHONE_QUESTIONS: Final = 5
"""Questions a habit asks on the phone besides those about danger, before it drives (assumed)."""

SURE: Final = 0.8
"""Share from which a habit takes the likeliest cause for found (assumed)."""

SURER: Final = 0.9
"""The same for gain of information, as is usual in the literature on test sequencing."""


class Policy(Protocol):
    """A way to choose the next step.

    ``choose`` is given the situation with everything put off that is not worth doing
    (``Job.open``), the same for every policy.
    """

    @property
    def name(self) -> str:
        """What tables call it."""

    def choose(self, family: Family, belief: Belief, situation: Situation) -> Step:
        """Return the next step."""


@dataclass(frozen=True)
class Planner:
    """The planner as the technician gets it."""

    name: str = "catchpan"

    def choose(self, family: Family, belief: Belief, situation: Situation) -> Step:
        """Return the step of least expected cost to a proven fix."""
        return plan(family, belief, situation, 1).steps[0]


@dataclass(frozen=True)
class Myopic:
    """One step looked ahead over the price of repairing on (expected cost of repair)."""

    name: str = "one-step expected cost of repair"

    def choose(self, family: Family, belief: Belief, situation: Situation) -> Step:
        """Return the step that is best when only repairs follow it."""
        return plan(family, belief, situation, 1, budget=None).steps[0]


@dataclass(frozen=True, eq=False)
class View:
    """What a habit looks at: the worlds that count and the steps that are open."""

    kept: Kept
    standing: Standing
    drafts: Sequence[Draft]

    @property
    def looks(self) -> list[Draft]:
        """The questions, looks and measurements."""
        return [d for d in self.drafts if d.target in self.kept.family.checks]

    @property
    def fixes(self) -> list[Draft]:
        """The repairs, and running the system as it is."""
        return [d for d in self.drafts if d.target not in self.kept.family.checks]

    def mends(self, draft: Draft) -> float:
        """Chance that a faulty system works after a repair (of a run: that it works anyway)."""
        if draft.target not in self.kept.family.repairs:
            return 1.0 - float(draft.mass.sum())
        return 1.0 - self.standing.lasts - float(draft.mass.sum())

    def by_ratio(self) -> Draft | None:
        """Return the repair with the largest chance over cost, going there included."""
        return self._best(self.fixes, lambda d: self.mends(d) / max(d.own_cost, 1e-9))

    def likeliest(self) -> Draft | None:
        """Return the repair with the largest chance."""
        return self._best(self.fixes, self.mends)

    def cheapest(self) -> Draft | None:
        """Return the look that costs least, going there included."""
        return self._best(self.looks, lambda d: -d.own_cost)

    def telling(self, bits: Callable[[Draft], float]) -> Draft | None:
        """Return the look that gains most bits for its cost."""
        return self._best(self.looks, lambda d: bits(d) / max(d.own_cost, 1e-9))

    def gain(self, draft: Draft) -> float:
        """Bits a look is expected to tell about what must be mended."""
        present = self.kept.by_needs(self.kept.chance[:, None])
        return float(entropy_bits(present)[0] - entropy_bits(draft.mass).sum())

    def gain_about(self, statement: str) -> Callable[[Draft], float]:
        """Return the bits a look is expected to tell about one cause being there or not."""
        there = holds(self.kept, statement)[:, None]
        chance = self.kept.chance[:, None]
        split = np.hstack([chance * there, chance * ~there])

        def bits(draft: Draft) -> float:
            joint = split.T @ self.kept.likelihoods(draft.target)
            return _bits_of(split.sum(axis=0)) - sum(_bits_of(column) for column in joint.T)

        return bits

    @staticmethod
    def _best(drafts: Sequence[Draft], worth: Callable[[Draft], float]) -> Draft | None:
        return min(drafts, key=lambda d: (-round(worth(d), 9), d.target), default=None)


def _bits_of(mass: NDArray[np.float64]) -> float:
    return float(entropy_bits(mass[None, :])[0])


@dataclass(frozen=True)
class Habit:
    """A policy that picks by a rule instead of reckoning what follows.

    Parameters
    ----------
    asks
        It asks on the phone besides what means danger.
    proves
        It makes the proofs of its repairs; otherwise it watches the system run, and leaves.
    """

    name: str
    pick: Callable[[View], Draft | None]
    asks: bool = True
    proves: bool = True

    def choose(self, family: Family, belief: Belief, situation: Situation) -> Step:
        """Return the next step by the rule; ``cost_after`` of such a step is not reckoned."""
        kept = keep(family, belief, on_phone=situation.on_phone)
        situation = replace(situation, done=situation.done - to_redo(kept, situation))
        standing = standing_of(kept, belief, situation)
        owed = bool(situation.unproven and belief.verdict)
        dangers = standing_dangers(belief, situation)
        if owed and not (dangers or self.proves or situation.on_phone):
            return _watched(family, situation)
        if dangers or standing.lasts >= SOLVED or owed:
            return plan(family, belief, situation, 1).steps[0]
        drafts = [*check_drafts(kept, situation), *repair_drafts(kept, standing)]
        ends = endings(kept, 0.0, standing)
        if situation.on_phone:
            return self._on_phone(View(kept, standing, drafts), ends)
        picked = self.pick(View(kept, standing, drafts))
        return picked.as_step() if picked is not None else ends[-1]

    def _on_phone(self, view: View, ends: list[Step]) -> Step:
        """Ask about danger first, then what the rule picks, a few questions; then drive."""
        family, situation = view.kept.family, view.standing.situation
        first = [d for d in view.looks if screens_danger(family, d.target, situation)]
        if first:
            return min(first, key=lambda d: (d.own_cost, d.target)).as_step()
        asked = [c for c in situation.done if not screens_danger(family, c, situation)]
        go = next((s for s in ends if s.target == GO), ends[-1])
        if not self.asks or len(asked) >= PHONE_QUESTIONS:
            return go
        picked = self.pick(view)
        return picked.as_step() if picked is not None else go


def _watched(family: Family, situation: Situation) -> Step:
    """Watch the system run; once it was, leave."""
    if SYSTEM in situation.done:
        return Step("stop", LEAVE_ID, "It runs: leave", 0.0, 0.0)
    cost = family.proof_minutes * family.dollars_per_minute
    return Step("prove", SYSTEM, "Watch the system run", cost, 0.0)


def _easy_first(view: View) -> Draft | None:
    """Look where it is easiest until one cause is as good as found; then mend it."""
    if outlook(view.kept).share >= SURE:
        return view.likeliest() or view.cheapest()
    return view.cheapest() or view.likeliest()


def _likeliest_first(view: View) -> Draft | None:
    """Go for the likeliest cause: what tells most about it, and its repair once that is sure."""
    now = outlook(view.kept)
    if now.share >= SURE:
        return view.likeliest() or view.cheapest()
    return view.telling(view.gain_about(now.leading)) or view.likeliest()


def _telling_first(view: View) -> Draft | None:
    """Gain most information for the cost until one cause is sure; then repair by ratio."""
    if outlook(view.kept).share >= SURER:
        return view.by_ratio() or view.telling(view.gain)
    return view.telling(view.gain) or view.by_ratio()


EASY_FIRST: Final = Habit("easy and cheap first", _easy_first)
EASY_NO_PROOF: Final = Habit("easy and cheap first, no proofs", _easy_first, proves=False)
LIKELIEST_FIRST: Final = Habit("likeliest cause first", _likeliest_first)
RATIO: Final = Habit("chance over cost, no checks", View.by_ratio, asks=False)
INFORMATION: Final = Habit("information for the cost", _telling_first)

BASELINES: Final[tuple[Policy, ...]] = (
    EASY_FIRST,
    EASY_NO_PROOF,
    LIKELIEST_FIRST,
    RATIO,
    INFORMATION,
    Myopic(),
)
"""What the planner is measured against: habits of the trade and three rules of the books.

Chance over cost: optimal for independent repairs of a single fault with one action for each fault
(Heckerman, Breese & Rommelse, CACM 38(3), 1995). Information for the cost: the usual greedy rule of
test sequencing (Pattipati & Alexandridis 1990, from memory).
"""
