"""Getting uv, at one exact version, from the package index into `.cache/uv`.

Tried in turn, because a bare machine may lack any of them: the standard `venv` with its pip; the
machine's own pip; the pip that the distribution packs as one file (installed when we may, else
unpacked below `.cache`).
"""

import os
import shutil
import sys
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from tools import debian
from tools.shell import CACHE, SetUpError, output_of, say, succeeds

VERSION = "0.13.9"
HOME = CACHE / "uv"
PIP_SETTINGS = {
    "PIP_DISABLE_PIP_VERSION_CHECK": "1",
    "PIP_ROOT_USER_ACTION": "ignore",
    "PIP_USER": "0",
}
REQUEST = ["install", "--quiet", "--only-binary", ":all:", f"uv=={VERSION}"]


def is_wanted(program: Path) -> bool:
    """Whether the program is uv at exactly our version, and runs."""
    said = output_of([program, "--version"]) if program.exists() else None
    return said is not None and said.split()[1:2] == [VERSION]


def by_venv() -> Path:
    """Get uv with the standard venv module and the pip it brings."""
    shutil.rmtree(HOME, ignore_errors=True)
    if output_of([sys.executable, "-m", "venv", HOME]) is not None:
        succeeds([HOME / "bin" / "python", "-m", "pip", *REQUEST], env=pip_environment())
    return HOME / "bin" / "uv"


def by_pip(pip: Sequence[str | Path], paths: Mapping[str, str] | None = None) -> Path:
    """Get uv with a pip that is already there, into a folder of ours."""
    shutil.rmtree(HOME, ignore_errors=True)
    env = {**pip_environment(), **(paths or {})}
    if output_of([*pip, "--version"], env=env) is not None:
        succeeds([*pip, *REQUEST, "--target", HOME], env=env)
    return HOME / "bin" / "uv"


def by_distribution() -> Path:
    """Get uv with the distribution's pip, packed as one wheel that runs from its file."""
    package = ["python3-pip-whl"]
    place = Path("usr/share/python-wheels")
    found: list[Path] = []
    if debian.install(package) or debian.unpack(package):
        found = [*Path("/").glob(f"{place}/pip-*.whl"), *debian.UNPACKED.glob(f"{place}/pip-*.whl")]
    if not found:
        return HOME / "bin" / "uv"
    return by_pip([sys.executable, "-m", "pip"], {"PYTHONPATH": str(found[-1])})


def pip_environment() -> dict[str, str]:
    """Return the machine's own environment, with pip kept quiet and inside its folder."""
    return {**os.environ, **PIP_SETTINGS}


def attempts() -> Iterator[Path]:
    """Try one way after the other; each yields where uv would be."""
    yield HOME / "bin" / "uv"
    say(f"getting uv {VERSION} from the package index")
    yield by_venv()
    yield by_pip([sys.executable, "-m", "pip"])
    yield by_distribution()


def get() -> Path:
    """Return uv's program at our version, fetching it first when it is not there.

    Raises
    ------
    SetUpError
        When the package index cannot be reached or the machine has no pip of any kind.
    """
    for program in attempts():
        if is_wanted(program):
            return program
    raise SetUpError(
        f"uv {VERSION} could not be fetched. Is the package index reachable from here? If so, "
        "this Python has neither venv nor pip: install them (Debian, Ubuntu: "
        "apt-get install python3-venv python3-pip) and try again."
    )
