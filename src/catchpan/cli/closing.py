"""Closing a call: hidden defects to look for, water damage, and the two summaries."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from catchpan.calls.event_words import place_words
from catchpan.calls.proving import left_for_later
from catchpan.calls.summary import (
    confirmed_causes,
    homeowner_summary,
    is_wet,
    technician_summary,
)
from catchpan.cli.screen import Choice, numbered
from catchpan.diagnosis.planning.explanation import small

if TYPE_CHECKING:
    from catchpan.calls.body import CallOutcome
    from catchpan.cli.session import Session
    from catchpan.diagnosis.inference.latent import Latent

MOST_LATENT: Final = 5
WORTH_A_LOOK: Final = 0.08
"""Share from which a hidden defect is looked for before leaving (assumed)."""

LOOKED: Final = "looked_for:"
WATER_ASKED: Final = "water_damage_asked"


def closing_turn(session: Session) -> None:
    """Do the next thing before the call is closed."""
    session.step = ""
    site = session.state.opened.site
    waiting = [d for d in _worth_looking(session) if f"{LOOKED}{d.id}" not in site]
    if waiting:
        _look_for(session, waiting[0])
        return
    if is_wet(session.guide) and WATER_ASKED not in site:
        _water(session)
        return
    _put_back(session)
    _close(session)


def _put_back(session: Session) -> None:
    """Say once what is put back as it was before anybody leaves a system that works."""
    here = session.guide.situation
    if here.on_phone or not session.first_time("put back"):
        return
    covers = ", ".join(place_words(session.data, c).lower() for c in sorted(here.opened))
    lines = [f"Covers back on: {covers}."] if covers else []
    lines += ["Power back on at the breaker and the disconnect."] if here.power_off else []
    lines.append("Thermostat as the house wants it; see it start once more.")
    session.screen.labelled("Leaving", [f"- {line}" for line in lines])


def _worth_looking(session: Session) -> list[Latent]:
    """Return the defects most worth a look before leaving: the likeliest not looked for yet."""
    seen = {e.body.check_id for e in session.state.readings}
    found = [d for d in session.guide.latents if d.found_by and not seen & set(d.found_by)]
    return [d for d in found if d.share >= WORTH_A_LOOK][:MOST_LATENT]


def _look_for(session: Session, latent: Latent) -> None:
    screen, fault = session.screen, session.data.faults[latent.id]
    if session.first_time("latent"):
        screen.heading("Before you leave: what shows no symptom today")
    screen.say(f"{fault.title} ({latent.share:.0%} likely). {fault.plain}")
    for check_id in latent.found_by[:1]:
        check = session.data.checks[check_id]
        screen.say(f"Look: {check.ask} ({place_words(session.data, check.place)})", indent=2)
    choices = numbered(
        [
            ("found", f"Found: {small(fault.title)}"),
            ("not", "All right here"),
            ("skip", "Not looked"),
        ]
    )
    said = session.choose("latent", choices, latent.id)
    if said == "found":
        session.book.find_latent(session.call_id, latent.id, fault.title)
    session.book.open_call({"site": {f"{LOOKED}{latent.id}": said}}, call_id=session.call_id)


def _water(session: Session) -> None:
    session.screen.heading("Water damage")
    session.screen.say(
        "Photograph what got wet. Keep out from under a bulging ceiling; no powered lights there."
    )
    words = session.text("water", "What is wet or stained, how large, since when? (Enter: nothing)")
    if words:
        session.book.note(session.call_id, f"Water damage: {words}")
    session.book.open_call({"site": {WATER_ASKED: True}}, call_id=session.call_id)


def _close(session: Session) -> None:
    session.screen.heading("Done")
    labels = [
        ("fixed", _fixed_words(session)),
        ("no_fault_found", "Close: nothing was wrong"),
        ("referred", "Close: handed to somebody else"),
    ]
    choices = (*numbered(labels), Choice("0", "Not yet", ""))
    outcome = session.choose("closing", choices)
    if outcome:
        session.book.close(
            session.call_id, _outcome(outcome), causes=confirmed_causes(session.guide)
        )
        return
    words = session.text("find", "What else did you look at? (words; Enter: nothing)")
    if words:
        session.kit.commands["find"](session, words)


def _fixed_words(session: Session) -> str:
    """Say what closing as fixed means by the tests so far."""
    latest = {e.body.proof_id: e.body.result for e in session.state.proofs}
    open_ones = sum(result != "pass" for result in latest.values())
    if open_ones:
        return f"Close: works, with {open_ones} of {len(latest)} tests not passed"
    later = len(left_for_later(session.guide))
    return "Close: fixed and proven" + (f", {later} tests left for their weather" * (later > 0))


def _outcome(word: str) -> CallOutcome:
    known: dict[str, CallOutcome] = {
        "fixed": "fixed",
        "no_fault_found": "no_fault_found",
        "referred": "referred",
    }
    return known[word]


def show_summaries(session: Session) -> None:
    """Show both summaries of a closed call."""
    screen = session.screen
    if session.state.archetype is None:
        screen.say("Closed before the kind of system was known: nothing to sum up but the call.")
        return
    screen.heading("Summary for the file")
    for head, lines in technician_summary(session.guide):
        screen.say(screen.strong(head))
        for line in lines:
            screen.say(f"- {line}", indent=2, hang=2)
    screen.heading("For the homeowner")
    for line in homeowner_summary(session.guide):
        screen.say(line, hang=2)
