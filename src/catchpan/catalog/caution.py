"""Which cautions belong to a step, where it is done and on this kind of system."""

from catchpan.catalog.entry import CheckEntry, HazardEntry, ProofEntry, RepairEntry
from catchpan.catalog.load import Catalog

LIVE = ("power_on", "call:")
"""What a step requires when it is done with the power on."""

INSIDE = "cover:indoor_unit"

FURNACE = "furnace"
"""The piece of an archetype whose cabinet door has a switch."""


def hazards_of(
    entry: CheckEntry | RepairEntry | ProofEntry,
    archetype: str,
    location: str,
    data: Catalog,
    *,
    arriving: bool = True,
) -> tuple[HazardEntry, ...]:
    """Return what can hurt in a step.

    Its own hazards; those of getting to its place, where the indoor unit stands there; and the
    door switch where live readings are taken inside a furnace.

    Parameters
    ----------
    entry : CheckEntry, RepairEntry or ProofEntry
        The step.
    archetype, location : str
        Kind of system and where its indoor unit stands; empty where unknown.
    data : Catalog
        Holds the hazards.
    arriving : bool
        Whether the technician is only now going to the place.
    """
    names = list(entry.hazards)
    place = data.places.get(entry.place)
    if place is not None and arriving:
        names = [*place.hazards_by_location.get(location, ()), *names]
    if _live_inside(entry) and archetype in data.archetypes:
        names += ["door-switch"] * (FURNACE in data.archetypes[archetype].pieces)
    return tuple(data.hazards[n] for n in dict.fromkeys(names) if n in data.hazards)


def _live_inside(entry: CheckEntry | RepairEntry | ProofEntry) -> bool:
    if isinstance(entry, ProofEntry):
        return False
    return INSIDE in entry.requires and any(r.startswith(LIVE) for r in entry.requires)
