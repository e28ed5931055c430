"""The records of the study on disk: one file for each departure and setting, only ever added to."""

from __future__ import annotations

import itertools
import json
import subprocess
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from catchpan.diagnosis.rehearsal.record import Record

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@dataclass(frozen=True)
class Run:
    """The plays of one setting under one departure."""

    folder: Path
    departure: str
    setting: str

    @property
    def file(self) -> Path:
        """Where the records are."""
        name = "".join(c if c.isalnum() else "-" for c in self.departure)
        return self.folder / f"{name}.{self.setting}.jsonl"

    def begin(self, seed: int, commit: str) -> None:
        """Note when, with which seed and from which commit the next plays are made."""
        self.folder.mkdir(parents=True, exist_ok=True)
        today = datetime.now(tz=UTC).date().isoformat()
        head = {"departure": self.departure, "setting": self.setting}
        self._add(json.dumps({**head, "seed": seed, "commit": commit, "date": today}))

    def add(self, record: Record) -> None:
        """Add one play."""
        self._add(record.line())

    def played(self) -> dict[tuple[int, str], Record]:
        """Return the plays by call and policy."""
        found = {}
        for line in self._lines():
            if '"departure"' not in line:
                record = Record.read(line)
                found[record.call, record.policy] = record
        return found

    def heads(self) -> list[dict[str, str]]:
        """Return what was noted at the beginning of each go that played anything."""
        lines = [*self._lines(), '"departure"']
        pairs = itertools.pairwise(lines)
        return [json.loads(a) for a, b in pairs if '"departure"' in a and '"departure"' not in b]

    def _add(self, line: str) -> None:
        with self.file.open("a", encoding="utf-8") as file:
            file.write(line + "\n")

    def _lines(self) -> list[str]:
        if not self.file.exists():
            return []
        return self.file.read_text(encoding="utf-8").splitlines()


def runs_in(folder: Path) -> Iterator[Run]:
    """Yield every run that was begun in a folder."""
    for file in sorted(folder.glob("*.jsonl")):
        head = json.loads(file.read_text(encoding="utf-8").split("\n", 1)[0])
        yield Run(folder, head["departure"], head["setting"])


def this_commit() -> str:
    """Return the short name of the commit the study is run from, with a + if files differ."""
    asked = ["git", "describe", "--always", "--dirty=+", "--exclude=*"]
    found = subprocess.run(asked, check=False, capture_output=True, text=True)
    return found.stdout.strip() or "unknown"
