"""Making sure there is an ngspice for the tests: `python3 -m tools.ngspice`.

The circuit solver is compared with this independent program. One on the path is used as it is; else
it is installed from the distribution; without root it is unpacked below `.cache`, and
`.cache/bin/ngspice` starts it from there. Whichever it is must solve a known circuit first.
"""

import re
import shutil
import sys
import tempfile
from pathlib import Path

from tools import debian
from tools.shell import CACHE, SetUpError, output_of, say, shown, stop

WRAPPER = CACHE / "bin" / "ngspice"
DIVIDER = """24 V over two equal resistors
V1 top 0 dc 24
R1 top mid 1k
R2 mid 0 1k
.op
.print op v(mid)
.end
"""
SETTINGS = ("SPICE_LIB_DIR=$root/usr/share/ngspice",)


def solves(program: str | Path) -> bool:
    """Whether the program runs here and finds 12 V in the middle of the divider."""
    with tempfile.TemporaryDirectory() as folder:
        deck = Path(folder) / "divider.cir"
        deck.write_text(DIVIDER)
        said = output_of([program, "-b", deck]) or ""
    found = re.search(r"\bmid\s+([-+.\deE]+)|v\(mid\)\s*=\s*([-+.\deE]+)", said)
    return found is not None and abs(float(found[1] or found[2]) - 12.0) < 1e-3


def point_at_models(root: Path) -> None:
    """Let the unpacked start-up file load its code models from where they were unpacked."""
    for script in (root / "usr/share/ngspice").rglob("spinit"):
        text = re.sub(r"(?<=\s)/usr/lib/", f"{root}/usr/lib/", script.read_text())
        script.write_text(text)


def unpack() -> bool:
    """Get the program without root; True when the unpacked one solves the divider."""
    if not debian.unpack(["ngspice"]):
        return False
    point_at_models(debian.UNPACKED)
    debian.write_starter(WRAPPER, "usr/bin/ngspice", SETTINGS)
    return solves(WRAPPER)


def on_path() -> str | None:
    """Return the program on the path, when it works."""
    program = shutil.which("ngspice")
    return program if program and solves(program) else None


def get() -> str:
    """Return a working ngspice, fetching it first when there is none.

    Raises
    ------
    SetUpError
        When there is none and none could be fetched.
    """
    ready = on_path() or (shown(WRAPPER) if solves(WRAPPER) else None)
    if ready:
        return ready
    found = on_path() if debian.install(["ngspice"]) else None
    if found:
        return found
    if unpack():
        return shown(WRAPPER)
    raise SetUpError(
        "the tests compare circuits with ngspice, and there is none. Install it with this "
        "machine's package manager (Debian, Ubuntu: apt-get install ngspice) and try again."
    )


def main() -> int:
    """Say which ngspice the tests will use."""
    try:
        say(f"circuits are compared with {get()}")
    except SetUpError as error:
        return stop(error)
    return 0


if __name__ == "__main__":
    sys.exit(main())
