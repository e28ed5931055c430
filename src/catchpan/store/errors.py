"""What can go wrong with the storage and with trail files."""

from pathlib import Path
from typing import ClassVar

from catchpan.units.errors import EXIT_BROKEN_DATA, EXIT_STORAGE, CatchpanError


class StorageError(CatchpanError):
    """The storage refused; nothing was changed."""

    exit_code: ClassVar[int] = EXIT_STORAGE

    def __init__(self, path: Path, problem: str, hint: str) -> None:
        self.path, self.problem = path, problem
        super().__init__(problem, hint=hint, where=str(path))


class NewerSchemaError(StorageError):
    """The database was written by a newer version."""

    def __init__(self, path: Path, found: int, known: int) -> None:
        self.found, self.known = found, known
        super().__init__(
            path,
            f"the database has schema {found}, this version knows only up to {known}",
            "update catchpan; the file was left as it is",
        )


class NotOurDatabaseError(StorageError):
    """The file is a database of another program."""

    def __init__(self, path: Path) -> None:
        super().__init__(
            path,
            "the file is a database of another program",
            "name another file; this one was left as it is",
        )


class BrokenDatabaseError(StorageError):
    """The database file cannot be read as one."""

    def __init__(self, path: Path, problem: str) -> None:
        super().__init__(
            path,
            f"the database file is broken ({problem})",
            "start again: the file will be set aside and an empty one begun",
        )


class NotATrailFileError(CatchpanError):
    """The file does not start as a trail file does."""

    exit_code: ClassVar[int] = EXIT_BROKEN_DATA

    def __init__(self, start: str) -> None:
        self.start = start
        super().__init__(
            f"this is no trail file: line 1 is {start!a}",
            hint="wanted a file written by an export of calls",
        )


class NewerTrailFileError(CatchpanError):
    """The trail file was written by a newer version."""

    exit_code: ClassVar[int] = EXIT_BROKEN_DATA

    def __init__(self, line: int, found: object, known: int) -> None:
        self.line, self.found, self.known = line, found, known
        super().__init__(
            f"line {line}: the trail has version {found}, this version knows only up to {known}",
            hint="update catchpan; nothing was imported",
        )
