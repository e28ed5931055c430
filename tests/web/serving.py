"""The real command on a real port, for tests that need a whole server."""

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tools.shell import ROOT

PROGRAM = str(Path(sys.executable).parent / "catchpan")


KEPT = ROOT / ".cache" / "families-of-tests"
"""Compiled families, kept from one run to the next; they are found by all they depend on."""


def start(home: Path, *words: str) -> tuple[subprocess.Popen[str], str]:
    """Start the command with the demo; the process, and the address it printed."""
    command = [PROGRAM, "serve", "--demo", "--port", "0", *(words or ["--here"])]
    KEPT.mkdir(parents=True, exist_ok=True)
    (home / "demo-shop").mkdir(parents=True, exist_ok=True)
    if not (home / "demo-shop" / "cache").exists():
        (home / "demo-shop" / "cache").symlink_to(KEPT)
    env = {**os.environ, "CATCHPAN_HOME": str(home), "PYTHONUNBUFFERED": "1"}
    process = subprocess.Popen(command, env=env, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    found = next(m for line in process.stdout if (m := re.search(r"https?://\S+", line)))
    return process, found[0]


def stop(process: subprocess.Popen[str]) -> int:
    """Stop the command as a person does, and return its exit code."""
    process.send_signal(signal.SIGINT)
    assert process.stdout is not None
    process.stdout.read()
    process.stdout.close()
    return process.wait(20)


@contextmanager
def served(home: Path, *words: str) -> Iterator[str]:
    """Serve as long as it is needed, and see that it stops cleanly."""
    process, address = start(home, *words)
    try:
        yield address
    finally:
        assert stop(process) == 0
