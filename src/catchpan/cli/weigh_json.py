"""A weighing as JSON; ``docs/weigh.schema.json`` says what each field is."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any, Final

from catchpan.diagnosis.cases.symptom_search import Match
from catchpan.diagnosis.cases.weighing import Cause, Weighing

SCHEMA: Final = 1
"""Number of the form; fields may be added under the same number, never changed or removed."""


def weighing_json(
    weighing: Weighing, matches: Sequence[Match] = (), top: int = 0
) -> dict[str, Any]:
    """Return a weighing as plain data.

    Parameters
    ----------
    weighing : Weighing
        As returned by ``weigh``.
    matches : sequence of Match, optional
        What the caller's words were taken to mean.
    top : int, optional
        How many causes; 0 for all.
    """
    return {
        "schema": SCHEMA,
        "systems": [asdict(s) for s in weighing.systems],
        "ranking": [_cause(c) for c in weighing.ranking[: top or None]],
        "parts": [asdict(g) for g in weighing.parts[: top or None]],
        "repairs": [asdict(g) for g in weighing.repairs],
        "none_of_these": weighing.none_of_these,
        "no_fault": weighing.no_fault,
        "several": weighing.several,
        "pairs": [asdict(p) for p in weighing.pairs],
        "consequences": [_cause(c) for c in weighing.consequences[: top or None]],
        "latent": [_latent(vars(d)) for d in weighing.latent],
        "options": [_option(vars(o)) for o in weighing.options],
        "doubt": asdict(weighing.doubt) if weighing.doubt is not None else None,
        "steps": [asdict(s) for s in weighing.steps],
        "cut_mass": weighing.cut_mass,
        "set_aside": [{"entry": k, "words": w} for k, w in weighing.set_aside.items()],
        "notes": list(weighing.notes),
        "targets": asdict(weighing.targets) if weighing.targets is not None else None,
        "complaint_read_as": [asdict(m) for m in matches],
    }


def _cause(cause: Cause) -> dict[str, Any]:
    return {**asdict(cause), "speaks": [asdict(s) for s in cause.speaks]}


def _latent(fields: dict[str, Any]) -> dict[str, Any]:
    return {k: list(v) if isinstance(v, tuple) else v for k, v in fields.items()}


def _option(fields: dict[str, Any]) -> dict[str, Any]:
    values = [{"id": s.id, "share": s.probability} for s in fields["values"]]
    return {"id": fields["id"], "title": fields["title"], "values": values}
