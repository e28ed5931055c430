"""Compiling families beside the server: in a process of its own, each once, kept on the shelf."""

from __future__ import annotations

import gzip
import hashlib
import json
import subprocess
import sys
from collections import OrderedDict
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from threading import Lock, Semaphore
from typing import TYPE_CHECKING, ClassVar, Final

from catchpan.calls.carried.carried_call import carried_call, described
from catchpan.calls.carried.constants_part import constants_part
from catchpan.calls.guide import SIZE
from catchpan.diagnosis.worlds.compile_family import Costs, Size
from catchpan.diagnosis.worlds.compiled import compiled, family_key, from_shelf
from catchpan.store.family_shelf import FolderShelf
from catchpan.units.errors import EXIT_GENERAL, CatchpanError

if TYPE_CHECKING:
    from pathlib import Path

    from catchpan.calls.ports import Clock
    from catchpan.catalog.load import Catalog
    from catchpan.diagnosis.worlds.description import Description
    from catchpan.diagnosis.worlds.family import Family

MOST_KEPT: Final = 4
"""Compiled calls kept in memory, as they are sent."""

MOST_AT_ONCE: Final = 2
"""Families compiled at one time; of those nobody waits for, one, so that a call never queues."""

PATIENCE_SECONDS: Final = 600.0


class StoppingError(CatchpanError):
    """The server is being stopped: nothing is compiled any more."""

    exit_code: ClassVar[int] = EXIT_GENERAL

    def __init__(self) -> None:
        super().__init__("the server is being stopped", hint="ask again when it runs")


@dataclass
class FamilyMaker:
    """Makes families, and the compiled calls that phones take along.

    Parameters
    ----------
    folder : Path
        Where families and compiled calls are kept between starts.
    data : Catalog
        The catalog.
    clock : Clock
        Tells when a compiled call was made.
    apart : bool
        Whether to compile in another process, so that the server goes on answering.
    size : Size
        How much of each family is kept.
    """

    folder: Path
    data: Catalog
    clock: Clock
    apart: bool = True
    size: Size = SIZE
    _kept: OrderedDict[str, bytes] = field(default_factory=OrderedDict)
    _locks: dict[str, Lock] = field(default_factory=dict)
    _lock: Lock = field(default_factory=Lock)
    _ahead: Lock = field(default_factory=Lock)
    _room: Semaphore = field(default_factory=lambda: Semaphore(MOST_AT_ONCE))
    _running: list[subprocess.Popen[bytes]] = field(default_factory=list)
    _closed: bool = False

    @property
    def shelf(self) -> FolderShelf:
        """Where the families are kept."""
        return FolderShelf(self.folder / "families")

    def key(self, description: Description) -> str:
        """Return what the family of a description is kept under."""
        return family_key(description, self.data, Costs(), self.size)

    def family(self, description: Description) -> Family:
        """Return the family of a description, compiled now or found again."""
        key = self.key(description)
        with self._lock_of(key):
            if self.apart and not self.shelf.has(key):
                self._compile_apart(description)
            if self._closed:
                raise StoppingError
            return compiled(description, self.data, size=self.size, shelf=self.shelf)

    def family_of_key(self, key: str) -> Family | None:
        """Return the family kept under a key; None where there is none any more."""
        return from_shelf(key, self.shelf)

    def carried_ahead(self, description: Description) -> tuple[str, bytes]:
        """Do as `carried` for something nobody waits for: one at a time."""
        with self._ahead:
            return self.carried(description)

    def carried(self, description: Description) -> tuple[str, bytes]:
        """Return the key and the compressed file of the compiled call of a description."""
        key = self.key(description)
        path = self.folder / "carried" / f"{key}-{program_tag()}.gz"
        with self._lock:
            if path.name in self._kept:
                self._kept.move_to_end(path.name)
                return key, self._kept[path.name]
        try:
            content = path.read_bytes()
        except OSError:
            content = self._make(description, key)
            _write(path, content)
        with self._lock:
            self._kept[path.name] = content
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        return key, content

    def _make(self, description: Description, key: str) -> bytes:
        family = self.family(description)
        file = carried_call(description, family, self.data, key, self.clock.now_utc())
        return gzip.compress(file, 9, mtime=0)

    def _lock_of(self, key: str) -> Lock:
        with self._lock:
            return self._locks.setdefault(key, Lock())

    def _compile_apart(self, description: Description) -> None:
        """Compile in another process; where that fails the caller does it here, and says why."""
        with self._room:
            if not self._closed:
                self._run_apart(description)

    def _run_apart(self, description: Description) -> None:
        command = [sys.executable, "-m", "catchpan.web.compile_apart", str(self.folder)]
        asked = {"description": described(description), "size": vars(self.size)}
        process = subprocess.Popen(  # noqa: S603 - our own module
            command, stdin=subprocess.PIPE, stderr=subprocess.DEVNULL
        )
        self._running.append(process)
        try:
            process.communicate(json.dumps(asked).encode(), timeout=PATIENCE_SECONDS)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()
        finally:
            self._running.remove(process)

    def close(self) -> None:
        """Stop what is still being compiled, and begin nothing any more."""
        self._closed = True
        for process in list(self._running):
            process.terminate()


@cache
def program_tag() -> str:
    """Return a short hash over what a compiled call depends on besides its family."""
    found = hashlib.sha256(json.dumps(constants_part()).encode())
    for file in sorted(resources.files("catchpan.calls.carried").iterdir(), key=lambda f: f.name):
        if file.name.endswith(".py"):
            found.update(file.read_bytes())
    return found.hexdigest()[:12]


def _write(path: Path, content: bytes) -> None:
    """Keep a file that can be made again; where that is not possible nothing is kept."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part = path.with_suffix(".part")
        part.write_bytes(content)
        part.replace(path)
        _tidy(path.parent)
    except OSError:
        return


def _tidy(folder: Path, most: int = 40) -> None:
    files = sorted(folder.glob("*.gz"), key=lambda f: f.stat().st_mtime, reverse=True)
    for old in files[most:]:
        old.unlink(missing_ok=True)
