"""The screen of the terminal: 80 columns of plain text, and one line at a time as the answer."""

from __future__ import annotations

import os
import shutil
import sys
import textwrap
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

WIDTH: Final = 80
LABEL: Final = 10


class Left(Exception):  # noqa: N818 - no error: the person went away
    """The input ended: the person left, or closed the terminal."""


@dataclass(frozen=True)
class Choice:
    """One answer to choose: what to type, what it says, and what it stands for."""

    key: str
    label: str
    value: str


@dataclass(frozen=True)
class Asked:
    """What is being asked, so that somebody other than a keyboard can answer too.

    Parameters
    ----------
    kind : str
        ``check``, ``repair``, ``proof``, or the name of a question of the screen itself.
    target : str
        Id of the check, repair or proof; empty for others.
    choices : tuple of Choice
        What may be answered; empty where free text or a number is wanted.
    prompt : str
        The words before the cursor.
    """

    kind: str
    target: str = ""
    choices: tuple[Choice, ...] = ()
    prompt: str = "> "


Reply = Callable[[Asked], str]


def keyboard(asked: Asked) -> str:
    """Read one line from the keyboard."""
    return input(asked.prompt)


def terminal_width() -> int:
    """Columns to write in: at most 80, fewer on a narrower terminal, never below 40."""
    return max(40, min(WIDTH, shutil.get_terminal_size((WIDTH, 24)).columns))


class Screen:
    """Writes wrapped text and asks for lines.

    Parameters
    ----------
    reply : callable, optional
        Answers what is asked; by default the keyboard.
    write : callable, optional
        Takes finished lines; by default standard output.
    width : int, optional
        Columns.
    bold : bool, optional
        Whether headings may be printed bold; by default only on a terminal that may show it.
    """

    def __init__(
        self,
        reply: Reply = keyboard,
        write: Callable[[str], None] = print,
        width: int | None = None,
        bold: bool | None = None,
    ) -> None:
        self.reply, self.write = reply, write
        self.width = width or terminal_width()
        self.bold = _may_be_bold() if bold is None else bold

    def say(self, text: str = "", indent: int = 0, hang: int = 0) -> None:
        """Write a paragraph, wrapped."""
        if not text:
            self.write("")
        for line in _wrapped(text, self.width, " " * indent, " " * (indent + hang)):
            self.write(line)

    def labelled(self, label: str, texts: Iterable[str]) -> None:
        """Write paragraphs beside a label in the left margin; nothing when there are none."""
        head = label
        for text in texts:
            start = f"{head:<{LABEL}}"
            for line in _wrapped(text, self.width, start, " " * LABEL):
                self.write(line)
            head = ""

    def heading(self, text: str, aside: str = "") -> None:
        """Write a ruled heading with a remark at its right end."""
        tail = f" {aside} --" if aside else ""
        room = self.width - len(text) - len(tail) - 4
        self.write("")
        self.write(self.strong(f"-- {text} {'-' * max(room, 2)}{tail}"[: self.width]))

    def strong(self, text: str) -> str:
        """Return the text in bold where the terminal shows it."""
        return f"\x1b[1m{text}\x1b[0m" if self.bold else text

    def table(self, rows: Sequence[Sequence[str]], indent: int = 2) -> None:
        """Write rows in columns; the last column is wrapped."""
        if not rows:
            return
        widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]) - 1)]
        for row in rows:
            start = " " * indent + "".join(
                f"{cell:<{width}}  " for cell, width in zip(row[:-1], widths, strict=True)
            )
            for line in _wrapped(row[-1], self.width, start, " " * len(start)):
                self.write(line)

    def choices(self, choices: Sequence[Choice]) -> None:
        """Write what may be answered."""
        self.table([(f"{c.key:>2}", c.label) for c in choices], indent=1)

    def ask(self, asked: Asked) -> str:
        """Return the line that was answered, without blanks around it.

        Raises
        ------
        Left
            At the end of the input, or when interrupted.
        """
        try:
            return self.reply(asked).strip()
        except (EOFError, KeyboardInterrupt) as error:
            raise Left from error
        except UnicodeDecodeError:
            return "\N{REPLACEMENT CHARACTER}"


def numbered(labels: Iterable[tuple[str, str]], start: int = 1) -> tuple[Choice, ...]:
    """Return choices counted from ``start``; each label comes with what it stands for."""
    return tuple(Choice(str(i), label, value) for i, (value, label) in enumerate(labels, start))


def chosen(choices: Sequence[Choice], line: str) -> Choice | None:
    """Return the choice a line names: its key, or the one label that begins with the line."""
    typed = line.casefold().strip().rstrip(".")
    for choice in choices:
        if typed == choice.key.casefold():
            return choice
    fitting = [c for c in choices if len(typed) > 1 and c.label.casefold().startswith(typed)]
    return fitting[0] if len(fitting) == 1 else None


def _may_be_bold() -> bool:
    plain = os.environ.get("NO_COLOR") or os.environ.get("TERM") in {None, "dumb"}
    return sys.stdout.isatty() and not plain


def _wrapped(text: str, width: int, first: str, rest: str) -> list[str]:
    return textwrap.wrap(
        text, width, initial_indent=first, subsequent_indent=rest, break_long_words=True
    ) or [first.rstrip()]
