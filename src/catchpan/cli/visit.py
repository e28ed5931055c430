"""The visit: one step at a time, with what comes first, what can hurt, what to expect."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, cast

from catchpan.calls.advice import what_to_do
from catchpan.calls.body import ProofDone, ReadingTaken, RepairDone, WentTo
from catchpan.calls.event_words import check_title, place_words, reading_words
from catchpan.calls.expected import cautions, healthy_reading
from catchpan.calls.guide import CLEARED
from catchpan.calls.loading import cost_range
from catchpan.catalog.entry import RepairEntry
from catchpan.cli.act_words import act_words
from catchpan.cli.proof import prove
from catchpan.cli.screen import Choice, numbered
from catchpan.cli.take import (
    answer_choices,
    asked_reading,
    keep_reading,
    printed_words,
    take_reading,
)
from catchpan.diagnosis.cases.target_words import targets_heading, targets_lines
from catchpan.diagnosis.planning.forecast import NO_FAULT
from catchpan.diagnosis.worlds.family import OTHER

if TYPE_CHECKING:
    from collections.abc import Sequence

    from catchpan.calls.body import RepairOutcome
    from catchpan.catalog.entry import CheckEntry, ProofEntry
    from catchpan.cli.session import Session
    from catchpan.diagnosis.inference.belief import Reading
    from catchpan.diagnosis.inference.conflict import Conflict
    from catchpan.diagnosis.planning.situation import Forecast, Step
    from catchpan.diagnosis.worlds.family import CheckModel

CALLS: Final = {
    "cool": ", calling for cooling",
    "heat": ", calling for heating",
    "fan": ", fan on",
    "off": ", nothing called",
}
"""What the thermostat asks for, in the heading of a step."""

LIKELY: Final = 0.005
WORTH_NAMING: Final = 0.05


def visit_turn(session: Session) -> None:
    """Do the next thing on site."""
    guide = session.guide
    step = guide.plan.steps[0]
    session.step = step.target
    match step.kind:
        case "ask" | "look" | "measure":
            look(session, step)
        case "prove":
            _head(session, step)
            prove(session, step.target)
        case "repair":
            repair(session, step)
        case "refer" if step.target in guide.family.repairs:
            hand_over(session, step)
        case _:
            give_up(session)


def _head(session: Session, step: Step) -> None:
    """Write the step's title, and where the technician and the power are."""
    guide = session.guide
    here, screen = guide.situation, session.screen
    screen.heading(f"Step {_steps_on_site(session) + 1}: {_kind(session, step)}")
    if here.power_off:
        screen.say(f"[{place_words(session.data, here.place)}; power off]")
        screen.say(screen.strong(step.title))
        return
    asked = CALLS.get(here.demand, "")
    screen.say(f"[{place_words(session.data, here.place)}; power ON{asked}]")
    screen.say(screen.strong(step.title))


def _steps_on_site(session: Session) -> int:
    """Return how many steps were done since the technician arrived."""
    timeline = [entry.body for entry in session.state.timeline]
    arrived = next((i for i, body in enumerate(timeline) if isinstance(body, WentTo)), 0)
    return sum(isinstance(b, ReadingTaken | RepairDone | ProofDone) for b in timeline[arrived:])


def _kind(session: Session, step: Step) -> str:
    """Return the heading of a step: what physics cannot show is asked."""
    entry = session.data.checks.get(step.target)
    if entry is not None and entry.phone and entry.observe.quantity == "history":
        return "Ask or look"
    words = {"ask": "Ask", "look": "Look", "measure": "Measure", "prove": "Prove"}
    return words.get(step.kind, "Hand over" if step.kind == "refer" else "Repair")


def _body(session: Session, step: Step, entry: CheckEntry | RepairEntry | ProofEntry) -> None:
    """Write what comes first, what to do and what can hurt."""
    guide, screen = session.guide, session.screen
    screen.labelled("First", [f"- {act_words(act)}" for act in step.first])
    how = getattr(entry, "how", ()) or getattr(entry, "steps", ())
    screen.labelled("Do", [f"{i}. {line}" for i, line in enumerate(how, 1)])
    tool = getattr(entry, "tool", "")
    if isinstance(entry, RepairEntry):
        tool = ", ".join([*entry.tools, *entry.load])
    screen.labelled("With", [tool] if tool else [])
    arriving = guide.situation.place != entry.place
    for hazard in cautions(guide, entry, arriving=arriving):
        full = session.first_time(f"{hazard.id} at {entry.place}")
        text = f"{hazard.title}. {hazard.caution}" if full else f"{hazard.title}, as before."
        screen.labelled("CAUTION", [text])


