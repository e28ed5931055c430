"""An event of a call's trail as a line a person reads."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from catchpan.calls.body import (
    Body,
    CallOpened,
    Closed,
    LatentFound,
    Noted,
    PhotoTaken,
    PowerSet,
    ProofDone,
    ReadingTaken,
    RepairDone,
    Setting,
    StepDeferred,
    SystemDescribed,
    WentTo,
)
from catchpan.calls.guide import CLEARED
from catchpan.calls.progress import SITE
from catchpan.diagnosis.planning.forecast import SYSTEM
from catchpan.diagnosis.worlds.family import PHONE
from catchpan.diagnosis.worlds.likelihood import RESET_LABELS, RESET_OUTCOMES

if TYPE_CHECKING:
    from catchpan.catalog.load import Catalog

WORKED: Final = {
    "worked": "it works now",
    "did_not": "the trouble was still there",
    "not_yet_known": "not judged yet",
}
RESULT: Final = {"pass": "pass", "fail": "fail", "too_close": "too close to call"}


ASKED: Final = {
    "words_matched": "",
    "system_is_a_guess": "The kind of system is a guess",
    "dangers_asked": "Asked about dangers",
    "phone_done": "Enough asked by phone",
    "water_damage_asked": "Asked about water damage",
}
LOOKED: Final = {"found": "found", "not": "all right", "skip": "not looked"}


def event_words(data: Catalog, body: Body) -> str:
    """Return what an event says, in one line."""
    match body:
        case ReadingTaken():
            return f"{check_title(data, body.check_id)}: {reading_words(data, body)}"
        case RepairDone():
            return f"Repair: {step_title(data, body.repair_id)}; {WORKED[body.outcome]}"
        case ProofDone():
            return f"Proof: {step_title(data, body.proof_id)}; {_proof_words(body)}"
        case StepDeferred():
            reason = f" ({body.reason})" if body.reason else ""
            return f"Put off: {step_title(data, body.step_id)}{reason}"
        case _:
            return _other_words(data, body)


def _other_words(data: Catalog, body: Body) -> str:
    match body:
        case WentTo():
            return f"Went to: {place_words(data, body.place)}"
        case PowerSet():
            return "Power back on" if body.on else "Power off and proved dead"
        case Noted():
            return f"Note: {body.text}"
        case SystemDescribed():
            return _system_words(data, body)
        case CallOpened():
            return _opened_words(data, body)
        case _:
            return _ending_words(data, body)


def _system_words(data: Catalog, body: SystemDescribed) -> str:
    options = {o.id: o for piece in data.pieces.values() for o in piece.option}
    titles = {(o.id, v.id): v.title for o in options.values() for v in o.values}
    kind = data.archetypes.get(body.archetype or "")
    said = [kind.title if kind else body.archetype] if body.archetype else []
    for name, value in body.settings.items():
        title = options[name].title if name in options else name.replace("_", " ")
        said.append(f"{title}: {titles.get((name, str(value)), value)}")
    return f"System: {'; '.join(map(str, said))}"


def _ending_words(data: Catalog, body: Body) -> str:
    match body:
        case LatentFound():
            found = data.faults.get(body.latent_id)
            return f"Found, not yet troubling: {found.title if found else body.latent_id}"
        case Closed():
            return f"Closed: {body.outcome.replace('_', ' ')}"
        case PhotoTaken():
            return f"Photo: {body.words or 'no words'}"
        case _:
            return body.kind.value.replace("_", " ")


def _opened_words(data: Catalog, body: CallOpened) -> str:
    system = data.archetypes.get(body.archetype or "")
    named = {
        "Caller": body.caller,
        "Address": body.address,
        "In the caller's words": body.complaint_words,
        "Kind of system": system.title if system else body.archetype,
    }
    said = [f"{k}: {v or 'not known'}" for k, v in named.items() if v is not None]
    said += [line for k, v in body.site.items() if (line := _site_words(data, k, v))]
    return "; ".join(said) or "Call opened"


def _site_words(data: Catalog, key: str, value: Setting) -> str:
    """Return what is said of the site or of how the call goes; empty where it tells nothing."""
    if key in ASKED:
        return ASKED[key] if value else ""
    prefix, colon, about = key.partition(":")
    if colon and f"{prefix}:" == CLEARED:
        return f"{'Danger dealt with' if value else 'Still dangerous'}: {check_title(data, about)}"
    if colon and prefix == "safe_by_phone":
        return f"Made safe by phone: {check_title(data, about)}"
    if colon and prefix == "looked_for":
        fault = data.faults.get(about)
        looked = LOOKED.get(str(value), str(value))
        return f"Looked for {fault.title if fault else about}: {looked}"
    named = key.replace("_", " ").capitalize()
    shown = {True: "yes", False: "no"}[value] if isinstance(value, bool) else value
    return f"{named}: {shown}"


def reading_words(data: Catalog, body: ReadingTaken) -> str:
    """Return what was observed: the answer's label, or the number with its unit."""
    if body.answer is not None:
        check = data.checks.get(body.check_id)
        labels = {a.id: a.label for a in check.answers} if check else {}
        labels |= dict(zip(RESET_OUTCOMES, RESET_LABELS, strict=True))
        return labels.get(body.answer, body.answer.replace("-", " "))
    if body.over_limit or body.value is None or math.isinf(body.value):
        return "OL"
    return number_words(body.value, body.unit or "", body.printed)


def number_words(value: float, unit: str, printed: float | None) -> str:
    """Return a number with its unit, and its share of what is printed on the part."""
    share = "" if printed is None else f" of {printed:g} printed ({value / printed:.0%})"
    return f"{value:g} {unit}{share}"


def _proof_words(body: ProofDone) -> str:
    if body.value is None:
        return RESULT[body.result]
    number = number_words(body.value, body.unit or "", body.printed)
    return f"{number}, {RESULT[body.result]}"


def check_title(data: Catalog, check_id: str) -> str:
    """Return the title of a check."""
    check = data.checks.get(check_id)
    return check.title if check else check_id


def step_title(data: Catalog, step_id: str) -> str:
    """Return the title of a check, repair or proof."""
    if step_id == SYSTEM:
        return "Run the system and see that it works"
    for entries in (data.repairs, data.proofs, data.checks):
        if step_id in entries:
            return str(entries[step_id].title)
    return step_id


def place_words(data: Catalog, place: str) -> str:
    """Return the words for a place of a call."""
    if place in {SITE, PHONE, ""}:
        return {SITE: "the house", PHONE: "phone", "": "the house"}[place]
    entry = data.places.get(place)
    return entry.title if entry else place
