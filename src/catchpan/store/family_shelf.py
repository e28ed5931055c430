"""Compiled families as files of plain arrays; a file that cannot be read counts as missing."""

import os
import tempfile
import zipfile
import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

MOST_FILES: Final = 40
"""Older files beyond this number are removed; they can be made again at any time."""


class FolderShelf:
    """Keeps one ``.npz`` file a family in a folder; nothing in them is executed when read.

    Parameters
    ----------
    folder : Path
        Made when the first family is put; a folder that cannot be written keeps nothing.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def get(self, key: str) -> Mapping[str, NDArray[Any]] | None:
        """Return the arrays kept under the key; None if there are none or they are damaged."""
        path = self._path(key)
        try:
            with path.open("rb") as opened, np.load(opened, allow_pickle=False) as file:
                arrays = {name: file[name] for name in file.files}
            os.utime(path)
        except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile, zlib.error):
            return None
        return arrays

    def has(self, key: str) -> bool:
        """Return whether something is kept under the key."""
        return self._path(key).is_file()

    def put(self, key: str, arrays: Mapping[str, NDArray[Any]]) -> None:
        """Keep the arrays whole or not at all."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=self.folder, suffix=".part")
        except OSError:
            return
        part = Path(name)
        try:
            with os.fdopen(handle, "wb") as file:
                np.savez_compressed(file, allow_pickle=False, **dict(arrays))
            part.replace(self._path(key))
            self._tidy()
        except OSError:
            part.unlink(missing_ok=True)

    def _path(self, key: str) -> Path:
        return self.folder / f"{key}.npz"

    def _tidy(self) -> None:
        files = sorted(self.folder.glob("*.npz"), key=lambda f: f.stat().st_mtime, reverse=True)
        for old in files[MOST_FILES:]:
            old.unlink(missing_ok=True)
