"""A call that is killed at any moment goes on with nothing lost."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from catchpan.assembly import assemble
from catchpan.calls.state import CallState

LINES = ["0", "No cooling", "2", "1", "3", "11", "Ann"]


def started(home: Path, *arguments: str) -> subprocess.Popen[bytes]:
    """Start the command with its own folder."""
    code = "from catchpan.cli.main import main; main()"
    return subprocess.Popen(
        [sys.executable, "-u", "-c", code, "call", *arguments],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        env={**os.environ, "CATCHPAN_HOME": str(home), "TERM": "dumb"},
    )  # fmt: skip


def prompts(process: subprocess.Popen[bytes], count: int) -> None:
    """Read until so many prompts have appeared."""
    assert process.stdout is not None
    seen = 0
    last = b""
    while seen < count:
        byte = process.stdout.read(1)
        assert byte, "the command ended"
        seen += last.endswith(b"\n>") and byte == b" "
        last = (last + byte)[-2:]


def kept(home: Path) -> CallState:
    """Return the state of the only call there is."""
    with assemble({"CATCHPAN_HOME": str(home)}) as opened:
        (summary,) = opened.store.calls()
        return opened.call_book().resume(summary.call_id)


def answers_kept(state: CallState) -> int:
    """Count the answers to the first questions."""
    opened = state.opened
    return sum(
        [
            opened.complaint_words is not None,
            "dangers_asked" in opened.site,
            state.archetype is not None,
            "season" in opened.site,
            "location" in state.description,
            "age_years" in opened.site,
            opened.caller is not None,
        ]
    )


@pytest.mark.parametrize("count", range(1, len(LINES) + 1, 2))
def test_what_was_answered_before_the_next_prompt_survives_a_kill(
    tmp_path: Path, count: int
) -> None:
    with started(tmp_path) as process:
        assert process.stdin is not None
        for number, line in enumerate(LINES[:count], 1):
            prompts(process, 1)
            process.stdin.write(f"{line}\n".encode())
            process.stdin.flush()
            if number == count:
                prompts(process, 1)
        process.kill()
    assert answers_kept(kept(tmp_path)) == count


def test_a_killed_call_goes_on_with_the_next_question(tmp_path: Path) -> None:
    with started(tmp_path) as process:
        assert process.stdin is not None
        prompts(process, 1)
        process.stdin.write(b"0\n")
        process.stdin.flush()
        prompts(process, 1)
        process.kill()
    with started(tmp_path, "--resume", "last") as process:
        out, errors = process.communicate(b"No cooling\n", timeout=120)
    assert b"Is any of this so right now?" not in out
    assert b"What is wrong, in the caller" in out
    assert b"What kind of system is it?" in out
    assert b"Traceback" not in errors
    assert answers_kept(kept(tmp_path)) == 2


def test_killing_at_random_moments_never_spoils_the_call(tmp_path: Path) -> None:
    with started(tmp_path) as process:
        assert process.stdin is not None
        prompts(process, 1)
        process.stdin.write("".join(f"{line}\n" for line in LINES).encode())
        process.stdin.flush()
        time.sleep(0.02)
        process.kill()
    state = kept(tmp_path)
    assert 0 <= answers_kept(state) <= len(LINES)
    assert not state.unreadable
