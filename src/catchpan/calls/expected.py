"""What a check shows where nothing is wrong, and cautions that apply where the step is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.catalog.caution import hazards_of
from catchpan.diagnosis.cases.measured_value import write_value
from catchpan.diagnosis.inference.panel_reading import todays_view

if TYPE_CHECKING:
    from catchpan.calls.guide import Guide
    from catchpan.catalog.entry import CheckEntry, HazardEntry, ProofEntry, RepairEntry
    from catchpan.diagnosis.worlds.panel_quantity import PanelLook

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
        return _todays_reading(guide, check.look, entry, world)
    if check.numeric is not None and entry is not None:
        if check.numeric.dead[world]:
            return ""
        mean = float(check.numeric.mean_si[world])
        return write_value(entry, mean, digits_of(entry, mean)) if np.isfinite(mean) else "OL"
    row = check.table[world]
    best = int(row.argmax())
    return check.outcomes[best].label if row[best] >= SURE else ""


def _todays_reading(guide: Guide, look: PanelLook, entry: CheckEntry, world: int) -> str:
    """Return what a sound circuit reads in the weather of the visit, and give or take how much."""
    view = todays_view(guide.belief.views[look.demand])
    mean, spread = (float(x[world]) for x in view.expected(look))
    digits = digits_of(entry, mean)
    shown = write_value(entry, mean, digits)
    beyond = write_value(entry, mean + spread, digits + 1)
    off = float(beyond.split()[0]) - float(write_value(entry, mean, digits + 1).split()[0])
    return f"{shown} give or take {off:.{max(digits, 0 if off > 3 else 1)}f}"


def digits_of(entry: CheckEntry, value: float) -> int:
    """Return how many digits after the point a reading is worth."""
    shown = abs(float(write_value(entry, value, 6).split()[0].replace("OL", "1000")))
    return 2 if shown < 3.0 else 1 if shown < 100.0 else 0


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
