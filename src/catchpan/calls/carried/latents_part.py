"""The part of a compiled call that holds latent defects and what each answer says of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, get_args

from catchpan.calls.body import Reporter
from catchpan.catalog.system import options_of, prior_of_value
from catchpan.diagnosis.inference.belief import Reading
from catchpan.diagnosis.inference.latent import (
    decided_by_option,
    evidence,
    first_log_odds,
    found_by,
    possible_defects,
)

if TYPE_CHECKING:
    from catchpan.catalog.entry import FaultEntry
    from catchpan.catalog.load import Catalog
    from catchpan.diagnosis.worlds.description import Description


def latents_part(description: Description, data: Catalog) -> dict[str, Any]:
    """Return the header of the latent defects, and of the options that decide some of them."""
    return {
        "latents": [
            {
                "id": fault.id,
                "title": fault.title,
                "needs_option": {k: list(v) for k, v in fault.needs_option.items()},
                "log_odds": first_log_odds(fault, description),
                "by_option": decided_by_option(fault, data),
                "found_by": list(found_by(fault, data)),
                "evidence": _evidence(fault, data),
            }
            for fault in possible_defects(description, data)
        ],
        "options": {
            name: {v.id: prior_of_value(option, v, description.options) for v in option.values}
            for name, option in options_of(description.archetype, data).items()
        },
    }


def _evidence(fault: FaultEntry, data: Catalog) -> list[dict[str, Any]]:
    """Return the weight of every answer that speaks for or against a defect [nats]."""
    found = []
    for check in data.checks.values():
        for answer in check.answers:
            weights = {
                who: evidence(check, fault.id, Reading(check.id, answer.id, reporter=who))
                for who in get_args(Reporter)
            }
            if any(weights.values()):
                found.append({"check_id": check.id, "answer_id": answer.id, **weights})
    return found
