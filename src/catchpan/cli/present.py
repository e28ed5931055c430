"""Tables and paragraphs on the terminal; plain aligned text where it is none."""

import sys
from collections.abc import Iterable, Sequence
from typing import Literal

from rich.box import SIMPLE_HEAD
from rich.console import Console, RenderableType
from rich.markup import escape
from rich.padding import Padding
from rich.table import Table

PLAIN_WIDTH = 100


class Sheet:
    """Writes to standard output.

    On a terminal with rules and colors (none where ``NO_COLOR`` is set); otherwise plain text,
    100 columns wide.
    """

    def __init__(self) -> None:
        terminal = sys.stdout.isatty()
        width = None if terminal else PLAIN_WIDTH
        self.console = Console(file=sys.stdout, highlight=False, width=width, soft_wrap=False)
        self.box = SIMPLE_HEAD if terminal else None

    def heading(self, text: str) -> None:
        """Write a heading after an empty line."""
        self._write("")
        self._write(f"[bold]{escape(text)}[/bold]")

    def line(self, text: str = "", indent: int = 0) -> None:
        """Write a paragraph, wrapped, indented as a whole."""
        self._write(Padding(escape(text), (0, 0, 0, indent)) if indent else escape(text))

    def table(
        self,
        heads: Sequence[str],
        rows: Iterable[Sequence[str]],
        right: Sequence[int] = (),
        whole: Sequence[int] = (),
    ) -> None:
        """Write a table.

        Parameters
        ----------
        heads : sequence of str
            One word or more for each column.
        rows : iterable of sequence of str
            The cells.
        right : sequence of int, optional
            Columns that are aligned at the right.
        whole : sequence of int, optional
            Columns whose cells are never broken (ids, which one copies).
        """
        table = Table(box=self.box, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
        for k, head in enumerate(heads):
            side: Literal["left", "right"] = "right" if k in right else "left"
            table.add_column(escape(head), justify=side, no_wrap=k in whole)
        for row in rows:
            table.add_row(*(escape(cell) for cell in row))
        self._write(table)

    def _write(self, what: RenderableType) -> None:
        """Write something, without blanks at the end of its lines."""
        with self.console.capture() as capture:
            self.console.print(what)
        for line in capture.get().splitlines():
            print(line.rstrip())


def percent(share: float) -> str:
    """Write a probability for people.

    Examples
    --------
    >>> [percent(x) for x in (0.4149, 0.0004, 0.0, 0.99996)]
    ['41 %', '<0.1 %', '0 %', '>99.9 %']
    """
    if share <= 0.0:
        return "0 %"
    if share < 0.001:
        return "<0.1 %"
    if share > 0.999:
        return ">99.9 %"
    return f"{share:.1%}".replace("%", " %") if share < 0.1 else f"{share:.0%}".replace("%", " %")


def times(log_odds: float) -> str:
    """Write how a reading moved the odds of a cause.

    Examples
    --------
    >>> import math
    >>> times(math.log(14)), times(-math.log(3)), times(0.01)
    ('odds x 14', 'odds / 3.0', 'hardly moves it')
    """
    factor = min(2.718281828459045 ** abs(log_odds), 9999.0)
    if factor < 1.1:
        return "hardly moves it"
    shown = f"{factor:.1f}" if factor < 9.95 else f"{factor:.0f}"
    return f"odds x {shown}" if log_odds > 0 else f"odds / {shown}"
