"""The end of a call in words: for the technician's file, and in plain words for the homeowner."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import floor
from typing import TYPE_CHECKING, Final

from catchpan.calls.event_words import (
    RESULT,
    WORKED,
    event_words,
    number_words,
    step_title,
)
from catchpan.calls.ladder_words import PARTS
from catchpan.calls.proving import left_for_later, limits_words, plain_units, todays_proof
from catchpan.diagnosis.planning.explanation import small
from catchpan.diagnosis.planning.forecast import SYSTEM

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from catchpan.calls.body import ProofDone, RepairOutcome
    from catchpan.calls.guide import Guide
    from catchpan.calls.progress import Mended
    from catchpan.diagnosis.inference.causes import Share

NAMED: Final = 0.6
"""Share from which the homeowner is told the very fault rather than the part (assumed)."""

TOLD: Final = 0.5
"""Share from which a cause is stated rather than supposed (assumed)."""

BY_ITSELF: Final = 0.1
"""Chance that it works after a repair that touched nothing of what was wrong (assumed)."""

WORTH_NAMING: Final = 0.05
"""Share from which one of several possible causes is named (assumed)."""

JUDGED: Final = {
    "pass": "as it should be",
    "fail": "not as it should be yet",
    "too_close": "too close to say",
}
"""How a measured test came out, for the homeowner."""

DRYING: Final = (
    (
        "Wet material is to be dry within 24 to 48 hours, or mold starts (public health advice); "
        "photograph it, mark the edge of the stain with pencil and date."
    ),
    (
        "Clean water that stood longer than about two days counts as dirty. Sagging ceiling board "
        "is replaced. Before cutting or sanding in a house from before 1978: lead and asbestos."
    ),
    "More than about ten square feet of mold, or sewage: a specialist.",
)
"""What is said about water damage; EPA mold guide and IICRC S500 summaries, from memory."""


@dataclass(frozen=True)
class Found:
    """What a repair dealt with: the cause where it can be said, and what the cause left behind.

    ``among`` are the likeliest of several causes that it puts right, where none of them stands out.
    """

    repair_id: str
    outcome: RepairOutcome
    cause: Share | None
    left_behind: tuple[Share, ...]
    among: tuple[Share, ...] = ()


def found_and_mended(guide: Guide) -> tuple[Found, ...]:
    """Return for every repair what it dealt with, as it looks from the end of the call.

    A cause is named where the repair helped, or where it was likelier than not beforehand and is
    gone by now (two things may have been wrong at once).
    """
    now = {s.id: s.probability for s in guide.causes.roots}
    return tuple(_found(m, now) for m in guide.mended)


def _found(mended: Mended, now: Mapping[str, float]) -> Found:
    left = tuple(s for s in mended.left_behind if s.probability >= TOLD)
    roots = _after(mended, helped=mended.outcome == "worked" and not left)
    if not roots:
        return Found(mended.repair_id, mended.outcome, None, left)
    cause, still = roots[0], sum(now.get(s.id, 0.0) for s in roots)
    told = sum(s.probability for s in roots) >= TOLD and still < 1.0 - TOLD
    if cause.probability < TOLD and told and mended.outcome == "worked":
        among = tuple(s for s in roots if s.probability >= WORTH_NAMING)[:3]
        if len(among) > 1:
            return Found(mended.repair_id, mended.outcome, None, left, among)
    gone = cause.probability >= TOLD and now.get(cause.id, 0.0) < 1.0 - TOLD
    helped = mended.outcome == "worked" and not left
    return Found(mended.repair_id, mended.outcome, cause if gone or helped else None, left)


def _after(mended: Mended, *, helped: bool) -> tuple[Share, ...]:
    """Return the causes that a repair puts right, as likely as they are once it helped.

    Where it also took away what a cause leaves behind, that it works says nothing of the cause.
    """
    told = sum(s.probability for s in mended.roots)
    seen = told + (1.0 - told) * BY_ITSELF if helped else 1.0
    return tuple(replace(s, probability=s.probability / seen) for s in mended.roots)


def confirmed_causes(guide: Guide) -> tuple[str, ...]:
    """Return the root causes that were put right, without repeats."""
    return tuple(dict.fromkeys(f.cause.id for f in found_and_mended(guide) if f.cause))


def is_wet(guide: Guide) -> bool:
    """Say whether the house itself is likely to have got wet."""
    wet = (
        "water/floor-wet",
        "water/ceiling-wet",
        "water/past-the-float",
        "water/ceiling-stained",
        "water/cabinet-wet",
    )
    family, chance = guide.family, guide.belief.probabilities()
    columns = [j for j, c in enumerate(family.conditions) if c in wet]
    said = any(c.id in wet for m in guide.mended for c in m.left_behind if c.probability > TOLD)
    return said or float(chance[family.membership[:, columns].any(axis=1)].sum()) > TOLD


def technician_summary(guide: Guide) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return the parts of the technician's summary: a heading and its lines each."""
    state, data = guide.state, guide.data
    system = data.archetypes[guide.description.archetype].title
    parts = [
        ("System", (system,)),
        ("Complaint", (state.opened.complaint_words or "not noted",)),
        ("Read", tuple(event_words(data, e.body) for e in state.readings)),
        ("Found and done", tuple(_lines(guide)) or ("No repair was made.",)),
        ("Proven", tuple(_proofs(guide)) or ("Nothing was proven.",)),
    ]
    if later := left_for_later(guide):
        parts.append(("Left for its weather", tuple(_later_words(guide, p) for p in later)))
    if still := [s for s in guide.causes.roots if s.probability > 0.2]:
        parts.append(("Still open", tuple(_share_words(guide, s) for s in still[:4])))
    if latent := [event_words(data, e.body) for e in state.latents]:
        parts.append(("Latent", tuple(latent)))
    if is_wet(guide):
        parts.append(("Water damage", DRYING))
    if state.notes:
        parts.append(("Notes", tuple(e.body.text for e in state.notes)))
    rate = guide.family.dollars_per_minute
    labour = guide.spent.minutes * rate
    total = f"${labour + guide.spent.parts_dollars:,.0f}"
    whole, parts_bill = floor(guide.spent.minutes + 0.5), f"${guide.spent.parts_dollars:,.0f}"
    minutes = (
        f"{whole} min at ${rate:.2f} and {parts_bill} of parts: {total} "
        "(the catalog's minutes and assumed prices, not a bill)"
    )
    return tuple(part for part in (*parts, ("Time and cost", (minutes,))) if part[1])


