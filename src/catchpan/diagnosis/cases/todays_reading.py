"""What a sound running circuit reads in the weather of the visit, in the technician's units."""

import numpy as np

from catchpan.catalog.entry import CheckEntry
from catchpan.diagnosis.cases.measured_value import write_value
from catchpan.diagnosis.inference.belief import Belief
from catchpan.diagnosis.inference.panel_reading import todays_view
from catchpan.diagnosis.worlds.family import CheckModel


def todays_reading(belief: Belief, check: CheckModel, entry: CheckEntry, setting: int) -> str:
    """Return what a sound circuit reads, and give or take how much; empty where it says nothing.

    Parameters
    ----------
    belief : Belief
        Its readings of the weather count, those of the circuit do not.
    check, entry : CheckModel, CheckEntry
        A check of the running circuit.
    setting : int
        How the system is built, as an index into the family's settings.

    Returns
    -------
    str
        One standard deviation of instrument, unit and weather together:
        "375 psig give or take 30 psig".
    """
    world = belief.family.index.get((frozenset(), setting))
    if check.look is None or world is None:
        return ""
    view = todays_view(belief.views[check.look.demand])
    mean, spread = (float(x[world]) for x in view.expected(check.look))
    digits = digits_of(entry, mean)
    off = _number(entry, mean + spread) - _number(entry, mean)
    written = write_value(entry, mean, digits)
    unit = written.partition(" ")[2]
    return f"{written} give or take {off:.{0 if off >= 2.5 else 1}f} {unit}".rstrip()


def _number(entry: CheckEntry, value: float) -> float:
    return float(write_value(entry, value, 6).split()[0])


def digits_of(entry: CheckEntry, value: float) -> int:
    """Return how many digits after the point a reading is worth."""
    shown = abs(float(write_value(entry, value, 6).split()[0].replace("OL", "1000")))
    return 2 if shown < 3.0 else 1 if shown < 100.0 else 0


def likeliest_setting(belief: Belief) -> int:
    """Return how the system is most likely built, as an index into the family's settings."""
    settings = np.array([world.setting for world in belief.family.worlds])
    return int(np.bincount(settings, belief.probabilities()).argmax())
