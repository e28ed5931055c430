"""``catchpan call``: a whole service call, from the phone to the proven fix."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import click

from catchpan.assembly import Assembly, assemble
from catchpan.calls.guide import SIZE
from catchpan.calls.known_names import name_check
from catchpan.calls.use_case import new_id
from catchpan.catalog.load import catalog
from catchpan.cli.closing import closing_turn, show_summaries
from catchpan.cli.commands import COMMANDS
from catchpan.cli.interview import QUESTIONS, first_questions
from catchpan.cli.phone import phone_turn, show_range
from catchpan.cli.screen import Left, Screen
from catchpan.cli.session import Changed, Kit, Session
from catchpan.cli.shelf import family_shelf
from catchpan.cli.visit import ask_back, conflict, danger, visit_turn
from catchpan.diagnosis.worlds.compiled import compiled
from catchpan.units.errors import CatchpanError

if TYPE_CHECKING:
    from catchpan.diagnosis.worlds.description import Description
    from catchpan.diagnosis.worlds.family import Family

MOST_LISTED: Final = 20
BEFORE_COMPILING: Final = ("dangers", "stop", "words", "system", "season", "location", "age")


@click.command()
@click.option("--new", "is_new", is_flag=True, help="Start a new call (the default).")
@click.option("--resume", metavar="ID", help="Go on with a call; 'last' for the latest.")
@click.option("--list", "is_list", is_flag=True, help="List the calls of this device.")
def call(is_new: bool, resume: str | None, is_list: bool) -> None:
    """Work through a service call: phone interview, guided visit, repair and proof.

    Every answer is kept at once: leave at any moment and resume with ``--resume last``.
    """
    if is_new and resume:
        raise click.UsageError("--new and --resume exclude each other")
    with assemble() as opened:
        for notice in opened.notices:
            click.echo(str(notice), err=True)
        if is_list:
            _list(opened)
            return
        book = opened.call_book(name_check(catalog()))
        call_id = _resumed(opened, resume) if resume else new_id()
        session = Session(book, call_id, Screen(), Kit(catalog(), COMMANDS, compile_and_keep))
        if resume:
            session.screen.say(f"Going on with call {call_id}.")
        else:
            book.open_call({}, call_id=call_id)
        run(session)


def compile_and_keep(description: Description) -> Family:
    """Compile a description at the size of a call, or find it on the shelf."""
    return compiled(description, size=SIZE, shelf=family_shelf())


def run(session: Session) -> None:
    """Go on until the call is closed or the person leaves; nothing else ends it."""
    screen = session.screen
    screen.say("Type help at any prompt for what else can be typed; quit leaves, nothing is lost.")
    try:
        while session.state.closed is None:
            _turn(session)
        show_summaries(session)
        screen.say("")
        screen.say(f"Call {session.call_id} is closed and kept.")
    except (Left, KeyboardInterrupt):
        screen.say("")
        screen.say("Left; everything entered is kept. Go on with:")
        screen.say(f"  catchpan call --resume {session.call_id}")


def _turn(session: Session) -> None:
    try:
        _next(session)
    except Changed:
        return
    except CatchpanError as error:
        session.screen.say(f"{error}.")
        session.ask_to_go_on()


def _next(session: Session) -> None:
    session.step = ""
    _begin_compiling(session)
    if first_questions(session):
        return
    if session.first_time("ready"):
        session.screen.say("(working out what could be wrong with such a system ...)")
    guide = session.guide
    ask_back(session)
    if guide.dangers:
        danger(session)
    elif guide.conflict is not None and conflict(session, guide.conflict):
        return
    elif guide.phase == "phone":
        phone_turn(session)
    elif guide.plan.steps[0].kind == "stop":
        closing_turn(session)
    else:
        if session.first_time("range"):
            show_range(session)
        visit_turn(session)


def _begin_compiling(session: Session) -> None:
    """Compile in the background as soon as the questions that matter for it are answered."""
    waiting = any(q.is_open(session) for q in QUESTIONS if q.name in BEFORE_COMPILING)
    if not waiting and session.first_time("compiling"):
        session.compile_ahead()


def _resumed(opened: Assembly, wanted: str) -> str:
    """Return the id of the call to resume: the latest, or the one an id begins."""
    calls = opened.store.calls()
    if wanted == "last":
        if not calls:
            raise click.UsageError("there is no call yet; start one with: catchpan call")
        return calls[0].call_id
    fitting = [c.call_id for c in calls if c.call_id.startswith(wanted)]
    if len(fitting) != 1:
        many = "several calls begin" if fitting else "no call begins"
        raise click.UsageError(f"{many} with {wanted!r}; see: catchpan call --list")
    return fitting[0]


def _list(opened: Assembly) -> None:
    book = opened.call_book(name_check(catalog()))
    calls = opened.store.calls(MOST_LISTED)
    if not calls:
        click.echo("No calls yet. Start one with: catchpan call")
    for summary in calls:
        state = book.resume(summary.call_id)
        words = (state.opened.complaint_words or "no words yet")[:38]
        status = "closed" if state.closed else "open"
        when = summary.last_at_utc.strftime("%Y-%m-%d %H:%M")
        click.echo(f"{summary.call_id[:8]}  {when} UTC  {status:<6}  {words}")