def look(session: Session, step: Step) -> None:
    """Have something looked at or measured, and keep what was seen."""
    guide, screen = session.guide, session.screen
    entry, model = session.data.checks[step.target], guide.family.checks[step.target]
    _head(session, step)
    _body(session, step, entry)
    told = entry.observe.quantity == "history"
    healthy = "" if told else healthy_reading(guide, step.target)
    healthy += printed_words(entry) if healthy else ""
    screen.labelled("Expect", [f"{healthy}, if all is in order."] if healthy else [])
    _targets(session, model)
    screen.say(entry.ask)
    choices = answer_choices(entry, model)
    chances = {f.outcome_id: f for f in step.forecasts}
    for choice in choices:
        meaning = _meaning(session, chances.get(choice.value))
        screen.say(f" {choice.key}  {choice.label}", hang=4)
        screen.say(meaning, indent=6)
    _cost(session, entry.minutes.value)
    observed = asked_reading(session, entry, choices)
    keep_reading(session, step.target, observed)


def _targets(session: Session, model: CheckModel) -> None:
    """Write today's targets beside a reading of the running circuit."""
    if model.look is None:
        return
    todays = session.guide.targets(model.look.demand)
    lines = list(targets_lines(todays, model.look.of)) if todays is not None else []
    if todays is not None and lines:
        session.screen.labelled("Targets", [f"For {targets_heading(todays)}:", *lines])


def _meaning(session: Session, forecast: Forecast | None) -> str:
    """Say how likely an answer is and what it would point to."""
    if forecast is None or forecast.probability < LIKELY:
        return "hardly to be expected"
    chance = f"{forecast.probability:.0%}"
    if forecast.danger:
        return f"{chance}; then stop and get out of the danger"
    known = {NO_FAULT: "nothing wrong", OTHER: "something this list does not hold"}
    leads = known.get(forecast.leading) or session.guide.words.get(forecast.leading, "")
    return f"{chance}; then foremost: {leads} ({forecast.share:.0%})"


def _cost(session: Session, minutes: float) -> None:
    spent = session.guide.spent
    rate = session.guide.family.dollars_per_minute
    ahead = cost_range(session.guide).dollars
    so_far = spent.minutes * rate + spent.parts_dollars
    session.screen.say(
        f"{_minutes(minutes)} itself. So far {spent.minutes:.0f} min, ${so_far:,.0f}; "
        f"to a proven fix about ${ahead:,.0f} more. (why, later, causes, ladder, help)"
    )


def _minutes(minutes: float) -> str:
    return f"About {minutes:.0f} min" if minutes >= 1.0 else "Under a minute"


def repair(session: Session, step: Step) -> None:
    """Have a repair made, and ask whether it helped."""
    guide, screen = session.guide, session.screen
    entry = session.data.repairs[step.target]
    _head(session, step)
    fixes = guide.family.repairs[step.target].fixes
    open_now = (*guide.causes.roots, *guide.causes.consequences)
    met = [s for s in open_now if s.id in fixes and s.probability > WORTH_NAMING][:3]
    screen.labelled("Against", [f"{guide.words[s.id]} ({s.probability:.0%})" for s in met])
    _body(session, step, entry)
    _cost(session, entry.minutes.value)
    labels = [
        ("worked", "Done, and the system works now"),
        ("did_not", "Done, and the trouble is the same"),
        ("not_yet_known", "Done; not run yet, or only partly better"),
    ]
    choices = (*numbered(labels), Choice("4", "Not done: something else first", "later"))
    outcome = session.choose("repair", choices, step.target)
    if outcome == "later":
        session.book.defer(session.call_id, step.target, "something else first")
    else:
        session.book.do_repair(session.call_id, step.target, cast("RepairOutcome", outcome))


def hand_over(session: Session, step: Step) -> None:
    """Say what must be handed to someone licensed or equipped for it."""
    entry = session.data.repairs[step.target]
    _head(session, step)
    session.screen.labelled("Why", [entry.refer])
    _body(session, step, entry)
    labels = [
        ("hand", "Handed over; made safe until then"),
        ("done", "Done by somebody entitled to it: it works now"),
        ("later", "Not yet: look at something else first"),
    ]
    match session.choose("hand_over", numbered(labels), step.target):
        case "hand":
            session.book.note(session.call_id, f"Handed over: {entry.title}. {entry.refer}")
            session.book.close(session.call_id, "referred", causes=leading_causes(session))
        case "done":
            session.book.do_repair(session.call_id, step.target, "worked")
        case _:
            session.book.defer(session.call_id, step.target, "something else first")


