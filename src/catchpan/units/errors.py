"""The errors' base class and the three errors every room raises.

An error is a class that builds its own sentence: what is wrong, where, and what would be right.

Exit codes (the one place they are listed):

==== ====================================================== =============================
code meaning                                                constant
==== ====================================================== =============================
1    something went wrong that has no class of its own      ``EXIT_GENERAL``
2    the command was used wrongly (also what click returns) ``EXIT_USAGE``
3    bad input, or a name nobody knows                      ``EXIT_BAD_INPUT``
4    a data file that comes with the program is broken      ``EXIT_BROKEN_DATA``
5    readings or wishes that conflict, or cannot be         ``EXIT_CONFLICT``
6    the storage refused (locked, full, unreadable)         ``EXIT_STORAGE``
==== ====================================================== =============================
"""

import difflib
from collections.abc import Iterable, Sequence
from typing import ClassVar, Final, Self

EXIT_GENERAL: Final = 1
EXIT_USAGE: Final = 2
EXIT_BAD_INPUT: Final = 3
EXIT_BROKEN_DATA: Final = 4
EXIT_CONFLICT: Final = 5
EXIT_STORAGE: Final = 6


class CatchpanError(Exception):
    """What went wrong, where, and what would be right.

    Parameters
    ----------
    message : str
        What is wrong, as a clause without a final full stop.
    hint : str, optional
        What would be right.
    where : str, optional
        The file, entry or field at fault.

    Examples
    --------
    >>> str(CatchpanError("the lid is missing", hint="fit the lid", where="pan"))
    'pan: the lid is missing; fit the lid'
    """

    exit_code: ClassVar[int] = EXIT_GENERAL

    def __init__(self, message: str, *, hint: str = "", where: str = "") -> None:
        self.message = message
        self.hint = hint
        self.where = where
        super().__init__(message)

    def at(self, where: str) -> Self:
        """Return the same error, told where it happened.

        Parameters
        ----------
        where : str
            The file, entry or field at fault.

        Returns
        -------
        CatchpanError
            This very error, so that one can write ``raise error.at("pan.toml")``.
        """
        self.where = where
        return self

    def __str__(self) -> str:
        start = f"{self.where}: " if self.where else ""
        end = f"; {self.hint}" if self.hint else ""
        return f"{start}{self.message}{end}"


class OutOfRange(CatchpanError):  # noqa: N818 - reads as a claim where it is raised
    """A number lies outside the span in which the formula or the field is valid.

    Parameters
    ----------
    what : str
        The quantity, in words.
    value : float
        The offending value, in ``unit``.
    low, high : float
        The span, in ``unit``.
    unit : str
        The unit of the three numbers; empty for a bare number.

    Examples
    --------
    >>> str(OutOfRange("slope", -1.0, 0.0, 1.0, "m/m"))
    'slope -1 m/m is outside 0 to 1 m/m; give a value from 0 to 1 m/m'
    """

    exit_code: ClassVar[int] = EXIT_BAD_INPUT

    def __init__(self, what: str, value: float, low: float, high: float, unit: str) -> None:
        self.what, self.value, self.low, self.high, self.unit = what, value, low, high, unit
        span = f"{low:g} to {high:g}{_tail(unit)}"
        super().__init__(
            f"{what} {value:g}{_tail(unit)} is outside {span}", hint=f"give a value from {span}"
        )


class UnknownName(CatchpanError):  # noqa: N818 - reads as a claim where it is raised
    """A name that stands for nothing, with the names it may have been meant for.

    Parameters
    ----------
    kind : str
        What the name should have named ("check", "unit", "archetype").
    name : str
        The unknown name.
    near : iterable of str, optional
        Names to choose the suggestions from: all the known ones, or only close ones.
    where : str, optional
        The file, entry or field at fault.

    Examples
    --------
    >>> str(UnknownName("unit", "psgi", ["psig", "cfm"]))
    "unknown unit 'psgi'; did you mean 'psig'?"
    """

    exit_code: ClassVar[int] = EXIT_BAD_INPUT

    def __init__(self, kind: str, name: str, near: Iterable[str] = (), *, where: str = "") -> None:
        known = list(near)
        self.kind, self.name = kind, name
        self.suggestions: Sequence[str] = close_names(name, known)
        super().__init__(
            f"unknown {kind} {name!r}", hint=_name_hint(self.suggestions, known), where=where
        )


class BadValue(CatchpanError):  # noqa: N818 - reads as a claim where it is raised
    """A value that cannot be used, wherever it stands.

    Parameters
    ----------
    where : str
        The file, entry or field at fault.
    problem : str
        What is wrong with the value found there.
    expected : str
        What would be right.

    Examples
    --------
    >>> str(BadValue("pan.depth", "'deep' is not a number", "a length such as '1.5 in'"))
    "pan.depth: 'deep' is not a number; wanted a length such as '1.5 in'"
    """

    exit_code: ClassVar[int] = EXIT_BAD_INPUT

    def __init__(self, where: str, problem: str, expected: str) -> None:
        self.problem, self.expected = problem, expected
        super().__init__(problem, hint=f"wanted {expected}", where=where)


def close_names(name: str, known: Iterable[str], *, most: int = 3) -> list[str]:
    """Return the known names that look like ``name``, best first.

    Parameters
    ----------
    name : str
        The name as it was given.
    known : iterable of str
        The names to choose from.
    most : int, optional
        How many to return at most, at least 1.

    Returns
    -------
    list of str
        Close names, compared without regard to case; empty when nothing is close.

    Examples
    --------
    >>> close_names("PSGI", ["psig", "cfm"])
    ['psig']
    """
    by_folded = {candidate.casefold(): candidate for candidate in known}
    found = difflib.get_close_matches(name.casefold(), by_folded, n=most, cutoff=0.6)
    return [by_folded[folded] for folded in found]


def _tail(unit: str) -> str:
    return f" {unit}" if unit else ""


def _name_hint(suggestions: Sequence[str], known: Sequence[str]) -> str:
    if suggestions:
        return f"did you mean {' or '.join(map(repr, suggestions))}?"
    if known:
        return f"known: {', '.join(sorted(known)[:8])}" + (", ..." if len(known) > 8 else "")
    return ""
