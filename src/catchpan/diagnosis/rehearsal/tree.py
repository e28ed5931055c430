"""What a policy does after every history that ever came up; decided once for all calls.

A policy is a function of what was seen, so calls that went the same way so far share the decision.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from catchpan.diagnosis.inference.causes import rank_causes

if TYPE_CHECKING:
    from collections.abc import Callable

    from catchpan.diagnosis.planning.job import Job
    from catchpan.diagnosis.planning.policy import Policy
    from catchpan.diagnosis.planning.situation import Step


@dataclass(eq=False)
class Node:
    """A history: the job after it, the step that follows, and where each outcome leads."""

    job: Job
    step: Step | None = None
    after: dict[str, Node] = field(default_factory=dict)
    said: tuple[str, float] | None = None

    def decided(self, policy: Policy) -> Step:
        """Return the next step, chosen on the first visit."""
        if self.step is None:
            self.step = policy.choose(self.job.family, self.job.belief, self.job.open)
            self.job = replace(self.job, belief=replace(self.job.belief))
        return self.step

    def then(self, outcome: str, make: Callable[[Job], Job]) -> Node:
        """Return the history that is one outcome longer."""
        if outcome not in self.after:
            self.after[outcome] = Node(make(self.job))
        return self.after[outcome]

    def conclusion(self) -> tuple[str, float]:
        """Return what leads at the end, and the share of the world outside the library."""
        if self.said is None:
            causes = rank_causes(replace(self.job.belief))
            self.said = (causes.leading.id, causes.other)
        return self.said
