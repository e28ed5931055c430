"""The next steps for a case, with their reasons and what can hurt there."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from catchpan.catalog.caution import hazards_of
from catchpan.catalog.load import Catalog
from catchpan.diagnosis.cases.candidate import Candidate
from catchpan.diagnosis.cases.case import Entry, Tried
from catchpan.diagnosis.cases.todays_reading import likeliest_setting, todays_reading
from catchpan.diagnosis.cases.weighing import NextStep
from catchpan.diagnosis.inference.belief import Reading
from catchpan.diagnosis.planning.doubt import UNLIKE
from catchpan.diagnosis.planning.explanation import explain
from catchpan.diagnosis.planning.planner import Plan, plan
from catchpan.diagnosis.planning.situation import Situation, Step
from catchpan.diagnosis.worlds.compile_family import titles

if TYPE_CHECKING:
    from catchpan.catalog.entry import CheckEntry, ProofEntry, RepairEntry


def situation_after(history: Sequence[Entry], candidate: Candidate) -> Situation:
    """Return where a technician stands after a history.

    Nobody is on site as long as everything came from the caller. What is open, switched off or
    called for is not in a case: covers count as on, the power as on.
    """
    readings = [e for e in history if isinstance(e, Reading)]
    tried = [e for e in history if isinstance(e, Tried)]
    on_site = any(r.reporter == "technician" for r in readings) or bool(tried)
    family = candidate.family
    places = [family.checks[r.check_id].place for r in readings if r.check_id in family.checks]
    done = {r.check_id for r in readings} | {t.repair_id for t in tried}
    worked = [t.repair_id for t in tried if t.worked and t.repair_id in family.repairs]
    owed = {p for name in worked for p in family.repairs[name].proofs}
    return Situation(
        place=places[-1] if on_site and places else ("" if on_site else "phone"),
        done=frozenset(done),
        on_phone=not on_site,
        unproven=frozenset((owed & family.checks.keys()) - done),
        doubt=UNLIKE,
    )


def proposed_steps(
    candidate: Candidate, history: Sequence[Entry], data: Catalog, limit: int
) -> tuple[NextStep, ...]:
    """Propose the next steps for the likeliest system.

    Parameters
    ----------
    candidate : Candidate
        The system with its belief.
    history : sequence of Reading or Tried
        What was done so far.
    limit : int
        How many, at least 1.
    """
    situation = situation_after(history, candidate)
    found = plan(candidate.family, candidate.belief, situation, limit)
    return tuple(_step(found, k, candidate, data) for k in range(len(found.steps)))


def _step(found: Plan, k: int, candidate: Candidate, data: Catalog) -> NextStep:
    step = found.steps[k]
    reasons = explain(replace(found, steps=found.steps[k:]), titles(data))
    return NextStep(
        kind=step.kind,
        target=step.target,
        title=step.title,
        place=_place(step, candidate),
        dollars=step.own_cost,
        dollars_after=step.cost_after,
        first=step.first,
        why=(*reasons.why, *_sound(step, candidate, data)),
        answers=reasons.answers,
        cautions=cautions(step, candidate, data),
    )


def _sound(step: Step, candidate: Candidate, data: Catalog) -> tuple[str, ...]:
    """Say what a sound unit would read today, where the step reads the running circuit."""
    check = candidate.family.checks.get(step.target)
    if check is None or check.look is None or check.id not in data.checks:
        return ()
    setting = likeliest_setting(candidate.belief)
    words = todays_reading(candidate.belief, check, data.checks[check.id], setting)
    return (f"A sound unit reads {words} in this weather.",) if words else ()


def _place(step: Step, candidate: Candidate) -> str:
    family = candidate.family
    if step.target in family.checks:
        return family.checks[step.target].place
    return family.repairs[step.target].place if step.target in family.repairs else ""


def cautions(step: Step, candidate: Candidate, data: Catalog) -> tuple[str, ...]:
    """Return what can hurt at a step: its own hazards, and those of getting to its place."""
    entries: dict[str, CheckEntry | RepairEntry | ProofEntry] = {
        **data.repairs,
        **data.proofs,
        **data.checks,
    }
    if step.target not in entries:
        return ()
    known = candidate.description
    location = known.options.get("location", "")
    found = hazards_of(entries[step.target], known.archetype, location, data)
    return tuple(h.caution for h in found)
