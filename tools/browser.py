"""Making sure there is a Chromium for the tests: `python3 -m tools.browser`.

The pages are tried in a real browser. One on the path is used as it is; else it is installed from
the distribution; without root it is unpacked below `.cache`, and `.cache/bin/chromium` starts it
from there. Whichever it is must run a script in a page first.
"""

import os
import shutil
import sys
import tempfile
from pathlib import Path

from tools import debian
from tools.shell import CACHE, SetUpError, output_of, say, shown, stop

WRAPPER = CACHE / "bin" / "chromium"
NAMES = ("chromium", "chromium-browser")
PAGE = "data:text/html,<p id=a></p><script>a.append('six times seven is '+6*7)</script>"
PROOF = "six times seven is 42"
BARE = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage")
SETTINGS = ("FONTCONFIG_PATH=$root/etc/fonts", "XDG_DATA_DIRS=$root/usr/share:/usr/share")


def runs_scripts(program: str | Path) -> bool:
    """Whether the program opens a page here and runs its script."""
    with tempfile.TemporaryDirectory() as folder:
        command = [program, *BARE, f"--user-data-dir={folder}", "--dump-dom", PAGE]
        said = output_of(command, env={**os.environ, "HOME": folder}) or ""
    return PROOF in said


def on_path() -> str | None:
    """Return the program on the path, when it works."""
    found = (shutil.which(name) for name in NAMES)
    return next((program for program in found if program and runs_scripts(program)), None)


def unpack() -> bool:
    """Get the program without root; True when the unpacked one runs scripts."""
    if not debian.unpack(["chromium", "fonts-dejavu-core"]):
        return False
    debian.write_starter(WRAPPER, "usr/lib/chromium/chromium", SETTINGS)
    return runs_scripts(WRAPPER)


def get() -> Path:
    """Return a working Chromium, fetching it first when there is none.

    Raises
    ------
    SetUpError
        When there is none and none could be fetched.
    """
    ready = on_path() or (str(WRAPPER) if runs_scripts(WRAPPER) else None)
    if ready is None and debian.install(["chromium"]):
        ready = on_path()
    if ready is None and unpack():
        ready = str(WRAPPER)
    if ready is None:
        raise SetUpError(
            "the tests try the pages in Chromium, and there is none. Install it with this "
            "machine's package manager (Debian: apt-get install chromium) and try again."
        )
    return Path(ready)


def main() -> int:
    """Say which browser the tests will use."""
    try:
        say(f"pages are tried in {shown(get())}")
    except SetUpError as error:
        return stop(error)
    return 0


if __name__ == "__main__":
    sys.exit(main())