def _lines(guide: Guide) -> list[str]:
    lines = []
    for found in found_and_mended(guide):
        repair = guide.data.repairs[found.repair_id]
        cause = _cause_words(guide, found.cause) if found.cause else _among_words(guide, found)
        left = ", ".join(guide.words[s.id] for s in found.left_behind)
        behind = (
            f"{'Left behind by it' if cause else 'Tripped or left behind'}: {left}. "
            if left
            else ""
        )
        lines.append(f"{cause}{behind}{repair.title}: {WORKED[found.outcome]}.")
    return lines


def _cause_words(guide: Guide, cause: Share) -> str:
    """Name a cause, or say how little was known of it when it was tried."""
    if cause.probability >= TOLD:
        return f"Cause: {_share_words(guide, cause)}. "
    supposed = guide.words.get(cause.id, cause.id)
    return f"Cause not pinned down; supposed: {supposed} ({cause.probability:.0%}). "


def _among_words(guide: Guide, found: Found) -> str:
    """Name the causes of which it was one; empty where that cannot be said either."""
    names = ", ".join(f"{guide.words[s.id]} {s.probability:.0%}" for s in found.among)
    return f"Cause, one of these: {names}. " if names else ""


def _proofs(guide: Guide) -> list[str]:
    lines = []
    for entry in guide.state.proofs:
        body = entry.body
        read, wanted = _read_and_wanted(guide, body)
        number = f" (read {read}; passes at {wanted})" if read else ""
        lines.append(f"{step_title(guide.data, body.proof_id)}: {RESULT[body.result]}{number}")
    return lines


def _later_words(guide: Guide, proof_id: str) -> str:
    entry = guide.data.proofs[proof_id]
    return f"{entry.title}: in {entry.weather} weather"