def leading_causes(session: Session) -> list[str]:
    """Return the roots that are likelier than not."""
    return [s.id for s in session.guide.causes.roots if s.probability > 0.5]


def give_up(session: Session) -> None:
    """Say that going on costs more than handing over, and ask what to do."""
    session.step = ""
    screen = session.screen
    screen.heading("No step here pays for itself any more")
    rows = [
        (f"{s.probability:>4.0%}", session.guide.words[s.id])
        for s in session.guide.causes.roots[:4]
    ]
    screen.table(rows)
    waiting = session.state.deferred
    labels = [("hand", "Hand the job over and close"), ("find", "Enter something else I saw")]
    if waiting:
        labels.append(("now", f"Bring back what was put off ({len(waiting)})"))
    match session.choose("give_up", numbered(labels)):
        case "hand":
            session.book.close(session.call_id, "referred", causes=leading_causes(session))
        case "now":
            session.kit.commands["now"](session, "")
        case _:
            words = session.text("find", "What did you look at? (words, such as: contactor coil)")
            session.kit.commands["find"](session, words)


def danger(session: Session) -> None:
    """Say what to do about the dangers that are open, and wait until they are dealt with."""
    stop(session, session.guide.dangers, on_phone=session.guide.situation.on_phone)


def stop(session: Session, dangers: Sequence[Reading], *, on_phone: bool) -> None:
    """Say what to do about these dangers, and wait until they are dealt with.

    It needs no guide: it works before anything is known of the system.
    """
    session.step = ""
    screen = session.screen
    screen.heading("STOP")
    for reading in dangers:
        screen.say(f"Reported: {check_title(session.data, reading.check_id)}")
    for line in what_to_do(dangers):
        screen.say(f"- {line}", hang=2)
    labels = [("wrong", "That was entered by mistake"), ("safe", "Close: made safe, handed over")]
    if on_phone:
        labels.append(("cleared", "Done, and whoever had to come says it is safe: go on"))
    else:
        labels.append(("cleared", "I am on site and have dealt with it: safe to go on"))
    match session.choose("danger", numbered(labels)):
        case "wrong":
            _take_back(session, {r.check_id for r in dangers})
        case "safe":
            session.book.close(session.call_id, "made_safe")
        case _:
            said = {f"{CLEARED}{r.check_id}": True for r in dangers}
            session.book.open_call({"site": said}, call_id=session.call_id)


def _take_back(session: Session, checks: set[str]) -> None:
    for entry in session.state.readings:
        if entry.body.check_id in checks:
            session.book.withdraw(session.call_id, entry.event_id)


def ask_back(session: Session) -> None:
    """Say once of each reading that cannot be as it stands what the likely mistake is."""
    for question in session.guide.questions:
        if session.first_time(question.text):
            session.screen.labelled("ASK BACK", [question.text])


def conflict(session: Session, found: Conflict) -> bool:
    """Say that readings do not fit together; say whether the state changed."""
    named = frozenset(repr(s.reading) for s in found.suspects)
    if not named or not session.first_time(f"conflict {sorted(named)}"):
        return False
    screen, state = session.screen, session.state
    screen.heading("These readings do not fit together")
    latest = {e.body.check_id: e for e in state.readings}
    for suspect in found.suspects[:4]:
        entry = latest.get(suspect.reading.check_id)
        words = reading_words(session.data, entry.body) if entry else ""
        screen.say(f"- {check_title(session.data, suspect.reading.check_id)}: {words}", hang=2)
    repeat = found.repeat.reading.check_id if found.repeat else ""
    if repeat not in session.data.checks or repeat not in latest:
        return False
    screen.say(f"Cheapest to repeat: {check_title(session.data, repeat)}.")
    labels = [("repeat", "Repeat it now"), ("keep", "Leave it: go on with all of them")]
    if session.choose("conflict", numbered(labels), repeat) != "repeat":
        return True
    take_reading(session, repeat)
    session.book.withdraw(session.call_id, latest[repeat].event_id)
    return True
