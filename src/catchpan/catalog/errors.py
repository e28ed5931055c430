"""What can be wrong with the catalog's data."""

from collections.abc import Sequence
from dataclasses import dataclass

from catchpan.units.errors import EXIT_BROKEN_DATA, EXIT_CONFLICT, BadValue, CatchpanError


@dataclass(frozen=True)
class Problem:
    """One thing wrong in a data file: which file, which entry, which field, what."""

    file: str
    entry: str
    field: str
    what: str

    def __str__(self) -> str:
        place = " · ".join(x for x in (self.file, self.entry, self.field) if x)
        return f"{place}: {self.what}"


class BrokenData(CatchpanError):  # noqa: N818 - reads as a claim where it is raised
    """Data files do not follow their schema; all problems are listed at once."""

    exit_code = EXIT_BROKEN_DATA

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        listed = "\n".join(f"  {p}" for p in self.problems)
        super().__init__(
            f"{len(self.problems)} problem(s) in the data files:\n{listed}\n",
            hint="correct each entry named above",
        )


class ImpossibleOptions(BadValue):
    """Options of a system that do not exist or contradict each other."""

    exit_code = EXIT_CONFLICT
