"""How long until the water shows: hours from a plug to a tripped switch or a wet ceiling."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from catchpan.physics.condensate import water_volume_m3_s
from catchpan.physics.pan import NO_AUXILIARY_PAN, NO_PUMP, Pan, PanHistory, PanSystem, pan_history
from catchpan.plant.part import Array, Surroundings
from catchpan.plant.plant import Plant
from catchpan.plant.settle import settle

INCH_M: Final = 0.0254

TRIP_SHARE: Final = 0.5
"""Height at which a level switch trips, as a share of the pan's depth: 1/2 to 1 in of 1.5 in
(common practice, no source)."""


@dataclass(frozen=True)
class Pans:
    """Sizes of the pans; the auxiliary pan is 3 in larger than the unit and 1.5 in deep.

    IRC 2018 M1411.3.1 as quoted in the trade facts; the rest assumed.
    """

    primary_area_m2: float = 20.0 * 20.0 * INCH_M**2
    primary_depth_m: float = 1.25 * INCH_M
    auxiliary_area_m2: float = 25.0 * 24.0 * INCH_M**2
    auxiliary_depth_m: float = 1.5 * INCH_M


@dataclass(frozen=True)
class Run:
    """Share of the time the system runs (0 to 1; 0.6 on a warm day, assumed), and days."""

    duty: float = 0.6
    days: float = 7.0


def condensate_m3_s(plant: Plant, worlds: Sequence[Sequence[str]], around: Surroundings) -> Array:
    """Water the coil makes in each world while it runs [m3/s], shape (worlds,)."""
    state = settle(plant, plant.set_up(worlds), around)
    rate = state.signals.get("condensate.kg_s", np.zeros(len(worlds)))
    return np.asarray(water_volume_m3_s(rate))


def water_history(
    plant: Plant,
    worlds: Sequence[Sequence[str]],
    around: Surroundings,
    run: Run | None = None,
    pans: Pans | None = None,
) -> PanHistory:
    """Follow the condensate of each world from empty pans on.

    Parameters
    ----------
    plant : Plant
        The system; its options say which pans, pumps and switches there are.
    worlds : sequence of sequences of str
        Conditions of each world.
    around : Surroundings
        Weather, with the demand ``cool``.
    run : Run, optional
        How much the system runs, and how long to follow it.
    pans : Pans, optional
        Sizes.

    Returns
    -------
    PanHistory
        ``hours_to("primary switch")``, ``hours_to("auxiliary rim")`` and so on.
    """
    run = run or Run()
    made = condensate_m3_s(plant, worlds, around) * run.duty
    system = _pan_system(plant, plant.set_up(worlds).values, pans or Pans())
    return pan_history(system, made, run.days * 86400.0)


def _pan_system(plant: Plant, value: Mapping[str, Array], sizes: Pans) -> PanSystem:
    parts = {part.id for part in plant.parts}
    plug = np.maximum(value["pan.trap_blocked"], value["pan.line_blocked"])
    plug = np.maximum(plug, value["pan.air_held"])
    primary = Pan(
        sizes.primary_area_m2,
        sizes.primary_depth_m,
        outlet_height_m=0.0,
        outlet_capacity_m3_s=1.0e-4,
        outlet_blocked=np.where(plug > 0.5, 1.0, 0.0),
        switch_height_m=_trip(parts, "float_primary", sizes.primary_depth_m),
        switch_stops_supply=_stops(plant, parts, "float_primary"),
    )
    auxiliary = NO_AUXILIARY_PAN
    if value["pan.aux_pan"].flat[0] > 0.5:
        auxiliary = Pan(
            sizes.auxiliary_area_m2,
            sizes.auxiliary_depth_m,
            outlet_height_m=0.0 if value["pan.aux_drain"].flat[0] > 0.5 else np.inf,
            switch_height_m=_trip(parts, "float_aux", sizes.auxiliary_depth_m),
            switch_stops_supply=_stops(plant, parts, "float_aux"),
        )
    return PanSystem(primary, auxiliary, NO_PUMP)


def _trip(parts: set[str], name: str, depth_m: float) -> float:
    return TRIP_SHARE * depth_m if name in parts else np.inf


def _stops(plant: Plant, parts: set[str], name: str) -> bool:
    """Whether the switch is wired at all: both its terminals lead somewhere else."""
    if name not in parts:
        return False
    joined = [plant.join.get(f"{name}.{end}", "") for end in ("a", "b")]
    shared = [sum(node == other for other in plant.join.values()) > 1 for node in joined]
    return all(shared)
