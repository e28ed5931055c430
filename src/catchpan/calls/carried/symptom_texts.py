"""What the search of a caller's words needs, so that it can be done without signal."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from catchpan.diagnosis.cases import symptom_search
from catchpan.diagnosis.cases.symptom_search import REASSURING, symptom_index
from catchpan.diagnosis.cases.symptom_words import (
    DENIALS,
    DENYING,
    ENDINGS,
    REWRITES,
    SAME,
    SPLITS,
    STOP,
)

if TYPE_CHECKING:
    from catchpan.catalog.load import Catalog


def symptom_texts(data: Catalog) -> dict[str, Any]:
    """Return the sayings of a catalog, how telling each word is, and how words are read."""
    index = symptom_index(data)
    return {
        "sayings": [asdict(saying) for saying in index.sayings],
        "telling": index.telling,
        "usual": dict(index.usual),
        "stop": sorted(STOP),
        "denials": sorted(DENIALS),
        "denying": sorted(DENYING),
        "reassuring": sorted(REASSURING),
        "same": dict(SAME),
        "endings": list(ENDINGS),
        "rewrites": [[wanted, instead.replace("\\", "$")] for wanted, instead in REWRITES],
        "splits": SPLITS,
        "numbers": {
            name.lower(): getattr(symptom_search, name)
            for name in ("SURE", "LEAST", "SPELLING", "UNHEARD")
        },
    }
