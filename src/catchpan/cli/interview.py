"""The phone: dangers first, the caller's words, who and what, then one question at a time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from catchpan.calls.guide import cleared_dangers
from catchpan.calls.use_case import Answer
from catchpan.catalog.system import options_of
from catchpan.cli.screen import Choice, numbered
from catchpan.cli.visit import stop
from catchpan.diagnosis.inference.belief import Reading

if TYPE_CHECKING:
    from collections.abc import Callable

    from catchpan.catalog.entry import CheckEntry
    from catchpan.cli.session import Session

UNKNOWN: Final = "unknown"
DANGERS_ASKED: Final = "dangers_asked"
GUESSED: Final = "system_is_a_guess"

FALLBACK_SYSTEM: Final = "air-conditioner-furnace"
"""What is taken where nobody knows the kind of system (assumed the commonest)."""

ASK_SYSTEM: Final = "ask"


@dataclass(frozen=True)
class Question:
    """One of the first questions: its name, whether it is open, and how to put it."""

    name: str
    title: str
    is_open: Callable[[Session], bool]
    put: Callable[[Session], None]


def first_questions(session: Session) -> bool:
    """Put the first of the first questions that is open; say whether there was one."""
    for question in QUESTIONS:
        if question.is_open(session):
            question.put(session)
            return True
    return False


def _open(session: Session, **fields: object) -> None:
    session.book.open_call(fields, call_id=session.call_id)


def _words(session: Session) -> None:
    words = session.text("words", "What is wrong, in the caller's own words?")
    _open(session, complaint_words=words)


def _caller(session: Session) -> None:
    _open(session, caller=session.text("caller", "Caller's name and number (Enter to skip):"))


def _address(session: Session) -> None:
    _open(session, address=session.text("address", "Address (Enter to skip):"))


def danger_checks(session: Session) -> list[CheckEntry]:
    """Return the questions about danger a caller is asked, in the order of the catalog."""
    found = [c for c in session.data.checks.values() if c.phone and not c.archetypes]
    return [c for c in found if any(a.danger for a in c.answers)]


def _dangers(session: Session) -> None:
    """Ask for all dangers at once; 'none' answers each of them."""
    checks = danger_checks(session)
    session.screen.say("First of all. Is any of this so right now?")
    choices = (*numbered([(c.id, c.ask) for c in checks]), Choice("0", "None of these", ""))
    picked = session.choose("dangers", choices)
    for check in checks:
        dangerous = [a.id for a in check.answers if a.danger]
        calm = [a.id for a in check.answers if not a.danger]
        said = dangerous[0] if check.id == picked else calm[0]
        if check.id == picked or (not picked and len(calm) == 1):
            answer = Answer(said)
            session.book.take_reading(session.call_id, check.id, answer, reported_by="caller")
    _open(session, site={DANGERS_ASKED: True})


def told_dangers(session: Session) -> tuple[Reading, ...]:
    """Return the answers to those questions that mean danger and are not dealt with."""
    state = session.state
    cleared = cleared_dangers(state)
    meant = {(c.id, a.id) for c in danger_checks(session) for a in c.answers if a.danger}
    said = {e.body.check_id: e.body.answer for e in state.readings}
    return tuple(
        Reading(check_id, answer)
        for check_id, answer in said.items()
        if (check_id, answer) in meant and check_id not in cleared
    )


def _must_stop(session: Session) -> bool:
    """Whether a caller told of a danger; once somebody is on site the visit stops for it."""
    return session.state.place is None and bool(told_dangers(session))


def _stop(session: Session) -> None:
    stop(session, told_dangers(session), on_phone=True)


def _system(session: Session) -> None:
    session.screen.say("What kind of system is it?")
    kinds = [(a.id, a.title) for a in session.data.archetypes.values()]
    choices = (*numbered(kinds), Choice("?", "Don't know", ASK_SYSTEM))
    picked = session.choose("archetype", choices)
    if picked != ASK_SYSTEM:
        _open(session, archetype=picked, site={GUESSED: False})
        return
    _open(session, archetype=_guessed(session), site={GUESSED: True})


def _guessed(session: Session) -> str:
    session.screen.say("How is the house heated by this system?")
    choices = numbered(
        [
            ("gas", "By gas: flame, flue or gas pipe at the indoor unit"),
            ("pump", "By the outdoor unit too: it runs in winter (heat pump)"),
            ("strips", "By electricity inside only"),
        ]
    )
    heated = session.choose("heated", (*choices, Choice("?", "Don't know", UNKNOWN)))
    guesses = {"pump": "heat-pump-air-handler", "strips": "air-conditioner-air-handler"}
    found = guesses.get(heated, FALLBACK_SYSTEM)
    found = found if found in session.data.archetypes else next(iter(session.data.archetypes))
    title = session.data.archetypes[found].title
    session.screen.say(f"Taken for now: {title}. 'edit' corrects it when you see it.")
    return found


def _season(session: Session) -> None:
    session.screen.say("Is the trouble with cooling or with heating?")
    labels = [("cooling", "Cooling"), ("heating", "Heating"), (UNKNOWN, "Both, or neither")]
    _open(session, site={"season": session.choose("season", numbered(labels))})


def _location(session: Session) -> None:
    option = options_of(session.state.archetype or "", session.data)["location"]
    session.screen.say(option.question)
    values = numbered([(v.id, v.title) for v in option.values])
    value = session.choose("location", (*values, Choice("?", "Don't know", UNKNOWN)))
    session.book.describe(session.call_id, {"location": value})


def _age(session: Session) -> None:
    age = session.number(
        "age", "About how old is the equipment, in years? (Enter: not known)", 0, 80
    )
    _open(session, site={"age_years": UNKNOWN if age is None else age})


def _no_location(session: Session) -> bool:
    state = session.state
    known = options_of(state.archetype, session.data) if state.archetype else {}
    return "location" in known and "location" not in state.description


QUESTIONS: Final = (
    Question(
        "dangers", "dangers", lambda s: DANGERS_ASKED not in s.state.opened.site, _dangers
    ),
    Question("stop", "danger", _must_stop, _stop),
    Question(
        "words", "what is wrong", lambda s: s.state.opened.complaint_words is None, _words
    ),
    Question("system", "kind of system", lambda s: s.state.archetype is None, _system),
    Question(
        "season", "cooling or heating", lambda s: "season" not in s.state.opened.site, _season
    ),
    Question("location", "where the indoor unit stands", _no_location, _location),
    Question("age", "age", lambda s: "age_years" not in s.state.opened.site, _age),
    Question("caller", "caller", lambda s: s.state.opened.caller is None, _caller),
    Question("address", "address", lambda s: s.state.opened.address is None, _address),
)  # fmt: skip
