"""Judging an acceptance test: pass, fail, or too close to call."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catchpan.catalog.entry import CheckEntry
from catchpan.diagnosis.cases.measured_value import (
    as_modelled,
    scale_of,
    takes_a_number,
    write_value,
)
from catchpan.diagnosis.inference.panel_reading import todays_view
from catchpan.diagnosis.worlds.panel_quantity import PanelLook
from catchpan.diagnosis.worlds.timely import timely_proof

if TYPE_CHECKING:
    from catchpan.calls.body import ProofResult
    from catchpan.calls.guide import Guide
    from catchpan.calls.use_case import Number
    from catchpan.catalog.entry import ProofEntry


def measured_proof(entry: ProofEntry) -> CheckEntry | None:
    """Return the proof as a check that takes a number, or None where it is judged by eye."""
    as_check = CheckEntry.model_construct(
        id=entry.id, title=entry.title, unit=entry.unit, observe=entry.observe, answers=()
    )
    return as_check if takes_a_number(as_check) else None


def todays_proof(guide: Guide, proof_id: str) -> ProofEntry:
    """Return a proof with its limits as they are today.

    Of the running circuit they are laid round what a sound one reads in the weather of the visit,
    as far as it is known.
    """
    entry = timely_proof(guide.data.proofs[proof_id], guide.description, guide.data)
    if entry.observe.quantity != "cycle":
        return entry
    view = todays_view(guide.belief.views[entry.observe.demand])
    mean, _ = view.expected(PanelLook(entry.observe.demand, entry.observe.of, 0.0))
    sound = float(mean[guide.family.index[(frozenset(), guide.likeliest_position)]])
    low, high = (None if x is None else sound + x for x in (entry.low, entry.high))
    return entry.model_copy(update={"low": low, "high": high})


def left_for_later(guide: Guide) -> tuple[str, ...]:
    """Return the proofs of what was repaired that need the weather of the other season."""
    family, found = guide.family, list[str]()
    passed = {e.body.proof_id for e in guide.state.proofs if e.body.result == "pass"}
    for mended in guide.mended:
        if mended.outcome == "did_not":
            continue
        today = family.repairs[mended.repair_id].proofs
        found += [p for p in guide.data.repairs[mended.repair_id].proofs if p not in today]
    return tuple(p for p in dict.fromkeys(found) if p in family.checks and p not in passed)


def judge(entry: ProofEntry, number: Number) -> ProofResult:
    """Return how a measured proof came out.

    Within its uncertainty (one standard deviation) of a limit it is too close to call.
    """
    as_check = measured_proof(entry)
    if as_check is None:
        return "too_close"
    scale = scale_of(as_check)
    si_value = as_modelled(entry.observe, number.si_value, number.value, number.printed)
    kept = si_value * scale.factor + scale.offset
    spread = entry.uncertainty.value
    for limit in (entry.low, entry.high):
        if limit is not None and abs(kept - limit) < spread:
            return "too_close"
    below = entry.low is not None and kept < entry.low
    above = entry.high is not None and kept >= entry.high
    return "fail" if below or above else "pass"


def limits_words(entry: ProofEntry) -> str:
    """Return in words what a proof must read; empty where its title says it and it is seen."""
    as_check = measured_proof(entry)
    if as_check is None:
        return ""
    if entry.observe.printed is not None:
        return _share_words(entry, entry.observe.printed * scale_of(as_check).factor)
    low, high = (None if x is None else write_value(as_check, x) for x in (entry.low, entry.high))
    if low and high:
        return f"{low} to {high}."
    return f"{low} or more." if low else f"below {high}."


def _share_words(entry: ProofEntry, printed: float) -> str:
    low, high = (None if x is None else f"{x / printed * 100:.0f}" for x in (entry.low, entry.high))
    if low and high:
        return f"{low} to {high} % of what is printed."
    return f"{low} % of what is printed, or more." if low else f"below {high} % of what is printed."


def plain_units(text: str) -> str:
    """Return a text with units as people say it: a difference of degrees is in degrees."""
    return text.replace("delta °", "°")
