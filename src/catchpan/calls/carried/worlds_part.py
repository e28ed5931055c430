"""The part of a compiled call that holds its worlds."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from catchpan.diagnosis.worlds.family import Family


def worlds_part(family: Family) -> tuple[dict[str, Any], dict[str, NDArray[Any]]]:
    """Return header and arrays of the worlds: what each holds, its prior, how it runs."""
    place = {name: j for j, name in enumerate(family.conditions)}
    header = {
        "count": len(family.worlds),
        "conditions": list(family.conditions),
        "kinds": {name: family.kinds[name] for name in place if name in family.kinds},
        "harmless": sorted(family.harmless & place.keys()),
        "settings": [dict(setting) for setting in family.settings],
        "other": np.flatnonzero(family.other).tolist(),
        "cut_mass": family.cut_mass,
    }
    arrays: dict[str, NDArray[Any]] = {
        "log_prior": np.asarray(family.log_prior, dtype=np.float64),
        "setting": np.array([w.setting for w in family.worlds], dtype=np.uint16),
        "calm": np.array([w.calm for w in family.worlds], dtype=np.uint8),
        "works": family.works.astype(np.uint8),
        "lasts": family.lasts.astype(np.uint8),
        "struggling": _struggling(family),
        **_lists("conditions", place, [w.conditions for w in family.worlds]),
        **_lists("roots", place, [w.roots for w in family.worlds]),
    }
    return {"worlds": header}, arrays


def _struggling(family: Family) -> NDArray[np.uint8]:
    """Return where the system runs and falls short; nowhere where the family does not say."""
    if family.struggling is None:
        return np.zeros(len(family.worlds), dtype=np.uint8)
    return family.struggling.astype(np.uint8)


def _lists(
    name: str, place: dict[str, int], sets: Sequence[Iterable[str]]
) -> dict[str, NDArray[Any]]:
    """Return sets of names as positions, one set after the other, and where each set starts."""
    rows = [sorted(place[member] for member in members) for members in sets]
    ends = np.cumsum([0, *(len(row) for row in rows)])
    return {
        f"{name}.start": ends.astype(np.uint32),
        f"{name}.list": np.array([j for row in rows for j in row], dtype=np.uint16),
    }
