"""The phone, after the first questions: questions one by one, advice, what to load, going."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from catchpan.calls.advice import NEVER, advice
from catchpan.calls.loading import cost_range, load_list
from catchpan.calls.progress import SITE
from catchpan.calls.use_case import Answer
from catchpan.cli.proof import prove
from catchpan.cli.screen import Choice, chosen, numbered
from catchpan.cli.take import answer_choices, asked_reading, keep_reading
from catchpan.diagnosis.cases.symptom_search import search_symptoms
from catchpan.diagnosis.planning.practice import out_of_season

if TYPE_CHECKING:
    from catchpan.cli.session import Session
    from catchpan.diagnosis.cases.symptom_search import Match
    from catchpan.diagnosis.planning.situation import Step

MATCHED: Final = "words_matched"
MOST_MATCHES: Final = 6
CLOSE: Final = 0.6
"""Matches below this share of the best one's score are not shown (assumed)."""

WORTH_MINUTES: Final = 5.0
"""Less time than this ahead is not worth a line."""

ENOUGH: Final = "phone_done"
CANNOT_SAY: Final = "the caller cannot say"


def phone_turn(session: Session) -> None:
    """Do the next thing on the phone."""
    site = session.state.opened.site
    if MATCHED not in site:
        _confirm_words(session)
        return
    step = session.guide.plan.steps[0]
    if step.kind == "ask" and ENOUGH not in site:
        ask_caller(session, step)
    elif step.kind == "repair":
        let_try(session, step)
    elif step.kind == "prove":
        session.step = step.target
        session.screen.heading("Is it so?", step.title)
        prove(session, step.target)
    else:
        decide(session)


def let_try(session: Session, step: Step) -> None:
    """Let the caller try something safe, and keep whether it helped."""
    entry, screen = session.data.repairs[step.target], session.screen
    session.step = step.target
    screen.heading("The caller may try (advice)")
    screen.say(screen.strong(entry.title))
    screen.labelled("Do", [f"{i}. {line}" for i, line in enumerate(entry.steps, 1)])
    _never(session)
    labels = [("worked", "Tried: it works now"), ("did_not", "Tried: no change")]
    choices = (*numbered(labels), Choice("?", "Not tried", CANNOT_SAY))
    match session.choose("let_try", choices, step.target):
        case "worked":
            session.book.do_repair(session.call_id, step.target, "worked")
        case "did_not":
            session.book.do_repair(session.call_id, step.target, "did_not")
        case _:
            session.book.defer(session.call_id, step.target, "not tried")


def _confirm_words(session: Session) -> None:
    """Show what the caller's words seem to say, and keep what is confirmed."""
    state = session.state
    words = state.opened.complaint_words or ""
    known = session.guide.family.checks
    asked = {e.body.check_id for e in state.readings}
    found = search_symptoms(words, session.data, archetype=state.archetype or "", limit=20)
    passed = asked | out_of_season(session.data, session.guide.description.season)
    fitting = [m for m in found if m.answer_id and m.check_id in known and m.check_id not in passed]
    fitting = [m for m in fitting if m.score >= CLOSE * fitting[0].score]
    if fitting:
        _confirm(session, fitting[:MOST_MATCHES])
    session.book.open_call({"site": {MATCHED: True}}, call_id=session.call_id)


def _confirm(session: Session, matches: list[Match]) -> None:
    session.screen.say("I understand this from those words. Which of it is so?")
    choices = numbered([(_said(m), f"{m.title}: {m.label}") for m in matches])
    session.screen.choices(choices)
    picked = _picked(session, choices)
    for match in matches:
        if _said(match) in picked:
            answer = Answer(match.answer_id)
            session.book.take_reading(session.call_id, match.check_id, answer, reported_by="caller")


def _said(match: Match) -> str:
    return f"{match.check_id}={match.answer_id}"


def _picked(session: Session, choices: tuple[Choice, ...]) -> set[str]:
    """Return the choices named in one line such as '1 3', 'all' or 'none'."""
    while True:
        line = session.text("matches", "Numbers such as 1 3, 'all', or Enter for none.", choices)
        if line.casefold() == "all":
            return {c.value for c in choices}
        named = [chosen(choices, word) for word in line.replace(",", " ").split()]
        if line.casefold() in {"", "none", "0"} or all(n is not None for n in named):
            return {n.value for n in named if n is not None}
        session.screen.say(f"Type numbers from 1 to {len(choices)}.")


def ask_caller(session: Session, step: Step) -> None:
    """Ask the caller one question."""
    guide, screen = session.guide, session.screen
    entry, model = session.data.checks[step.target], guide.family.checks[step.target]
    session.step = step.target
    lead = guide.causes.roots[:1]
    hint = f"so far: {guide.words[lead[0].id]} {lead[0].probability:.0%}" if lead else ""
    screen.heading("Ask", hint[: screen.width - 16])
    screen.say(entry.ask)
    choices = (
        *answer_choices(entry, model),
        Choice("?", "Can't say", CANNOT_SAY),
        Choice("go", "Enough asked", ENOUGH),
    )
    screen.choices(choices)
    observed = asked_reading(session, entry, choices)
    if observed == Answer(CANNOT_SAY):
        session.book.defer(session.call_id, step.target, CANNOT_SAY)
    elif observed == Answer(ENOUGH):
        session.book.open_call({"site": {ENOUGH: True}}, call_id=session.call_id)
    else:
        keep_reading(session, step.target, observed)


