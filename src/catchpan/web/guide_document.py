"""The guide of a call as the interface tells it; ``docs/api.md`` says what each field is."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel

from catchpan.calls.advice import NEVER, advice, danger_advice
from catchpan.calls.carried.carried_call import described
from catchpan.calls.event_words import check_title, step_title
from catchpan.calls.expected import cautions, healthy_reading
from catchpan.calls.loading import cost_range, load_list
from catchpan.diagnosis.planning.forecast import NO_FAULT
from catchpan.diagnosis.worlds.compiled import catalog_hash

if TYPE_CHECKING:
    from collections.abc import Iterable

    from catchpan.calls.guide import Guide
    from catchpan.diagnosis.inference.causes import Share
    from catchpan.diagnosis.planning.situation import Step


class NamedShare(BaseModel):
    """Something with its share."""

    id: str
    title: str
    share: float


class CausesDocument(BaseModel):
    """The ranking of what may be wrong."""

    roots: list[NamedShare]
    consequences: list[NamedShare]
    latent: list[NamedShare]
    pairs: list[NamedShare]
    several: float
    no_fault: float
    other: float
    leading: NamedShare
    settings: dict[str, list[dict[str, Any]]]
    cut_mass: float


class ForecastDocument(BaseModel):
    """One way a step may come out."""

    outcome_id: str
    label: str
    probability: float
    leading: str
    leading_title: str
    share: float
    danger: bool


class StepDocument(BaseModel):
    """A next step."""

    kind: str
    target: str
    title: str
    place: str
    own_cost: float
    cost_after: float
    total_cost: float
    first: list[str]
    forecasts: list[ForecastDocument]
    healthy: str
    cautions: list[dict[str, str]]


class GuideDocument(BaseModel):
    """Everything that follows from a call's trail."""

    call_id: str
    compiled: str
    catalog: str
    phase: str
    description: dict[str, Any]
    causes: CausesDocument
    steps: list[StepDocument]
    now: dict[str, Any]
    repair_now: float
    worlds: int
    cut: float
    explanation: dict[str, Any]
    conflict: dict[str, Any] | None
    dangers: list[dict[str, Any]]
    danger_advice: list[str]
    latents: list[dict[str, Any]]
    situation: dict[str, Any]
    spent: dict[str, float]
    ahead: dict[str, float]
    load: list[dict[str, Any]]
    advice: list[dict[str, Any]]
    never: list[str]
    mended: list[dict[str, Any]]
    unused: list[str]
    likeliest_setting: dict[str, str]


def guide_document(guide: Guide, key: str) -> GuideDocument:
    """Return a guide as the interface tells it; ``key`` names the compiled call it is worked with.

    Once a danger stands or the call is closed, nothing further is priced ahead.
    """
    plan, why = guide.plan, guide.explanation
    return GuideDocument(
        call_id=guide.state.call_id,
        compiled=key,
        catalog=catalog_hash(guide.data),
        phase=guide.phase,
        description=described(guide.description),
        causes=_causes(guide),
        steps=[_step(guide, step) for step in plan.steps],
        now={
            "leading": plan.now.leading,
            "leading_title": _title(guide, plan.now.leading),
            "share": plan.now.share,
        },
        repair_now=plan.repair_now,
        worlds=plan.worlds,
        cut=plan.cut,
        explanation={k: v for k, v in vars(why).items() if k != "step"},
        conflict=_conflict(guide),
        dangers=[
            {
                "check_id": r.check_id,
                "answer_id": r.outcome_id,
                "title": check_title(guide.data, r.check_id),
            }
            for r in guide.dangers
        ],
        danger_advice=list(danger_advice(guide)),
        latents=[{**vars(found), "named": found.named} for found in guide.latents],
        situation=_plain(vars(guide.situation)),
        spent={
            "minutes": guide.spent.minutes,
            "parts_dollars": guide.spent.parts_dollars,
            "dollars": guide.spent.minutes * guide.family.dollars_per_minute
            + guide.spent.parts_dollars,
        },
        ahead=asdict(cost_range(guide)),
        load=[asdict(item) for item in load_list(guide)],
        advice=[asdict(item) for item in advice(guide)],
        never=list(NEVER),
        mended=[
            {
                "repair_id": m.repair_id,
                "outcome": m.outcome,
                "roots": _shares(guide, m.roots),
                "left_behind": _shares(guide, m.left_behind),
            }
            for m in guide.mended
        ],
        unused=list(guide.unused),
        likeliest_setting=guide.likeliest_setting,
    )


def _title(guide: Guide, name: str) -> str:
    if name == NO_FAULT:
        return "Nothing wrong"
    return " + ".join(guide.words.get(part, part) for part in name.split(" + "))


def _shares(guide: Guide, shares: Iterable[Share]) -> list[NamedShare]:
    return [NamedShare(id=s.id, title=_title(guide, s.id), share=s.probability) for s in shares]


def _causes(guide: Guide) -> CausesDocument:
    causes = guide.causes
    return CausesDocument(
        roots=_shares(guide, causes.roots),
        consequences=_shares(guide, causes.consequences),
        latent=_shares(guide, causes.latent),
        pairs=_shares(guide, causes.pairs[:20]),
        several=causes.several,
        no_fault=causes.no_fault,
        other=causes.other,
        leading=_shares(guide, [causes.leading])[0],
        settings={
            option: [{"id": s.id, "share": s.probability} for s in values]
            for option, values in causes.settings.items()
        },
        cut_mass=causes.cut_mass,
    )


def _step(guide: Guide, step: Step) -> StepDocument:
    data = guide.data
    entries = (data.checks, data.repairs, data.proofs)
    entry = next((some[step.target] for some in entries if step.target in some), None)
    arriving = any(act.startswith("go to") for act in step.first)
    found = cautions(guide, entry, arriving=arriving) if entry is not None else ()
    return StepDocument(
        kind=step.kind,
        target=step.target,
        title=step.title or step_title(data, step.target),
        place=entry.place if entry is not None else "",
        own_cost=step.own_cost,
        cost_after=step.cost_after,
        total_cost=step.total_cost,
        first=list(step.first),
        forecasts=[
            ForecastDocument(**vars(f), leading_title=_title(guide, f.leading))
            for f in step.forecasts
        ],
        healthy=healthy_reading(guide, step.target),
        cautions=[{"id": h.id, "title": h.title, "caution": h.caution} for h in found],
    )


def _conflict(guide: Guide) -> dict[str, Any] | None:
    found = guide.conflict
    if found is None:
        return None
    readings = guide.belief.readings
    return {
        "misfit": found.misfit,
        "expected": found.expected,
        "suspects": [
            {
                "check_id": s.reading.check_id,
                "title": check_title(guide.data, s.reading.check_id),
                "relief": s.relief,
                "surprise": s.surprise,
                "against": [readings[j].check_id for j in s.against],
                "repeat_cost": s.repeat_cost,
            }
            for s in found.suspects
        ],
        "repeat": found.repeat.reading.check_id if found.repeat else None,
    }


def _plain(fields: dict[str, Any]) -> dict[str, Any]:
    return {k: sorted(v) if isinstance(v, frozenset) else v for k, v in fields.items()}
