"""The part of a compiled call that holds the wiring, with every reading in order and at each fault.

For the setting that is likeliest beforehand. A drawing is the same whatever is wrong; only its
readings differ, so they are kept as one table for each demand: a row for everything in order and
one for each fault, with what it is likeliest to have left behind (a full pan opens the float).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from catchpan.calls.ladder import Drawing, drawings, positions, volts
from catchpan.catalog.system import archetype, build_plant
from catchpan.diagnosis.worlds.bench import surroundings
from catchpan.plant.settle import settle

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from catchpan.catalog.load import Catalog
    from catchpan.diagnosis.worlds.description import Description
    from catchpan.diagnosis.worlds.family import Family
    from catchpan.plant.plant import Plant

POSITIONS: Final = {"": 0, "closed": 1, "open": 2}
DECIMALS: Final = 1
"""Voltages are kept to a tenth of a volt: as a meter shows them."""


def ladders_part(
    description: Description, family: Family, data: Catalog
) -> tuple[dict[str, Any], dict[str, NDArray[Any]]]:
    """Return header and arrays of the wiring under each demand."""
    chance = np.exp(family.log_prior - family.log_prior.max())
    setting = np.array([w.setting for w in family.worlds])
    likeliest = int(np.bincount(setting, chance).argmax())
    plant = build_plant(description.archetype, family.settings[likeliest], data)
    faults = [c for c in family.conditions if c in plant.conditions]
    assumed = [_likeliest_with(family, fault, likeliest, plant) for fault in faults]
    drawn, setup = drawings(plant), plant.set_up([(), *assumed])
    header: list[dict[str, Any]] = []
    arrays: dict[str, NDArray[Any]] = {}
    for k, demand in enumerate(archetype(description.archetype, data).demands):
        state = settle(plant, setup, surroundings(description, demand))
        rows = [row for drawing in drawn for row in drawing.rows]
        shown = np.stack([volts(plant, state, row) for row in rows], axis=1)
        places = [[POSITIONS[p] for p in positions(plant, state, row)] for row in rows]
        arrays[f"ladder.{k}.volts"] = np.round(shown, DECIMALS).astype(np.float32)
        arrays[f"ladder.{k}.position"] = np.array(places, dtype=np.uint8).T
        header.append(
            {
                "demand": demand,
                "setting": likeliest,
                "circuits": [_circuit(plant, drawing) for drawing in drawn],
                "faults": faults,
                "assumed": [list(conditions) for conditions in assumed],
            }
        )
    return {"ladders": header}, arrays


def _likeliest_with(family: Family, fault: str, setting: int, plant: Plant) -> tuple[str, ...]:
    """Return the conditions of the likeliest world in which nothing but this fault arose."""
    alone = [
        (float(weight), world)
        for weight, world in zip(family.log_prior, family.worlds, strict=True)
        if world.roots == {fault} and world.setting == setting
    ]
    if not alone:
        return (fault,)
    _, likeliest = max(alone, key=lambda pair: pair[0])
    return tuple(sorted(c for c in likeliest.conditions if c in plant.conditions))


def _circuit(plant: Plant, drawing: Drawing) -> dict[str, Any]:
    types = {spec.id: spec.type for spec in plant.blueprint.parts}
    return {
        "title": drawing.title,
        "against": drawing.against,
        "lines": [
            {
                "depth": row.depth,
                "words": row.words,
                "kind": row.kind,
                "branch": row.branch,
                "part": types.get(row.branch.partition(".")[0], ""),
            }
            for row in drawing.rows
        ],
    }
