"""Compiling one family onto a shelf: ``python -m catchpan.web.compile_apart FOLDER``.

The description comes as JSON on standard input. Run by the server, at low priority, so that it goes
on answering meanwhile.
"""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from catchpan.diagnosis.worlds.compile_family import Size
from catchpan.diagnosis.worlds.compiled import compiled
from catchpan.diagnosis.worlds.description import Description
from catchpan.store.family_shelf import FolderShelf

if TYPE_CHECKING:
    from collections.abc import Sequence


def main(words: Sequence[str], asked: str) -> None:
    """Compile what is asked for onto the shelf in the folder named."""
    wanted = json.loads(asked)
    shelf = FolderShelf(Path(words[0]) / "families")
    compiled(Description(**wanted["description"]), size=Size(**wanted["size"]), shelf=shelf)


if __name__ == "__main__":
    if hasattr(os, "nice"):
        os.nice(10)
    main(sys.argv[1:], sys.stdin.read())
