"""The catalog as JSON, for a phone to keep: all texts, and what entering a reading needs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from catchpan.calls.advice import DANGER_WORDS, NEVER, PRECAUTIONS
from catchpan.calls.carried.check_texts import check_texts, number_of
from catchpan.calls.carried.symptom_texts import symptom_texts
from catchpan.calls.ladder_words import PARTS, UNWIRED
from catchpan.calls.proving import limits_words, measured_proof
from catchpan.catalog.caution import FURNACE
from catchpan.catalog.system import options_of, prior_of_value, structural_options
from catchpan.diagnosis.planning.safety_order import DISCHARGE, LEAVE, SWITCH_OFF, SWITCH_ON
from catchpan.diagnosis.worlds.compiled import catalog_hash

if TYPE_CHECKING:
    from catchpan.catalog.entry import ArchetypeEntry, ProofEntry
    from catchpan.catalog.load import Catalog


def catalog_file(data: Catalog) -> dict[str, Any]:
    """Return a catalog as JSON values; ``catalog`` is its hash."""
    return {
        "catalog": catalog_hash(data),
        "archetypes": [_archetype(entry, data) for entry in data.archetypes.values()],
        "places": [
            {
                **entry.model_dump(include={"id", "title", "where", "cover"}),
                "hazards_by_location": {k: list(v) for k, v in entry.hazards_by_location.items()},
            }
            for entry in data.places.values()
        ],
        "checks": check_texts(data),
        "repairs": [
            {
                **entry.model_dump(
                    mode="json",
                    include={
                        "id", "title", "place", "steps", "load", "tools", "hazards", "requires",
                        "refer", "caller_safe", "proofs",
                    },
                ),
                "minutes": entry.minutes.value,
                "dollars": entry.parts_dollars.value,
            }
            for entry in data.repairs.values()
        ],
        "proofs": [_proof(entry) for entry in data.proofs.values()],
        "faults": [
            entry.model_dump(
                mode="json",
                include={"id", "title", "plain", "kind", "family", "component", "why"},
            )
            for entry in data.faults.values()
        ],
        "hazards": [
            entry.model_dump(include={"id", "title", "caution"}) for entry in data.hazards.values()
        ],
        "symptoms": symptom_texts(data),
        "words": {
            "precautions": [{"faults": list(f), "text": text} for f, text in PRECAUTIONS],
            "never": list(NEVER),
            "danger": {kind: list(texts) for kind, texts in DANGER_WORDS.items()},
            "parts": dict(PARTS),
            "unwired": dict(UNWIRED),
            "acts": {
                "switch_off": SWITCH_OFF,
                "discharge": DISCHARGE,
                "switch_on": SWITCH_ON,
                "leave": list(LEAVE),
            },
        },
    }  # fmt: skip


def _archetype(entry: ArchetypeEntry, data: Catalog) -> dict[str, Any]:
    structural = structural_options(entry.id, data)
    return {
        "id": entry.id,
        "title": entry.title,
        "summary": entry.summary,
        "demands": list(entry.demands),
        "furnace": FURNACE in entry.pieces,
        "options": [
            {
                "id": option.id,
                "title": option.title,
                "question": option.question,
                "structural": option.id in structural,
                "values": [
                    {"id": v.id, "title": v.title, "prior": prior_of_value(option, v, {})}
                    for v in option.values
                ],
            }
            for option in options_of(entry.id, data).values()
        ],
    }


def _proof(entry: ProofEntry) -> dict[str, Any]:
    as_check = measured_proof(entry)
    return {
        "id": entry.id,
        "title": entry.title,
        "how": list(entry.how),
        "place": entry.place,
        "tool": entry.tool,
        "hazards": list(entry.hazards),
        "requires": list(entry.requires),
        "minutes": entry.minutes.value,
        "number": number_of(as_check) if as_check is not None else None,
        "circuit": _circuit(entry),
        "low": entry.low,
        "high": entry.high,
        "uncertainty": entry.uncertainty.value,
        "limits": limits_words(entry),
        "weather": entry.weather,
    }


def _circuit(entry: ProofEntry) -> dict[str, str] | None:
    """Return what a proof reads off the running circuit: its limits are laid round a sound one."""
    if entry.observe.quantity != "cycle":
        return None
    return {"demand": entry.observe.demand, "of": entry.observe.of}
