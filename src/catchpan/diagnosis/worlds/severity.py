"""Faults that come in degrees: what an instrument shows depends on how bad they are.

The plant is simulated at one severity of each fault. A weak capacitor may have lost a third or
two thirds of its strength; a measured value is therefore weighed with a spread that grows with the
distance between what the fault shows and what a sound system shows.
"""

from collections.abc import Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

from catchpan.catalog.entry import EffectEntry, FaultEntry

SEVERITY_SHARE: Final = 0.35
"""Spread of a graded fault's reading, as a share of its distance from the sound one (assumed)."""


def is_graded(fault: FaultEntry) -> bool:
    """Say whether a fault comes in degrees (weak, dirty, low), not only there or not."""
    return any(_graded(effect) for effect in fault.effects)


def graded_conditions(faults: Mapping[str, FaultEntry]) -> frozenset[str]:
    """Return the ids of the faults that come in degrees."""
    return frozenset(f.id for f in faults.values() if is_graded(f))


def _graded(effect: EffectEntry) -> bool:
    if effect.do in {"ohm", "factor"}:
        return True
    if effect.times is not None or effect.add is not None:
        return True
    return effect.to is not None and effect.to not in {0.0, 1.0, -1.0}


def severity_spread(
    mean: NDArray[np.float64], sound: float, graded: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """Spread that a fault's unknown degree adds to a reading, shape (worlds,).

    Parameters
    ----------
    mean : array, shape (worlds,)
        What the plant shows [SI]; may hold inf and NaN.
    sound : float
        What a sound system shows [same unit].
    graded : array of bool, shape (worlds,)
        Whether the world holds a graded condition.
    """
    known = np.isfinite(mean) & np.isfinite(sound) & graded
    away = np.abs(np.where(known, mean, 0.0) - np.where(np.isfinite(sound), sound, 0.0))
    return np.asarray(SEVERITY_SHARE * np.where(known, away, 0.0))
