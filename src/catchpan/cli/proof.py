"""Proving a repair: pass, fail or too close to call, judged from the reading's uncertainty."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from catchpan.calls.expected import cautions
from catchpan.calls.proving import judge, limits_words, measured_proof, todays_proof
from catchpan.cli.act_words import act_words
from catchpan.cli.screen import Asked, Choice, chosen, numbered
from catchpan.cli.take import number_of, with_print
from catchpan.diagnosis.planning.forecast import SYSTEM
from catchpan.units.errors import CatchpanError

if TYPE_CHECKING:
    from catchpan.calls.body import ProofResult
    from catchpan.catalog.entry import ProofEntry
    from catchpan.cli.session import Session

RESULTS = numbered([("pass", "Pass"), ("fail", "Fail"), ("too_close", "Too close to call")])
SEEN = numbered([("pass", "Pass"), ("fail", "Fail"), ("too_close", "Can't say")])


def prove(session: Session, proof_id: str) -> None:
    """Have a proof made, and keep how it came out."""
    if proof_id == SYSTEM:
        _run_system(session)
        return
    entry = todays_proof(session.guide, proof_id)
    screen = session.screen
    screen.labelled("First", [f"- {act_words(act)}" for act in session.guide.plan.steps[0].first])
    screen.labelled("Do", [f"{i}. {line}" for i, line in enumerate(entry.how, 1)])
    arriving = session.guide.situation.place != entry.place
    for hazard in cautions(session.guide, entry, arriving=arriving):
        full = session.first_time(f"{hazard.id} at {entry.place}")
        text = f"{hazard.title}. {hazard.caution}" if full else f"{hazard.title}, as before."
        screen.labelled("CAUTION", [text])
    screen.labelled("Pass", [words] if (words := limits_words(entry)) else [])
    _ask(session, entry)


def _run_system(session: Session) -> None:
    session.screen.labelled(
        "Do",
        [
            "1. All covers on, power on, thermostat calling.",
            "2. Watch one whole cycle, at least ten minutes, from the call to steady running.",
        ],
    )
    labels = [
        ("pass", "It works as it should"),
        ("fail", "It does not"),
        ("too_close", "Can't say"),
    ]
    choices = numbered(labels)
    session.screen.choices(choices)
    result = session.choose_shown("proof", choices, SYSTEM)
    session.book.do_proof(session.call_id, SYSTEM, cast("ProofResult", result))
    if result == "too_close":
        session.book.defer(session.call_id, SYSTEM, "cannot be said yet")


def _ask(session: Session, entry: ProofEntry) -> None:
    as_check = measured_proof(entry)
    choices = SEEN if as_check is None else tuple(
        Choice("abc"[i], c.label, c.value) for i, c in enumerate(RESULTS)
    )  # fmt: skip
    session.screen.choices(choices)
    prompt = "> " if as_check is None else f"{entry.unit}, or a letter> "
    while True:
        line = session.ask(Asked("proof", entry.id, choices, prompt))
        found = chosen(choices, line)
        if found is not None:
            result = cast("ProofResult", found.value)
            session.book.do_proof(session.call_id, entry.id, result)
            return
        if as_check is not None and line:
            try:
                number = with_print(session, as_check, number_of(as_check, line))
            except CatchpanError as error:
                session.screen.say(f"{error}.")
                continue
            result = judge(entry, number)
            session.book.do_proof(session.call_id, entry.id, result, number=number)
            session.screen.say(f"{result.replace('_', ' ').capitalize()}.")
            return
        session.screen.say("Type one of the answers above (or help, or later).")