def _read_and_wanted(guide: Guide, body: ProofDone) -> tuple[str, str]:
    """Return what a proof was measured at and what it must show today; empty where by eye."""
    entry = guide.data.proofs.get(body.proof_id)
    if body.value is None or entry is None:
        return "", ""
    if entry.observe.quantity != "cycle" or entry.observe.demand in guide.belief.views:
        entry = todays_proof(guide, body.proof_id)
    read = number_words(body.value, body.unit or "", body.printed)
    return plain_units(read), plain_units(limits_words(entry).removesuffix("."))


def _share_words(guide: Guide, share: Share) -> str:
    sure = "" if share.probability > 0.97 else f" ({share.probability:.0%} sure)"
    return f"{guide.words.get(share.id, share.id)}{sure}"


def homeowner_summary(guide: Guide) -> tuple[str, ...]:
    """Return what to tell the homeowner, in plain words."""
    faults, found = guide.data.faults, found_and_mended(guide)
    causes = [_plain_cause(guide, f) for f in found if f.cause or f.among]
    head = "Because of it" if causes else "What we found"
    left = [f"{head}: {faults[s.id].plain}" for f in found for s in f.left_behind]
    work = [
        f"Work done: {guide.data.repairs[f.repair_id].title}."
        for f in found
        if f.cause or f.left_behind or f.outcome == "worked"
    ]
    lines = [*causes, *left, *work]
    if not lines:
        lines.append("No fault has been put right on this visit.")
    lines.append(_proof_sentence(guide))
    lines += _measured_lines(guide)
    if later := left_for_later(guide):
        words = "; ".join(small(_later_words(guide, p)) for p in later)
        lines.append(f"Not to be tested in today's weather, and left for later: {words}.")
    latent = [faults[e.body.latent_id] for e in guide.state.latents if e.body.latent_id in faults]
    lines += [f"Worth putting right before it troubles you: {f.plain}" for f in latent]
    if is_wet(guide):
        lines.append("Where the house got wet: keep it aired and have it dry within two days.")
    return tuple(dict.fromkeys(lines))


def _plain_cause(guide: Guide, found: Found) -> str:
    """Say what was wrong: the very fault where it is sure enough, else the part, else the work."""
    if found.among:
        faults = [guide.data.faults[s.id] for s in found.among]
        parts = {f.component for f in faults if f.family != "setting"}
        if len(parts) == 1 and parts <= PARTS.keys():
            return f"What was wrong: the {PARTS[parts.pop()]} had failed."
        first, second = (f.plain for f in faults[:2])
        return f"What was wrong, most likely: {first} Otherwise: {second}"
    fault = guide.data.faults[found.cause.id] if found.cause else None
    if fault is None:
        return ""
    if found.cause is not None and found.cause.probability >= NAMED:
        return f"What was wrong: {fault.plain}"
    if fault.component in PARTS and fault.family != "setting":
        return f"What was wrong: the {PARTS[fault.component]} had failed."
    title = guide.data.repairs[found.repair_id].title
    return f"What was wrong: something that was put right by this: {small(title)}."


def _measured_lines(guide: Guide) -> Iterator[str]:
    """Say of every test that was measured what it came to at the end, and what it should be."""
    for body in _latest(guide).values():
        read, wanted = _read_and_wanted(guide, body)
        if read:
            title = step_title(guide.data, body.proof_id)
            yield f"Measured: {small(title)}: {read}; wanted {wanted}: {JUDGED[body.result]}."


def _latest(guide: Guide) -> dict[str, ProofDone]:
    """Return the last of every test, where it was repeated."""
    return {e.body.proof_id: e.body for e in guide.state.proofs}


def _proof_sentence(guide: Guide) -> str:
    latest = _latest(guide)
    results = [body.result for body in latest.values()]
    passed = results.count("pass")
    if not results:
        return "The repair has not been tested yet."
    if passed == len(results):
        return f"We tested it: {passed} of {passed} tests passed." + (
            " The system ran and did its work." if SYSTEM in latest else ""
        )
    return f"{passed} of {len(results)} tests passed. The others are not passed yet."
