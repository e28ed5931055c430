"""Running other programs, and stopping with a sentence a person can act on."""

import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
CACHE = ROOT / ".cache"


class SetUpError(Exception):
    """The machine lacks something the set-up cannot get by itself."""


def say(text: str) -> None:
    """Tell the person what happens now."""
    print(f"set-up: {text}", flush=True)


def shown(path: Path) -> str:
    """Spell a path briefly: relative to the checkout when it lies inside."""
    return str(path.relative_to(ROOT)) if path.is_relative_to(ROOT) else str(path)


def succeeds(command: Sequence[str | Path], env: Mapping[str, str] | None = None) -> bool:
    """Run a command with its output shown; True when it ended well."""
    try:
        return subprocess.run([str(word) for word in command], env=env, check=False).returncode == 0
    except OSError as error:
        say(str(error))
        return False


def output_of(
    command: Sequence[str | Path],
    env: Mapping[str, str] | None = None,
    cwd: Path | None = None,
) -> str | None:
    """Run a command quietly; its standard output, or None when it failed or does not exist."""
    words = [str(word) for word in command]
    try:
        done = subprocess.run(words, env=env, cwd=cwd, capture_output=True, text=True, check=False)
    except OSError:
        return None
    return done.stdout if done.returncode == 0 else None


def stop(error: SetUpError) -> int:
    """Print why the set-up cannot go on; the exit code to end with."""
    print(f"set-up: cannot go on: {error}", file=sys.stderr)
    return 1
