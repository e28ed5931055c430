"""Whether a system is seen to work: what would make its owner call again."""

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from catchpan.catalog.entry import ObserveEntry
from catchpan.diagnosis.bench import Bench, Conditions
from catchpan.diagnosis.description import Description
from catchpan.diagnosis.probe import Probe

TROUBLE: Final = (
    ("room.short", "cool", 0.5),
    ("room.short", "heat", 0.5),
    ("spill.floor", "cool", 0.5),
    ("spill.furnace", "cool", 0.5),
    ("coil.freezes", "cool", 0.5),
    ("outdoor_coil.builds_ice", "heat", 0.5),
    ("blower.state", "off", 1.5),
    ("strip1.watts", "off", 100.0),
    ("contactor.pulled_in", "off", 0.5),
    ("burner.rogue", "off", 0.5),
)
"""Signal, demand, and the level above which it is trouble."""

PREFIX: Final = "works:"


def work_probes(description: Description) -> Mapping[str, Probe]:
    """Return the probes that together say whether it works in the season of the call."""
    shut = {"cooling": "heat", "heating": "cool"}.get(description.season or "", "")
    return {
        f"{PREFIX}{signal}:{demand}": Probe(
            ObserveEntry.model_validate({"quantity": "signal", "of": signal, "demand": demand})
        )
        for signal, demand, _ in TROUBLE
        if demand != shut
    }


def seen_working(bench: Bench, sets: Sequence[Conditions]) -> NDArray[np.bool_]:
    """Say for each set of conditions whether the plant shows no trouble, shape (len(sets),)."""
    numbers = bench.numbers(sets)
    fine = np.ones(len(sets), dtype=np.bool_)
    for column, name in enumerate(bench.probes):
        for signal, demand, limit in TROUBLE:
            if name == f"{PREFIX}{signal}:{demand}":
                fine &= ~(numbers[:, column] > limit)
    return fine


def harmless_alone(bench: Bench, names: Sequence[str]) -> frozenset[str]:
    """Return the conditions that by themselves keep nothing from working."""
    if not names:
        return frozenset()
    fine = seen_working(bench, [frozenset({name}) for name in names])
    return frozenset(name for name, ok in zip(names, fine, strict=True) if ok)
