"""What a check shows where nothing is wrong, and cautions that apply where the step is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.catalog.caution import hazards_of
from catchpan.diagnosis.cases.measured_value import write_value
from catchpan.diagnosis.cases.todays_reading import digits_of, todays_reading

if TYPE_CHECKING:
    from catchpan.calls.guide import Guide
    from catchpan.catalog.entry import CheckEntry, HazardEntry, ProofEntry, RepairEntry

SURE: Final = 0.6
"""Share from which an answer is said to be the one to expect (assumed)."""


def healthy_reading(guide: Guide, check_id: str) -> str:
    """Return what a check shows with everything in order; empty where that cannot be said."""
    family, check = guide.family, guide.family.checks.get(check_id)
    world = family.index.get((frozenset(), guide.likeliest_position))
    if check is None or world is None:
        return ""
    entry = guide.data.checks.get(check_id)
    if check.look is not None and entry is not None:
        return todays_reading(guide.belief, check, entry, guide.likeliest_position)
    if check.numeric is not None and entry is not None:
        if check.numeric.dead[world]:
            return ""
        mean = float(check.numeric.mean_si[world])
        return write_value(entry, mean, digits_of(entry, mean)) if np.isfinite(mean) else "OL"
    row = check.table[world]
    best = int(row.argmax())
    return check.outcomes[best].label if row[best] >= SURE else ""


def cautions(
    guide: Guide, entry: CheckEntry | RepairEntry | ProofEntry, *, arriving: bool
) -> tuple[HazardEntry, ...]:
    """Return what can hurt in a step: its own hazards, and those of the place where it is.

    Parameters
    ----------
    guide : Guide
        Says where the indoor unit stands.
    entry : CheckEntry, RepairEntry or ProofEntry
        The step.
    arriving : bool
        Whether the technician is only now going to the place.
    """
    location = guide.description.options.get("location", "")
    return hazards_of(entry, guide.description.archetype, location, guide.data, arriving=arriving)
