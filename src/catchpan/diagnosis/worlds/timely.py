"""Which tests a repair can be proven by today: some need cooling weather, some heating weather."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from catchpan.catalog.system import archetype

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catchpan.catalog.entry import ProofEntry, RepairEntry, Weather
    from catchpan.catalog.load import Catalog
    from catchpan.diagnosis.worlds.description import Description

COLDEST_COOLING_C: Final = 12.8
"""Colder than 55 degF outdoors, a charge is not judged in cooling (RA3.2, trade facts)."""

HEATS: Final = "outdoor_heat_pump"
"""The piece of an archetype whose outdoor unit heats as well."""

UNDER: Final[Mapping[Weather, str]] = {"cooling": "cool", "heating": "heat"}


def weather_of(description: Description) -> Weather:
    """Return the weather of a visit as far as tests after a repair go.

    It is that of the season; where nobody said it, and against a call about cooling, the outdoor
    temperature decides, and without one cooling weather stands in.
    """
    outdoor = description.outdoor_c
    if description.season == "heating" or (outdoor is not None and outdoor < COLDEST_COOLING_C):
        return "heating"
    return "cooling"


def timely_proof(proof: ProofEntry, description: Description, data: Catalog) -> ProofEntry:
    """Return a proof as it is made in the weather of the visit.

    One that may be made ``either`` way is made in heating where it is cold and the outdoor unit
    heats as well.
    """
    today = weather_of(description)
    if not proof.either or today == proof.weather or not _heats(description, data):
        return proof
    observe = proof.observe.model_copy(update={"demand": UNDER[today]})
    return proof.model_copy(update={"observe": observe, "weather": today})


def timely_proofs(repair: RepairEntry, description: Description, data: Catalog) -> tuple[str, ...]:
    """Return the proofs of a repair that can be made today, those instead of others among them.

    What a catalog that was cut down has no proof of is passed on as it is.
    """
    found: list[str] = []
    today = weather_of(description)
    for name in repair.proofs:
        proof = data.proofs.get(name)
        made = timely_proof(proof, description, data) if proof is not None else None
        found += [name] if made is None or made.weather in {"", today} else made.instead
    return tuple(dict.fromkeys(found))


def timely_catalog(data: Catalog, description: Description) -> Catalog:
    """Return a catalog whose proofs and repairs are those of the weather of the visit."""
    proofs = {k: timely_proof(p, description, data) for k, p in data.proofs.items()}
    repairs = {
        k: r.model_copy(update={"proofs": timely_proofs(r, description, data)})
        for k, r in data.repairs.items()
    }
    return replace(data, proofs=proofs, repairs=repairs)


def _heats(description: Description, data: Catalog) -> bool:
    return HEATS in archetype(description.archetype, data).pieces
