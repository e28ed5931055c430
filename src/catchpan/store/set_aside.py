"""A broken file is renamed aside and reported, never deleted."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from catchpan.calls.event import as_utc


@dataclass(frozen=True)
class SetAside:
    """A notice that a file was broken and where it lies now."""

    path: Path
    aside: Path
    reason: str

    def __str__(self) -> str:
        return (
            f"{self.path} was broken ({self.reason}); it now lies at {self.aside}"
            " and a new one was begun"
        )


def set_aside(path: Path, reason: str, now_utc: datetime, tails: tuple[str, ...] = ()) -> SetAside:
    """Rename a file to ``NAME.broken-TIME``, and the files with these tails along with it.

    Parameters
    ----------
    path : Path
        The broken file.
    reason : str
        What is wrong with it, for the notice.
    now_utc : datetime
        The present moment.
    tails : tuple of str, optional
        Endings of files that belong to it, such as ``-wal``.

    Returns
    -------
    SetAside
        The notice; nothing that was set aside before is overwritten.

    Raises
    ------
    OSError
        When the folder does not allow renaming.
    """
    aside = _free_name(path, as_utc(now_utc))
    for tail in (*tails, ""):  # the main file last: a half-done renaming is found again
        part = path.with_name(path.name + tail)
        if part.exists():
            part.rename(aside.with_name(aside.name + tail))
    return SetAside(path, aside, reason)


def _free_name(path: Path, now_utc: datetime) -> Path:
    base = f"{path.name}.broken-{now_utc:%Y%m%dT%H%M%SZ}"
    candidate, count = path.with_name(base), 1
    while candidate.exists():
        count += 1
        candidate = path.with_name(f"{base}-{count}")
    return candidate
