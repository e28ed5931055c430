"""``catchpan demo``: a whole invented call, played without a keyboard by the real engine."""

from __future__ import annotations

import tempfile
import textwrap
from typing import Final

import click

from catchpan.assembly import HOME_VARIABLE, assemble
from catchpan.calls.known_names import name_check
from catchpan.calls.use_case import new_id
from catchpan.catalog.load import catalog
from catchpan.cli.call import compile_and_keep, run
from catchpan.cli.commands import COMMANDS
from catchpan.cli.player import Player, home_of, read_script
from catchpan.cli.screen import Screen
from catchpan.cli.session import Kit, Session
from catchpan.units.errors import CatchpanError

INTRODUCTION: Final = (
    "A whole service call, invented, with two things wrong at once. Nobody types: a simulated "
    "house answers every question and every reading, computed from its wiring and its faults. "
    "What catchpan asks, proposes and concludes is worked out as it would be on a real call; it "
    "does not know the faults. Lines after '>' are the technician's."
)


class DemoStuckError(CatchpanError):
    """The demonstration did not come to its end."""

    def __init__(self, answers: int) -> None:
        super().__init__(
            f"the demonstration did not end after {answers} answers",
            hint="run it again with CATCHPAN_DEBUG set and report what it printed",
        )


@click.command()
@click.option("--pace", type=click.FloatRange(0.0, 60.0), default=0.0, help="Seconds per answer.")
def demo(pace: float) -> None:
    """Play a whole call, from the phone to the proven fix, with nobody at the keyboard."""
    for line in textwrap.wrap(INTRODUCTION, 80):
        click.echo(line)
    click.echo("")
    data, script = catalog(), read_script()
    home = home_of(script, data)
    hidden = [data.faults[c].title for c in script["home"]["conditions"]]
    player = Player(script, home, click.echo, pace)
    with tempfile.TemporaryDirectory() as folder, assemble({HOME_VARIABLE: folder}) as opened:
        book, call_id = opened.call_book(name_check(data)), new_id()
        book.open_call({}, call_id=call_id)
        kit = Kit(data, COMMANDS, compile_and_keep)
        run(Session(book, call_id, Screen(player, click.echo), kit))
        ended = book.resume(call_id).closed is not None
    if not ended:
        raise DemoStuckError(player.answered)
    click.echo("")
    click.echo("What had been hidden in this house:")
    for title in hidden:
        click.echo(f"  - {title}")
    click.echo("")
    click.echo("The demonstration's call was kept in a folder of its own and is gone.")
    click.echo("Start a call of your own:  catchpan call   (in this folder: .venv/bin/catchpan)")
    click.echo("Everything else:           catchpan --help")
