"""The part of a compiled call that holds repairs, places and what work costs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from catchpan.diagnosis.planning.practice import practice_of

if TYPE_CHECKING:
    from catchpan.catalog.load import Catalog
    from catchpan.diagnosis.worlds.family import Family, RepairModel


def work_part(family: Family, data: Catalog) -> dict[str, Any]:
    """Return the header of repairs, places, costs and what comes back by itself."""
    return {
        "repairs": [_repair(repair) for repair in family.repairs.values()],
        "places": [
            {
                "id": place.id,
                "title": place.title,
                "travel_minutes": place.travel_minutes,
                "covers": dict(place.covers),
            }
            for place in family.places.values()
        ],
        "costs": {
            "dollars_per_minute": family.dollars_per_minute,
            "call_back_dollars": family.call_back_dollars,
            "dispatch_minutes": family.dispatch_minutes,
            "power_minutes": family.power_minutes,
            "call_minutes": family.call_minutes,
            "proof_minutes": family.proof_minutes,
            "refer_minutes": family.refer_minutes,
            "group_minutes": dict(family.group_minutes),
            "group_after": dict(family.group_after),
            "repair_still_owed": family.repair_still_owed,
        },
        "returning": sorted(practice_of(data, None).returning & set(family.conditions)),
    }


def _repair(repair: RepairModel) -> dict[str, Any]:
    return {
        "id": repair.id,
        "title": repair.title,
        "place": repair.place,
        "minutes": repair.minutes,
        "dollars": repair.dollars,
        "fixes": sorted(repair.fixes),
        "success": repair.success,
        "hazard_cost": repair.hazard_cost,
        "requires": sorted(repair.requires),
        "refer": repair.refer,
        "proofs": list(repair.proofs),
        "caller_safe": repair.caller_safe,
    }
