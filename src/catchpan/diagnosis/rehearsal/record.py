"""What came of one call under one policy, as one line of JSON."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from typing import Literal

End = Literal["closed", "handed over", "danger", "too long"]

For = Literal[
    "asking",
    "driving",
    "going",
    "preparing",
    "looking",
    "looking again",
    "repairs that helped",
    "repairs that missed",
    "repairs for nothing",
    "callers' tries for nothing",
    "proofs",
    "handing over",
]
"""What time and money go to. Preparing is covers, switching and setting up; a repair that missed
was needed and removed nothing, or what it removed was back at once."""


@dataclass
class Record:
    """One call as played.

    Parameters
    ----------
    there
        What was wrong at the start.
    outside
        Something of it is not in the technician's catalog.
    minutes
        On the phone, on the road and on site.
    again_minutes
        Where it is not fixed: of a second visit by somebody who knows what is left.
    minutes_for, dollars_for
        The minutes, and the dollars of parts and hazards, by what they were spent on (``For``).
    parts_dollars, hazard_dollars
        Of everything done.
    trips
        Times the place was changed on site, the first one included.
    wrong_parts
        Parts put in that removed nothing.
    wrong_tries
        All repairs that removed nothing, those parts included.
    end
        ``closed`` as done, ``handed over`` unsolved, ended by ``danger`` on the phone, or ended
        here because it took ``too long``.
    fixed
        The system works and would still after days.
    cost_dollars
        Everything above in dollars, and where it is not fixed what that costs.
    promised_dollars
        What the first step was said to cost until a proven fix.
    forecasts
        For every repair: how likely it was said to get the system to work, and whether it did.
    path
        Step and outcome, one after the other.
    """

    call: int
    policy: str
    there: list[str]
    outside: bool
    minutes: float = 0.0
    again_minutes: float = 0.0
    parts_dollars: float = 0.0
    hazard_dollars: float = 0.0
    trips: int = 0
    wrong_parts: int = 0
    wrong_tries: int = 0
    end: End = "too long"
    fixed: bool = False
    cost_dollars: float = 0.0
    promised_dollars: float = 0.0
    leading: str = ""
    other: float = 0.0
    minutes_for: dict[str, float] = field(default_factory=dict)
    dollars_for: dict[str, float] = field(default_factory=dict)
    forecasts: list[tuple[float, bool]] = field(default_factory=list)
    path: list[str] = field(default_factory=list)

    def spend(self, what: For, minutes: float, parts: float = 0.0, hazard: float = 0.0) -> None:
        """Count minutes and dollars spent on something."""
        self.minutes += minutes
        self.parts_dollars += parts
        self.hazard_dollars += hazard
        self.minutes_for[what] = self.minutes_for.get(what, 0.0) + minutes
        self.dollars_for[what] = self.dollars_for.get(what, 0.0) + parts + hazard

    @property
    def minutes_to_fix(self) -> float:
        """Until it is fixed: of this call and, where that did not do it, of the next."""
        return self.minutes + self.again_minutes

    @property
    def call_back(self) -> bool:
        """Closed as done, and it is not."""
        return self.end == "closed" and not self.fixed

    def line(self) -> str:
        """Return the record as one line."""
        return json.dumps(asdict(self))

    @classmethod
    def read(cls, line: str) -> Record:
        """Return the record a line holds."""
        return cls(**json.loads(line))
