"""``catchpan ladder``: the wiring of a system with what a meter shows at every point."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import click

from catchpan.calls.described import usual_setting
from catchpan.calls.ladder import Ladder, Line, ladders
from catchpan.catalog.load import catalog
from catchpan.catalog.system import archetype, options_of
from catchpan.cli.screen import WIDTH
from catchpan.diagnosis.worlds.description import Description
from catchpan.units.errors import BadValue

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

VOLTS: Final = 9
POSITION: Final = 11


@click.command()
@click.argument("system", metavar="ARCHETYPE")
@click.option("--option", "-o", "options", multiple=True, metavar="K=V", help="How it is built.")
@click.option("--fault", "-f", "faults", multiple=True, metavar="ID", help="What to assume wrong.")
@click.option("--demand", "-d", default="cool", show_default=True, help="off, fan, cool or heat.")
def ladder(system: str, options: tuple[str, ...], faults: tuple[str, ...], demand: str) -> None:
    """Print the wiring as a ladder with the voltage to expect at every point.

    Options that are not given are taken as they are usually found; ``catchpan catalog systems``
    lists the systems, ``catchpan catalog faults`` the faults.
    """
    data = catalog()
    setting = usual_setting(system, _pairs(options), data)
    described = Description(system, setting)
    click.echo(archetype(system, data).title)
    known = options_of(system, data)
    for name, value in setting.items():
        title = next(v.title for v in known[name].values if v.id == value)
        click.echo(f"  {known[name].title}: {title}")
    words = " and ".join(data.faults[f].title for f in faults if f in data.faults)
    for found in ladders(described, faults, demand):
        for line in ladder_lines(found, demand, words):
            click.echo(line)


def _pairs(options: Iterable[str]) -> dict[str, str]:
    pairs = {}
    for text in options:
        name, sign, value = text.partition("=")
        if not sign:
            raise BadValue("--option", f"{text!r} has no '='", "an option such as blower=psc")
        pairs[name.strip()] = value.strip()
    return pairs


def ladder_lines(found: Ladder, demand: str, wrong: str = "", width: int = WIDTH) -> Iterator[str]:
    """Write one circuit, at most ``width`` columns wide.

    Parameters
    ----------
    found : Ladder
        The circuit.
    demand : str
        What the thermostat asks for, for the heading.
    wrong : str
        What the second column assumes, in words; empty for no second column.
    width : int
        Columns, at least 60.
    """
    yield ""
    asks = f"thermostat calls for {demand}" if demand != "off" else "no call"
    yield f"{found.title}, {asks}"[:width]
    yield f"Volts {found.against}; across the load in ( )."[:width]
    if wrong:
        yield from _short(f"Second column: if it is {wrong}. '<' marks a difference.", width)
    heads = f"{'in order':>{VOLTS}}" + (f"{'then':>{VOLTS}}" if wrong else "")
    yield f"{'':<{width - len(heads) - 3}}{heads}"
    for line in found.lines:
        yield _line(line, bool(wrong), width)


def _short(text: str, width: int) -> Iterator[str]:
    while len(text) > width:
        cut = text.rfind(" ", 0, width)
        yield text[:cut]
        text = text[cut + 1 :]
    yield text


_MARKS: Final = {"source": "*", "series": "|", "load": "( )", "return": ":"}


def _line(line: Line, two: bool, width: int) -> str:
    volts = "".join(f"{v:>{VOLTS - 2}.1f} V" for v in line.volts[: 2 if two else 1])
    tail = volts + (" <" if two and line.differs else "  ")
    state = _position(line, two)
    start = f"{'  ' * line.depth}{_MARKS[line.kind]} "
    room = width - len(tail) - len(start) - POSITION - 2
    words = line.words if len(line.words) <= room else f"{line.words[: room - 2]}.."
    return f"{start}{words:<{room}} {state:<{POSITION}}{tail}".rstrip()


def _position(line: Line, two: bool) -> str:
    before, after = line.position
    if not two or before == after:
        return before
    return f"{before or 'whole'}>{after or 'whole'}"
