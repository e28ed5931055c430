"""The checks of a catalog as JSON: words, answers, and how a number is entered and kept."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from catchpan.calls.advice import danger_kind
from catchpan.calls.described import settled_by
from catchpan.diagnosis.cases.measured_value import (
    scale_of,
    sensible,
    takes_a_number,
    weighed_as_it_is,
)
from catchpan.diagnosis.inference.belief import Reading
from catchpan.diagnosis.planning.practice import Practice, call_to_answer, practice_of
from catchpan.diagnosis.worlds.likelihood import RESET_LABELS, RESET_OUTCOMES
from catchpan.units.unit import UNITS, find_units

if TYPE_CHECKING:
    from catchpan.catalog.entry import CheckEntry
    from catchpan.catalog.load import Catalog

WORDS: Final = frozenset(
    {
        "id", "title", "also", "ask", "how", "place", "phone", "caller_safe", "complaint", "tool",
        "requires", "hazards", "group", "archetypes", "needs_option", "phrases",
    }
)  # fmt: skip


SHOWN_IN: Final[dict[str, tuple[str, ...]]] = {
    "V": ("mV",),
    "mV": ("V",),
    "A": ("mA",),
    "µA": (),
    "µF": (),
    "°F": ("°C",),
    "delta °F": ("delta °C",),
    "psig": ("kPa", "bar"),
    "in. w.c.": ("Pa",),
    "ohm": ("kohm", "Mohm"),
    "fl oz/min": ("L/h", "gal/h"),
}
"""The other units that instruments of the trade show what is usually read in a unit."""


def check_texts(data: Catalog) -> list[dict[str, Any]]:
    """Return every check as JSON values."""
    known: dict[tuple[object, ...], int] = {}
    practice = practice_of(data, None)
    return [_check(entry, practice, known) for entry in data.checks.values()]


def _check(
    entry: CheckEntry, practice: Practice, known: dict[tuple[object, ...], int]
) -> dict[str, Any]:
    look, seen = entry.observe, practice.looks_at.get(entry.id)
    return {
        **entry.model_dump(mode="json", include=set(WORDS)),
        "minutes": entry.minutes.value,
        "quantity": look.quantity,
        "of": look.of,
        "between": list(look.between or ()),
        "demand": look.demand,
        "resets": list(look.resets),
        "answers": _answers(entry),
        "number": number_of(entry) if takes_a_number(entry) else None,
        "runs": call_to_answer(entry),
        "looks_at": known.setdefault(seen, len(known)) if seen else None,
        "lasting": entry.id in practice.lasting,
        "puts_back": sorted(practice.puts_back.get(entry.id, ())),
        "as_it_is": weighed_as_it_is(entry),
        "settles": settled_by(entry),
        "danger_kinds": {
            a.id: danger_kind(Reading(entry.id, a.id)) for a in entry.answers if a.danger
        },
    }


def _answers(entry: CheckEntry) -> list[dict[str, Any]]:
    if entry.observe.quantity == "reset":
        pairs = zip(RESET_OUTCOMES, RESET_LABELS, strict=True)
        return [
            {"id": i, "label": label, "low": None, "high": None, "danger": False}
            for i, label in pairs
        ]
    kept = {"id", "label", "low", "high", "danger"}
    return [answer.model_dump(mode="json", include=kept) for answer in entry.answers]


def number_of(entry: CheckEntry) -> dict[str, Any]:
    """Return how a check's number is entered: its units, its span [SI], how it is kept."""
    scale = scale_of(entry)
    usual = next(u for u in find_units(entry.unit) if u.dimension is scale.dimension)
    shown = SHOWN_IN.get(usual.name)
    others = [
        u
        for u in UNITS
        if u.dimension is scale.dimension and u is not usual and (shown is None or u.name in shown)
    ]
    low, high = sensible(entry)
    return {
        "unit": usual.name,
        "units": [
            {
                "name": u.name,
                "scale": u.scale(),
                "zero": u.zero_si(),
                "spellings": list(u.spellings),
            }
            for u in (usual, *others)
        ],
        "factor": scale.factor,
        "offset": scale.offset,
        "low": low,
        "high": None if math.isinf(high) else high,
        "over_limit": math.isinf(high),
        "printed": entry.observe.printed,
        "printed_on": entry.observe.printed_on,
    }
