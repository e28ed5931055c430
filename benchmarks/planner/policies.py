"""The policies that are compared: catchpan as it is used on a call, and others."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from catchpan.calls.aftermath import premature_repairs
from catchpan.calls.idle import answered_alike, idle_repairs, out_of_season
from catchpan.calls.telling import silent_checks
from catchpan.calls.unmended import mend_before_leaving
from catchpan.diagnosis.planning.planner import plan

if TYPE_CHECKING:
    from catchpan.catalog.load import Catalog
    from catchpan.diagnosis.inference.belief import Belief
    from catchpan.diagnosis.planning.situation import Situation, Step
    from catchpan.diagnosis.worlds.family import Family


@dataclass(frozen=True)
class AsOnACall:
    """The planner with all that a call in the hand leaves out or puts first."""

    data: Catalog
    season: str | None

    def choose(self, family: Family, belief: Belief, situation: Situation) -> Step:
        """Return the step that a guide would show first."""
        left_out = silent_checks(belief) | premature_repairs(belief, self.data)
        left_out |= idle_repairs(belief, on_phone=situation.on_phone)
        if situation.on_phone:
            left_out |= out_of_season(self.data, self.season)
            left_out |= answered_alike(self.data, situation.done)
        worth = replace(situation, deferred=situation.deferred | left_out)
        if situation.on_phone or not (situation.unproven and belief.verdict):
            found = plan(family, belief, worth, 1)
            return mend_before_leaving(belief, worth, found.steps)[0]
        found = plan(family, belief, worth, len(family.checks))
        return min(found.steps, key=lambda step: step.kind != "prove")
