"""One furnace in a basement with every option known, its small family, and a call about it."""

from collections.abc import Callable
from functools import cache
from threading import Lock

from catchpan.calls.described import usual_setting
from catchpan.calls.guide import Guide, guide
from catchpan.calls.known_names import name_check
from catchpan.calls.progress import SITE
from catchpan.calls.state import CallState
from catchpan.calls.use_case import Answer, CallBook
from catchpan.catalog.load import catalog
from catchpan.diagnosis.worlds.compile_family import Size
from catchpan.diagnosis.worlds.compiled import compiled
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import Family

SYSTEM = "air-conditioner-condensing-furnace"
_SAID = {
    "location": "basement",
    "blower": "psc",
    "thermostat_power": "c_wire",
    "float_switch": "in_r",
    "aux_pan": "none",
    "drain": "gravity",
    "disconnect": "plain",
    "metering": "txv",
    "cleanout": "yes",
}
OPTIONS = usual_setting(SYSTEM, _SAID, catalog())
"""As said, and for the rest as such a system is usually built."""


_TURN = Lock()
"""Sessions compile ahead in threads; the same family is wanted by many at once."""


@cache
def _small(archetype: str, options: tuple[tuple[str, str], ...], season: str | None) -> Family:
    known = Description(archetype, dict(options), season)  # type: ignore[arg-type]
    return compiled(known, size=Size(settings=1, pairs=150))


def small_family(description: Description) -> Family:
    """Compile a description with few pairs, once for all tests of a process."""
    options = tuple(sorted(description.options.items()))
    with _TURN:
        return _small(description.archetype, options, description.season)


def guide_of(state: CallState) -> Guide:
    """Return the guide of a state, with a small family."""
    return guide(state, catalog(), small_family)


def open_call(book: CallBook, call_id: str = "c1") -> CallState:
    """Open a call about the furnace, everything about it known."""
    book.open_call(
        {"archetype": SYSTEM, "site": {"season": "cooling"}, "complaint_words": "no cooling"},
        call_id=call_id,
    )
    return book.describe(call_id, OPTIONS)


def on_site(book: CallBook, call_id: str = "c1") -> CallState:
    """Open the call and arrive."""
    open_call(book, call_id)
    return book.go(call_id, SITE)


def answer(book: CallBook, check_id: str, said: str, call_id: str = "c1") -> CallState:
    """Enter a technician's answer."""
    return book.take_reading(call_id, check_id, Answer(said))


def strict(book: CallBook) -> CallBook:
    """Return the same book, knowing the catalog's names."""
    return CallBook(book.store, book.clock, book.device_id, name_check(catalog()))


NewBook = Callable[..., CallBook]
