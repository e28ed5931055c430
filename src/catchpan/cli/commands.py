"""What may be typed at any prompt: why, causes, ladder, find, note, later, undo and the rest."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from catchpan.calls.check_search import find_checks
from catchpan.calls.event_words import event_words
from catchpan.calls.ladder import ladders
from catchpan.catalog.system import options_of
from catchpan.cli.interview import QUESTIONS
from catchpan.cli.ladder import ladder_lines
from catchpan.cli.screen import Left, numbered
from catchpan.cli.session import Changed
from catchpan.cli.take import take_reading
from catchpan.diagnosis.planning.forecast import NO_FAULT
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import OTHER

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from catchpan.cli.session import Session

HELP: Final = (
    ("why", "why this step comes next, and what comes close"),
    ("causes", "what may be wrong, with shares"),
    ("ladder", "the 24 V wiring with the volts to expect; 'ladder line', 'ladder heat'"),
    ("find WORDS", "any check by words, to enter what you saw out of order"),
    ("later", "cannot do this step now; 'now' brings back what was put off"),
    ("note WORDS", "write something down"),
    ("undo", "take back the last thing entered (again: the one before)"),
    ("system", "how the system is built: see and correct"),
    ("edit", "correct caller, address, words, kind of system, season, age"),
    ("power off", "power is off and proved dead ('power on': it is back on)"),
    ("trail", "everything entered so far"),
    ("quit", "leave; everything entered is kept"),
)

TOP: Final = 8


def helped(session: Session, _: str) -> None:
    """Say what may be typed."""
    session.screen.say("At any prompt:")
    session.screen.table(HELP)


def why(session: Session, _: str) -> None:
    """Say why the present step is the next."""
    explanation = session.guide.explanation
    session.screen.say(f"Why: {explanation.step.title}")
    for line in explanation.why:
        session.screen.say(line, indent=2)
    if explanation.step.target not in session.data.checks:
        for line in explanation.answers:
            session.screen.say(f"{line[:1].upper()}{line[1:]}", indent=2)
    session.screen.say("Also possible now:")
    rows = [(f"${s.total_cost:,.0f}", s.title) for s in session.guide.plan.steps]
    session.screen.table(rows)
    session.screen.say("(expected to a proven fix, at most, when that step comes next)", indent=2)


def causes(session: Session, _: str) -> None:
    """Show what may be wrong."""
    guide, screen = session.guide, session.screen
    found = guide.causes
    screen.say("What may be wrong now (several may hold at once):")
    rows = [(f"{s.probability:>4.0%}", cause_title(session, s.id)) for s in found.roots[:TOP]]
    rows += [
        (f"{found.no_fault:>4.0%}", "nothing wrong any more"),
        (f"{found.other:>4.0%}", "something this list does not hold"),
    ]
    screen.table(rows)
    parts = ", ".join(f"{s.id.replace('_', ' ')} {s.probability:.0%}" for s in guide.parts[:3])
    screen.say(f"By part: {parts}.")
    left = [s for s in found.consequences if s.probability > 0.05][:5]
    if left:
        screen.say("Left behind or tripped by it, to be put right as well:")
        screen.table([(f"{s.probability:>4.0%}", cause_title(session, s.id)) for s in left])
    if found.several > 0.02:
        screen.say(f"Two things at once: {found.several:.0%}.", indent=2)


def cause_title(session: Session, condition: str) -> str:
    """Return the words for a condition."""
    known = {NO_FAULT: "nothing wrong", OTHER: "something this list does not hold"}
    return known.get(condition) or session.guide.words.get(condition, condition)


def ladder(session: Session, rest: str) -> None:
    """Show the wiring, healthy and under the leading cause."""
    guide = session.guide
    usual = "heat" if guide.description.season == "heating" else "cool"
    line_side = "line" in rest
    demand = rest.replace("line", "").strip() or guide.situation.demand or usual
    described = Description(guide.description.archetype, guide.likeliest_setting)
    wrong = guide.likeliest_conditions
    drawn = ladders(described, wrong, demand)
    for found in drawn[-1:] if line_side else drawn[:-1]:
        words = cause_title(session, guide.causes.leading.id) if wrong else ""
        for line in ladder_lines(found, demand, words, session.screen.width):
            session.screen.write(line)


def find(session: Session, rest: str) -> None:
    """Find any check by words and enter its reading."""
    guide = session.guide
    known = [session.data.checks[c] for c in guide.family.checks if c in session.data.checks]
    found = find_checks(rest, known)
    if not found:
        session.screen.say("Nothing fits. Try: find contactor coil, find filter, find drain pan.")
        return
    labels = [(c.id, f"{c.title} ({place_title(session, c.place)})") for c in found]
    picked = session.choose("find", (*numbered(labels), *numbered([("", "none of these")], 0)))
    if picked:
        take_reading(session, picked)
        raise Changed


def place_title(session: Session, place: str) -> str:
    """Return the words for a place."""
    entry = session.data.places.get(place)
    return entry.title.lower() if entry is not None else place


def later(session: Session, rest: str) -> None:
    """Put the present step off."""
    if not session.step:
        session.screen.say("There is no step here that could be put off.")
        return
    session.book.defer(session.call_id, session.step, rest)
    session.screen.say("Put off. 'now' brings it back.")
    raise Changed


def now(session: Session, _: str) -> None:
    """Bring back everything that was put off."""
    waiting = session.state.deferred
    entries = [e for e in session.state.timeline if getattr(e.body, "step_id", "") in waiting]
    for entry in entries:
        session.book.withdraw(session.call_id, entry.event_id)
    session.screen.say(f"{len(waiting)} step(s) brought back.")
    if entries:
        raise Changed


def note(session: Session, rest: str) -> None:
    """Write something down."""
    if not rest:
        session.screen.say("Type the words after it: note homeowner will be back at five")
        return
    session.book.note(session.call_id, rest)
    session.screen.say("Noted.")


def undo(session: Session, _: str) -> None:
    """Take back the last thing entered."""
    before = session.state.timeline
    after = {e.event_id for e in session.book.undo_last(session.call_id).timeline}
    gone = [e for e in before if e.event_id not in after]
    words = event_words(session.data, gone[-1].body) if gone else "the last entry"
    session.screen.say(f"Taken back: {words}")
    raise Changed


def trail(session: Session, _: str) -> None:
    """Show everything entered so far."""
    rows = [
        (e.at_utc.strftime("%H:%M"), event_words(session.data, e.body))
        for e in session.state.timeline
    ]
    session.screen.table(rows)


def system(session: Session, _: str) -> None:
    """Show how the system is built, and correct it."""
    archetype = session.state.archetype
    if archetype is None:
        session.screen.say("The kind of system comes first.")
        return
    options = options_of(archetype, session.data)
    known = session.guide.description.options
    labels = []
    for name, option in options.items():
        value = next((v.title for v in option.values if v.id == known.get(name)), "not known")
        labels.append((name, f"{option.title}: {value}"))
    name = session.choose("system", (*numbered(labels), *numbered([("", "all right")], 0)))
    if not name:
        return
    session.screen.say(options[name].question)
    values = [(v.id, v.title) for v in options[name].values]
    value = session.choose(name, (*numbered(values), *numbered([("unknown", "not known")], 0)))
    session.book.describe(session.call_id, {name: value})
    raise Changed


def edit(session: Session, _: str) -> None:
    """Correct an answer of the first questions."""
    labels = [(q.name, q.title) for q in QUESTIONS]
    name = session.choose("edit", (*numbered(labels), *numbered([("", "nothing")], 0)))
    if name:
        next(q for q in QUESTIONS if q.name == name).put(session)
        raise Changed


def power(session: Session, rest: str) -> None:
    """Say that the power is off or on."""
    if rest.casefold() not in {"on", "off"}:
        session.screen.say("Type 'power off' once it is off and proved dead, or 'power on'.")
        return
    session.book.set_power(session.call_id, "system", on=rest.casefold() == "on")
    raise Changed


def leave(_: Session, __: str) -> None:
    """Leave the call."""
    raise Left


COMMANDS: Final[Mapping[str, Callable[[Session, str], None]]] = {
    "help": helped,
    "why": why,
    "causes": causes,
    "ladder": ladder,
    "find": find,
    "later": later,
    "now": now,
    "note": note,
    "undo": undo,
    "trail": trail,
    "system": system,
    "edit": edit,
    "power": power,
    "quit": leave,
    "exit": leave,
}
