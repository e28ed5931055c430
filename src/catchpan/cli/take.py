"""Entering what a check showed: an answer by its number, or a measured value with its unit."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from catchpan.calls.use_case import Answer, Number
from catchpan.cli.screen import Asked, Choice, chosen, numbered
from catchpan.diagnosis.cases.measured_value import (
    read_value,
    scale_of,
    takes_a_number,
    write_value,
)
from catchpan.units.errors import CatchpanError

if TYPE_CHECKING:
    from catchpan.calls.body import Reporter
    from catchpan.catalog.entry import CheckEntry
    from catchpan.cli.session import Session
    from catchpan.diagnosis.worlds.family import CheckModel

LETTERS: Final = "abcdefghijkl"


def answer_choices(entry: CheckEntry, model: CheckModel) -> tuple[Choice, ...]:
    """Return the answers of a check: counted, or lettered where numbers are readings."""
    labels = [(o.id, o.label) for o in model.outcomes]
    if not takes_a_number(entry):
        return numbered(labels)
    return tuple(Choice(LETTERS[i], label, value) for i, (value, label) in enumerate(labels))


def take_reading(session: Session, check_id: str) -> None:
    """Ask for one reading, plainly, and keep it."""
    entry, model = session.data.checks[check_id], session.guide.family.checks[check_id]
    session.screen.say(entry.ask)
    choices = answer_choices(entry, model)
    session.screen.choices(choices)
    observed = asked_reading(session, entry, choices)
    keep_reading(session, check_id, observed)


def keep_reading(session: Session, check_id: str, observed: Answer | Number) -> None:
    """Keep a reading, by the caller while on the phone."""
    reporter: Reporter = "caller" if session.guide.situation.on_phone else "technician"
    session.book.take_reading(session.call_id, check_id, observed, reported_by=reporter)


def asked_reading(
    session: Session, entry: CheckEntry, choices: tuple[Choice, ...], kind: str = "check"
) -> Answer | Number:
    """Ask until an answer or a usable number is given."""
    measured = takes_a_number(entry)
    prompt = f"{entry.unit}, or a letter> " if measured else "> "
    while True:
        line = session.ask(Asked(kind, entry.id, choices, prompt))
        found = chosen(choices, line)
        if found is not None:
            return Answer(found.value)
        if measured and line:
            try:
                return with_print(session, entry, number_of(entry, line))
            except CatchpanError as error:
                session.screen.say(f"{error}.")
                continue
        session.screen.say(_hint(entry, choices))


def number_of(entry: CheckEntry, line: str) -> Number:
    """Return a typed value as entered and in SI.

    Raises
    ------
    CatchpanError
        For words, a unit of something else, or what no instrument on such a job shows.
    """
    kept, scale = read_value(entry, line), scale_of(entry)
    si_value = (kept - scale.offset) / scale.factor
    shown = write_value(entry, kept, 4)
    return Number(si_value if shown == "OL" else float(shown.split()[0]), entry.unit, si_value)


def printed_words(entry: CheckEntry) -> str:
    """Return for which print a number is meant; empty where none is printed."""
    nominal = entry.observe.printed
    if nominal is None:
        return ""
    scale = scale_of(entry)
    return f" where {write_value(entry, nominal * scale.factor + scale.offset)} is printed"


def with_print(session: Session, entry: CheckEntry, number: Number) -> Number:
    """Return a number with what is printed on the part, asked where it is judged by that."""
    nominal = entry.observe.printed
    if nominal is None or number.si_value == float("inf"):
        return number
    scale = scale_of(entry)
    modelled = write_value(entry, nominal * scale.factor + scale.offset, 1)
    prompt = f"Printed on {entry.observe.printed_on} (Enter: {modelled})> "
    while True:
        line = session.ask(Asked("printed", entry.id, (), prompt))
        try:
            printed = number_of(entry, line or modelled).value
        except CatchpanError as error:
            session.screen.say(f"{error}.")
            continue
        if printed > 0.0:
            session.screen.say(f"{number.value / printed:.0%} of what is printed.")
            return replace(number, printed=printed)
        session.screen.say("What is printed is more than nothing.")


def _hint(entry: CheckEntry, choices: tuple[Choice, ...]) -> str:
    keys = ", ".join(c.key for c in choices)
    if takes_a_number(entry):
        return f"Type what the meter shows, such as 24.1 {entry.unit} or OL, or one of {keys}."
    return f"Type one of {keys} (or help, or later)."
