"""Photos as files: one folder for each call, one JPEG for each photo."""

import os
import re
import tempfile
from pathlib import Path
from typing import Final

from catchpan.store.errors import StorageError
from catchpan.units.errors import BadValue

_SAFE: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")


class PhotoFolder:
    """Keeps photos below a folder, which is made when the first one comes.

    Parameters
    ----------
    folder : Path
        Where the photos lie.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def has(self, call_id: str, photo_id: str) -> bool:
        """Return whether the image has arrived."""
        return self._path(call_id, photo_id).is_file()

    def get(self, call_id: str, photo_id: str) -> bytes | None:
        """Return the image; None when it has not arrived."""
        path = self._path(call_id, photo_id)
        try:
            return path.read_bytes() if path.is_file() else None
        except OSError as error:
            raise _refused(path, "read", error) from error

    def put(self, call_id: str, photo_id: str, jpeg: bytes) -> None:
        """Keep an image whole or not at all; one that is kept already stays."""
        path = self._path(call_id, photo_id)
        if path.is_file():
            return
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(jpeg)
                    file.flush()
                    os.fsync(file.fileno())
                Path(name).replace(path)
            finally:
                Path(name).unlink(missing_ok=True)
        except OSError as error:
            raise _refused(path, "kept", error) from error

    def _path(self, call_id: str, photo_id: str) -> Path:
        for where, name in (("call", call_id), ("photo", photo_id)):
            if not _SAFE.fullmatch(name):
                raise BadValue(where, f"{name[:40]!a} is no id", "letters, digits, '-' or '_'")
        return self.folder / call_id / f"{photo_id}.jpg"


def _refused(path: Path, verb: str, error: OSError) -> StorageError:
    hint = "make room on the disk, or make the folder writable"
    return StorageError(path, f"the photo could not be {verb}: {error.strerror}", hint)