def _never(session: Session) -> None:
    """Say what the caller must not do: in full once, then in short."""
    short = "Nothing else opened, nothing bridged, no second reset."
    full = f"Please not: {'; '.join(NEVER)}."
    session.screen.say(full if session.first_time("never") else short)


def decide(session: Session) -> None:
    """Show advice, load list and range, and ask whether to go."""
    session.step = ""
    show_outlook(session)
    step = session.guide.plan.steps[0]
    labels = [
        ("go", "I have arrived at the house"),
        ("tried", "The caller tried something and it works now"),
        ("more", "Ask the caller more questions"),
        ("close", "Close the call without going"),
    ]
    if step.kind in {"refer", "stop"}:
        session.screen.say(f"By expected cost the best now: {step.title}.")
    match session.choose("decide", numbered(labels)):
        case "go":
            session.book.go(session.call_id, SITE)
        case "tried":
            _tried(session)
        case "more":
            _more(session)
        case _:
            _close(session)


def show_outlook(session: Session) -> None:
    """Show likely causes, advice to the caller, what to load, cost and time."""
    guide, screen = session.guide, session.screen
    screen.heading("What it may be, so far")
    rows = [(f"{s.probability:>4.0%}", guide.words[s.id]) for s in guide.causes.roots[:5]]
    screen.table([*rows, (f"{guide.causes.other:>4.0%}", "something this list does not hold")])
    tips = advice(guide)
    if tips:
        screen.heading("The caller may (advice)")
        for tip in tips[:5]:
            screen.say(f"- {tip.text}", hang=2)
        _never(session)
    items = load_list(guide)
    screen.heading("Load")
    for kind, head in (("part", "Parts"), ("tool", "Tools")):
        named = [f"{i.name} {i.chance:.0%}" for i in items if i.kind == kind][:10]
        screen.labelled(head, [", ".join(named)] if named else [])
    screen.say("(chance that this call uses it)", indent=10)
    show_range(session)


def show_range(session: Session) -> None:
    """Show what is still to come, as a range; nothing where next to nothing is."""
    found, screen = cost_range(session.guide), session.screen
    if found.minutes < WORTH_MINUTES:
        return
    time = _spread(_hours(found.minutes), _hours(found.minutes_low), _hours(found.minutes_high))
    cost = _spread(*(f"${d:,.0f}" for d in (found.dollars, found.dollars_low, found.dollars_high)))
    screen.heading("Time and cost to a proven fix")
    screen.table([("Time", time), ("Cost", cost)])
    driving = "Driving included, at" if session.guide.situation.on_phone else "At"
    handed = f"{found.handed_over:.0%} of such calls end with work for someone else."
    screen.say(
        f"{driving} ${session.guide.family.dollars_per_minute:.2f} a minute and the catalog's part "
        f"prices, which are assumed: put in your own.{f' {handed}' * (found.handed_over >= 0.005)}",
        indent=2,
    )


def _spread(middle: str, low: str, high: str) -> str:
    """Write a number with the span of eight in ten calls, where it spans anything."""
    return f"about {middle}" + (f"; 8 in 10 such calls {low} to {high}" if low != high else "")


def _hours(minutes: float) -> str:
    whole = 5 * round(minutes / 5)
    return f"{whole} min" if whole < 100 else f"{whole / 60:.1f} h"


def _tried(session: Session) -> None:
    """Keep what the caller did, and close when it helped."""
    tips = [a for a in advice(session.guide) if a.repair_id]
    titles = [(a.repair_id, session.data.repairs[a.repair_id].title) for a in tips]
    choices = (*numbered(titles), Choice("0", "Something else", ""))
    picked = session.choose("tried", choices)
    if picked:
        session.book.do_repair(session.call_id, picked, "worked")
    else:
        session.book.note(session.call_id, "The caller tried something and it works now")
    session.book.close(session.call_id, "fixed")


def _more(session: Session) -> None:
    """Bring back the questions."""
    waiting = session.state.deferred
    for entry in session.state.timeline:
        if getattr(entry.body, "step_id", "") in waiting:
            session.book.withdraw(session.call_id, entry.event_id)
    asking = [s for s in session.guide.plan.steps if s.kind == "ask"]
    if asking:
        ask_caller(session, asking[0])
    else:
        session.screen.say("No open question would tell anything more.")


def _close(session: Session) -> None:
    labels = [
        ("fixed", "It works again: no visit needed"),
        ("no_fault_found", "Nothing wrong"),
        ("referred", "Handed to somebody else"),
        ("abandoned", "The caller does not want a visit"),
    ]
    choices = (*numbered(labels), Choice("0", "Do not close", ""))
    outcome = session.choose("close", choices)
    if outcome:
        session.book.close(session.call_id, outcome)  # type: ignore[arg-type]
