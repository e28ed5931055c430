"""The command `catchpan`: its commands, and the one place where errors become exit codes."""

import importlib
import os
import sys
import traceback
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import click

from catchpan.units.errors import EXIT_GENERAL, CatchpanError

DEBUG_VARIABLE: Final = "CATCHPAN_DEBUG"
EXIT_INTERRUPTED: Final = 130


@dataclass(frozen=True)
class Entry:
    """A command: the module that holds it under its own name, and what it is for."""

    module: str
    help: str


COMMANDS: Final[Mapping[str, Entry]] = {
    "call": Entry("catchpan.cli.call", "Take a call: interview, guided visit, repair, proof."),
    "serve": Entry("catchpan.cli.serve", "Serve the field app and the office pages."),
    "demo": Entry("catchpan.cli.demo", "Play a whole call, with nobody at the keyboard."),
    "weigh": Entry("catchpan.cli.weigh", "Weigh a case from a file: causes, reasons, next steps."),
    "catalog": Entry("catchpan.cli.catalog", "List systems, faults, checks and repairs by id."),
    "ladder": Entry("catchpan.cli.ladder", "Show a system's wiring as a ladder with its voltages."),
}
"""Every command; a module is imported only when its command is used."""


class Commands(click.Group):
    """The group of all commands, imported on use so that the first word comes at once."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        """Return the commands in the order of ``COMMANDS``."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a command, or None; click then says which one may have been meant."""
        if cmd_name not in COMMANDS:
            return super().get_command(ctx, cmd_name)
        module = importlib.import_module(COMMANDS[cmd_name].module)
        command: click.Command = getattr(module, cmd_name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """Write the list of commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, entry.help) for name, entry in COMMANDS.items()])


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="catchpan")
def catchpan() -> None:
    """Find the fault in a home's heating or cooling, and prove the repair.

    catchpan is an adviser, not a licence: local codes, the maker's instructions and licensed
    practice come first, and no safety device is ever bypassed.
    """


def main(arguments: Sequence[str] | None = None) -> None:
    """Run a command and leave with its exit code; never with a traceback.

    Parameters
    ----------
    arguments : sequence of str, optional
        By default what was typed.
    """
    sys.exit(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code; see ``catchpan.units.errors`` for the codes."""
    try:
        catchpan.main(None if arguments is None else list(arguments), standalone_mode=False)
        sys.stdout.flush()
    except click.exceptions.Exit as left:
        return left.exit_code
    except BrokenPipeError:
        sys.stdout = open(os.devnull, "w")  # noqa: SIM115, PTH123 - closed by the end of the process
    except (click.Abort, KeyboardInterrupt):
        return EXIT_INTERRUPTED
    except Exception as error:  # noqa: BLE001 - the last guard
        return _report(error)
    return 0


def _report(error: Exception) -> int:
    """Say what is wrong, on one line where the program itself failed, and return the exit code."""
    match error:
        case click.ClickException():
            error.show()
        case CatchpanError():
            click.echo(f"catchpan: {error}", err=True)
        case _:
            text = " ".join(str(error).split())[:200] or "no message"
            what = f"{type(error).__name__}: {text}"
            click.echo(f"catchpan: something went wrong: {what}{_kept(error)}", err=True)
    return int(getattr(error, "exit_code", EXIT_GENERAL))


def _kept(error: Exception) -> str:
    """Keep the traceback in a file where that is asked for, and say so."""
    target = os.environ.get(DEBUG_VARIABLE, "")
    if not target:
        return f" (set {DEBUG_VARIABLE}=FILE to keep the details)"
    path = Path("catchpan-error.txt" if target == "1" else target)
    now = datetime.now(UTC).isoformat(timespec="seconds")
    try:
        path.write_text(f"{now}\n{''.join(traceback.format_exception(error))}", encoding="utf-8")
    except OSError as refused:
        return f" (the details could not be written to {path}: {refused.strerror})"
    return f" (details in {path})"
