"""How long a person waits before the program says its first word."""

import subprocess
import sys
from collections.abc import Iterator

from benchmarks.measurement import Measurement, measure

ASK_FOR_HELP = "from catchpan.cli.main import main; main(['--help'])"


def _start(code: str) -> None:
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)


def measurements() -> Iterator[Measurement]:
    """Time a bare Python, and the program's help page in a fresh process."""
    yield measure("start: an empty Python program", lambda: _start("pass"))
    yield measure("start: catchpan --help", lambda: _start(ASK_FOR_HELP))
