"""The policies that are compared."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from catchpan.diagnosis.planning.planner import plan

if TYPE_CHECKING:
    from catchpan.diagnosis.inference.belief import Belief
    from catchpan.diagnosis.planning.situation import Situation, Step
    from catchpan.diagnosis.rehearsal.tree import Policy
    from catchpan.diagnosis.worlds.family import Family


OURS: Final = "catchpan"
PRACTICE: Final = ("easy things first", "likeliest cause first")
"""What practitioners do, the trade's habit first."""


class AsOnACall:
    """What catchpan shows first on a call."""

    def choose(self, family: Family, belief: Belief, situation: Situation) -> Step:
        """Return the step of least expected cost."""
        return plan(family, belief, situation, 1).steps[0]


def policies() -> dict[str, Policy | None]:
    """Return every policy by name; the one without is played by who knows what is wrong."""
    return {"clairvoyant": None, OURS: AsOnACall()}
