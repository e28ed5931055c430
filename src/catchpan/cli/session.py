"""One call in the terminal: its state, its guide, and a prompt that understands commands anywhere.

Every answer is kept in the store before the next prompt appears; what the screen shows follows
from the trail alone, so a session that ends at any moment is resumed where it was.
"""

from __future__ import annotations

import threading
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from catchpan.calls.described import describe
from catchpan.calls.guide import Guide, guide
from catchpan.cli.screen import Asked, Choice, chosen
from catchpan.units.errors import CatchpanError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from catchpan.calls.guide import Compile
    from catchpan.calls.state import CallState
    from catchpan.calls.use_case import CallBook
    from catchpan.catalog.load import Catalog
    from catchpan.cli.screen import Screen

TEXT: Final = "text"
"""Kind of a prompt that takes free words; only a bare command counts as one there."""


class Changed(Exception):  # noqa: N818 - no error: what is asked is out of date
    """The state of the call changed: look again at what comes next."""


@dataclass(frozen=True)
class Kit:
    """What every session works with.

    Parameters
    ----------
    data : Catalog
        The catalog.
    commands : mapping of str to callable
        What may be typed at any prompt; each gets the session and the rest of the line.
    make : callable, optional
        Compiles a description.
    """

    data: Catalog
    commands: Mapping[str, Callable[[Session, str], None]]
    make: Compile | None = None


class Session:
    """A call being worked on.

    Parameters
    ----------
    book : CallBook
        Keeps the events.
    call_id : str
        The call.
    screen : Screen
        Where to write and ask.
    kit : Kit
        Catalog, commands and compiler.
    """

    def __init__(self, book: CallBook, call_id: str, screen: Screen, kit: Kit) -> None:
        self.book, self.call_id, self.screen, self.kit = book, call_id, screen, kit
        self.step = ""
        self.told: set[str] = set()
        self._known: tuple[CallState, Guide] | None = None
        self._ahead: threading.Thread | None = None

    @property
    def data(self) -> Catalog:
        """The catalog."""
        return self.kit.data

    @property
    def state(self) -> CallState:
        """The state of the call as the store has it."""
        return self.book.resume(self.call_id)

    @property
    def guide(self) -> Guide:
        """Everything that follows from the state; worked out once for each state."""
        if self._ahead is not None:
            self._ahead.join()
            self._ahead = None
        state = self.state
        if self._known is None or self._known[0] != state:
            self._known = (state, guide(state, self.data, self.kit.make))
        return self._known[1]

    def compile_ahead(self) -> None:
        """Begin to compile while the last questions are asked; the guide waits for it."""
        make, described = self.kit.make, describe(self.state, self.data)
        if make is None:
            return

        def work() -> None:
            with suppress(Exception):  # the guide meets the same trouble, and says it
                make(described)

        self._ahead = threading.Thread(target=work, daemon=True)
        self._ahead.start()

    def first_time(self, topic: str) -> bool:
        """Say whether this was not yet told in this session, and remember that it is now."""
        new = topic not in self.told
        self.told.add(topic)
        return new

    def ask(self, asked: Asked) -> str:
        """Ask until the line is no command, and return it.

        Raises
        ------
        Left
            At the end of the input or when the person quits.
        Changed
            When a command changed the call.
        """
        while True:
            line = self.screen.ask(asked)
            word, _, rest = line.partition(" ")
            command = self.kit.commands.get(word.casefold().lstrip("/"))
            if command is None or (asked.kind == TEXT and rest):
                return line
            try:
                command(self, rest.strip())
            except CatchpanError as error:
                self.screen.say(_sentence(error))

    def choose(self, kind: str, choices: Sequence[Choice], target: str = "") -> str:
        """Show choices, and return what the chosen one stands for."""
        self.screen.choices(choices)
        return self.choose_shown(kind, choices, target)

    def choose_shown(self, kind: str, choices: Sequence[Choice], target: str = "") -> str:
        """Return what the chosen one of choices already shown stands for."""
        asked = Asked(kind, target, tuple(choices))
        while True:
            found = chosen(choices, self.ask(asked))
            if found is not None:
                return found.value
            keys = ", ".join(c.key for c in choices)
            self.screen.say(f"Type one of {keys} (or help).")

    def text(self, kind: str, prompt: str, choices: Sequence[Choice] = ()) -> str:
        """Return free words; an empty line means unknown."""
        self.screen.say(prompt)
        return self.ask(Asked(TEXT, kind, tuple(choices)))

    def ask_to_go_on(self) -> None:
        """Wait for a line, so that a trouble that stays does not run in a circle."""
        self.ask(Asked("go_on", "", (), "Enter to go on> "))

    def number(self, kind: str, prompt: str, low: float, high: float) -> float | None:
        """Return a plain number within bounds, or None for an empty line."""
        while True:
            self.screen.say(prompt)
            line = self.ask(Asked(kind))
            if not line or line == "?":
                return None
            try:
                value = float(line.split()[0].replace(",", "."))
            except ValueError:
                value = float("nan")
            if low <= value <= high:
                return value
            self.screen.say(f"A number from {low:g} to {high:g}, or Enter if not known.")


def _sentence(error: CatchpanError) -> str:
    text = str(error)
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '?')) else '.'}"
