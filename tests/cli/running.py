"""Running the command in this process, with what it wrote and its exit code."""

from dataclasses import dataclass

import pytest

from catchpan.cli.main import run


@dataclass(frozen=True)
class Done:
    """What a command left behind."""

    code: int
    out: str
    err: str


def command(capsys: pytest.CaptureFixture[str], *arguments: str) -> Done:
    """Run the command with these arguments."""
    code = run(arguments)
    written = capsys.readouterr()
    return Done(code, written.out, written.err)
