"""The one place that chooses the real folder, database, clock and device id."""

import os
import re
import sys
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from catchpan.calls.ports import NameCheck
from catchpan.calls.use_case import CallBook, any_name, new_id
from catchpan.store.errors import StorageError
from catchpan.store.set_aside import SetAside, set_aside
from catchpan.store.sqlite import SqliteEventStore, open_store
from catchpan.store.trail_file import write_file

HOME_VARIABLE: Final = "CATCHPAN_HOME"
DATABASE_NAME: Final = "calls.sqlite3"
DEVICE_NAME: Final = "device-id"


class SystemClock:
    """The device's own clock."""

    def now_utc(self) -> datetime:
        """Return the present moment, in UTC."""
        return datetime.now(UTC)


@dataclass(frozen=True)
class Assembly:
    """The opened program: its folder, store, clock and device id.

    Parameters
    ----------
    home : Path
        The folder that holds everything.
    store : SqliteEventStore
        The calls; close the assembly to let go of it.
    clock : SystemClock
        The device's own clock.
    device_id : str
        The id of this device, the same each time.
    notices : tuple of SetAside
        What the person should be told: files that were broken and set aside.
    """

    home: Path
    store: SqliteEventStore
    clock: SystemClock
    device_id: str
    notices: tuple[SetAside, ...] = ()

    def call_book(self, require: NameCheck = any_name) -> CallBook:
        """Return the calls as this device sees them, with this check of names."""
        return CallBook(self.store, self.clock, self.device_id, require)

    def close(self) -> None:
        """Let go of the store."""
        self.store.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def home_folder(
    environ: Mapping[str, str] = os.environ, platform: str = sys.platform, user: Path | None = None
) -> Path:
    """Return the folder for our files, without making it.

    Parameters
    ----------
    environ : mapping, optional
        ``CATCHPAN_HOME`` decides when it is set; then the platform's own variable
        (``XDG_DATA_HOME``, or ``LOCALAPPDATA`` on Windows).
    platform : str, optional
        As ``sys.platform``.
    user : Path, optional
        The user's own folder.

    Notes
    -----
    XDG Base Directory Specification, "Environment variables": the variable counts only when it
    holds an absolute path, and ``~/.local/share`` stands in for it (from memory). The other
    platforms' folders are common practice, no source.
    """
    named = environ.get(HOME_VARIABLE, "")
    if named:
        return Path(named).expanduser().absolute()
    user = user or Path.home()
    if platform == "darwin":
        return user / "Library" / "Application Support" / "catchpan"
    variable, usual = "XDG_DATA_HOME", user / ".local" / "share"
    if platform == "win32":
        variable, usual = "LOCALAPPDATA", user / "AppData" / "Local"
    base = Path(environ.get(variable, ""))
    return (base if base.is_absolute() else usual) / "catchpan"


def prepare_home(home: Path) -> Path:
    """Make the folder when it is missing, try whether it can be written, and return it.

    Raises
    ------
    StorageError
        When it cannot be made or written.
    """
    try:
        home.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=home) as probe:
            probe.write(b"catchpan")
            probe.flush()
    except OSError as error:
        hint = f"make the folder writable, or name another one in {HOME_VARIABLE}"
        raise StorageError(home, f"the folder cannot be written: {error.strerror}", hint) from error
    return home


def read_device_id(home: Path, now_utc: datetime) -> tuple[str, SetAside | None]:
    """Return the id of this device, made up once, and a notice when its file was broken.

    Raises
    ------
    StorageError
        When the file cannot be read or written.
    """
    path = home / DEVICE_NAME
    try:
        text = path.read_bytes().decode("ascii", "replace").strip() if path.exists() else None
        if text is not None and re.fullmatch(r"[0-9a-f]{32}", text):
            return text, None
        notice = None
        if text is not None:
            notice = set_aside(path, f"{text[:40]!a} is no device id", now_utc)
    except OSError as error:
        hint = f"make the file readable, or name another folder in {HOME_VARIABLE}"
        raise StorageError(path, f"cannot read the device id: {error.strerror}", hint) from error
    device_id = new_id()
    write_file(path, f"{device_id}\n".encode("ascii"))
    return device_id, notice


def assemble(environ: Mapping[str, str] = os.environ, database: Path | None = None) -> Assembly:
    """Open everything in its real place.

    Parameters
    ----------
    environ : mapping, optional
        See `home_folder`.
    database : Path, optional
        Another database file than the one in the folder.

    Raises
    ------
    StorageError
        When the folder or the database refuses.
    """
    home = prepare_home(home_folder(environ))
    clock = SystemClock()
    device_id, broken_id = read_device_id(home, clock.now_utc())
    store, broken_store = open_store(database or home / DATABASE_NAME)
    notices = tuple(notice for notice in (broken_id, broken_store) if notice is not None)
    return Assembly(home, store, clock, device_id, notices)
