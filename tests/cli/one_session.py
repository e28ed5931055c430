"""A call in this process: lines in, screen out, events in memory."""

from collections.abc import Callable, Iterable

from catchpan.calls.known_names import name_check
from catchpan.calls.use_case import CallBook
from catchpan.catalog.load import catalog
from catchpan.cli.commands import COMMANDS
from catchpan.cli.screen import Asked, Screen
from catchpan.cli.session import Kit, Session
from tests.calls.conftest import MemoryStore, StandingClock
from tests.calls.one_home import OPTIONS, SYSTEM, small_family

Reply = Callable[[Asked], str]


def new_session(reply: Reply, written: list[str]) -> Session:
    """Return a session on a call that was just opened."""
    book = CallBook(MemoryStore(), StandingClock(), "van-1", name_check(catalog()))
    book.open_call({}, call_id="c1")
    return session_of(book, reply, written)


def session_of(book: CallBook, reply: Reply, written: list[str]) -> Session:
    """Return a session on the call of a book."""
    kit = Kit(catalog(), COMMANDS, small_family)
    screen = Screen(reply, written.append, width=80, bold=False)
    return Session(book, "c1", screen, kit)


def described_session(reply: Reply, written: list[str]) -> Session:
    """Return a session whose first questions are answered."""
    session = new_session(reply, written)
    site = {"dangers_asked": True, "season": "cooling", "age_years": 11, "words_matched": True}
    fields = {
        "caller": "",
        "address": "",
        "complaint_words": "no cooling",
        "archetype": SYSTEM,
        "site": site,
    }
    session.book.open_call(fields, call_id="c1")
    session.book.describe("c1", OPTIONS)
    return session


def typed(lines: Iterable[str]) -> Reply:
    """Type these lines, then leave."""
    waiting = iter(lines)

    def reply(_: Asked) -> str:
        try:
            return next(waiting)
        except StopIteration:
            raise EOFError from None

    return reply
