"""A case: what is known about a system, and what was observed and tried, in order.

The file format is described in ``docs/weigh.md``; this module reads it and says everything that is
wrong with it at once.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from catchpan.catalog.entry import CheckEntry
from catchpan.catalog.errors import Problem
from catchpan.catalog.load import Catalog, catalog
from catchpan.diagnosis.cases.case_form import UNKNOWN, ReadingForm, RepairForm, Step, fill_in
from catchpan.diagnosis.cases.case_system import Candidates, SystemReader
from catchpan.diagnosis.cases.case_text import plain_data
from catchpan.diagnosis.cases.measured_value import read_value, takes_a_number
from catchpan.diagnosis.inference.belief import Reading
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.likelihood import RESET_OUTCOMES
from catchpan.units.errors import (
    EXIT_BAD_INPUT,
    EXIT_CONFLICT,
    BadValue,
    CatchpanError,
    UnknownName,
)

ABSENT: Final = "absent"
PROOF_RESULTS: Final = ("pass", "fail", "too-close")
SCHEMA: Final = 1


class BrokenCase(CatchpanError):  # noqa: N818 - reads as a claim where it is raised
    """A case that cannot be weighed; every problem is listed with its entry and field."""

    exit_code = EXIT_BAD_INPUT

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        listed = "\n".join(f"  {p}" for p in self.problems)
        count = "1 problem" if len(self.problems) == 1 else f"{len(self.problems)} problems"
        super().__init__(f"{count} in the case:\n{listed}")


class ContradictoryCase(BrokenCase):
    """A case whose statements about the system exclude each other."""

    exit_code = EXIT_CONFLICT


@dataclass(frozen=True)
class Tried:
    """A repair that was made; ``worked`` is None where nobody knows yet."""

    repair_id: str
    worked: bool | None


Entry = Reading | Tried


@dataclass(frozen=True)
class Case:
    """What is known and observed.

    Parameters
    ----------
    systems : tuple of (Description, float)
        The systems it may be, with prior shares that sum to 1; one where the kind is known.
    history : tuple of Reading or Tried
        Readings and repairs, in the order in which they were made.
    complaint : str
        The caller's words; they count only when one asks for it.
    unanswered : tuple of str
        Checks that were answered with "unknown".
    notes : tuple of str
        What was read into the case: a season from its complaint, kinds that were ruled out.
    """

    systems: tuple[tuple[Description, float], ...]
    history: tuple[Entry, ...] = ()
    complaint: str = ""
    unanswered: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def with_readings(self, readings: Iterable[Reading]) -> "Case":
        """Return the case with readings put before all others."""
        return replace(self, history=(*readings, *self.history))


def read_case(source: str | Path, data: Catalog | None = None) -> Case:
    r"""Read a case from a file, or from text that spans several lines.

    Parameters
    ----------
    source : str or Path
        A path; or the text itself, if it is a ``str`` with a line break in it.
    data : Catalog, optional
        The names that are known; by default the catalog that comes with catchpan.

    Returns
    -------
    Case
        Checked: every name is known and every value can be.

    Raises
    ------
    BrokenCase
        With all problems, each with its entry and field.
    ContradictoryCase
        When all that is wrong is that statements about the system exclude each other.

    Examples
    --------
    >>> case = read_case("schema: 1\nsystem: {archetype: heat-pump-air-handler}\n")
    >>> [system.archetype for system, _ in case.systems]
    ['heat-pump-air-handler']
    """
    if isinstance(source, str) and "\n" in source:
        return case_from_text(source, "case", data or catalog())
    path = Path(source)
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        problem = Problem(str(path), "", "", f"cannot be read: {error.strerror}")
        raise BrokenCase([problem]) from error
    except UnicodeDecodeError as error:
        problem = Problem(path.name, "", "", f"is not text: byte {error.start} is no UTF-8")
        raise BrokenCase([problem]) from error
    return case_from_text(text, path.name, data or catalog())


def case_from_text(text: str, name: str, data: Catalog) -> Case:
    """Read a case from text; ``name`` is what the problems call it."""
    plain, doubled = plain_data(text)
    problems = [Problem(name, "", "", what) for what in doubled]
    if plain is None and doubled:
        raise BrokenCase(problems)
    form, steps, wrong = fill_in(name, plain)
    found = [_entry(name, k, step, data) for k, step in enumerate(steps, start=1)]
    problems += wrong + [p for _, some in found for p in some]
    entries = [entry for entry, _ in found if entry is not None]
    if form is None:
        raise BrokenCase(problems)
    reader = SystemReader(name, form.system, data)
    stated, clashes = _stated_options(name, found, data)
    candidates = reader.candidates(stated, _demands(entries, data))
    problems += reader.problems
    contradictions = [*clashes, *reader.contradictions]
    if problems:
        raise BrokenCase([*problems, *contradictions])
    if contradictions or candidates is None:
        raise ContradictoryCase(contradictions)
    return _case(form.complaint, steps, entries, candidates)


def _case(
    complaint: str, steps: list[Step | None], entries: list[Entry], candidates: Candidates
) -> Case:
    forms = [s for s in steps if isinstance(s, ReadingForm)]
    silent = tuple(s.check for s in forms if s.answer == UNKNOWN)
    return Case(candidates.systems, tuple(entries), complaint, silent, candidates.notes)


def _entry(
    name: str, number: int, step: Step | None, data: Catalog
) -> tuple[Entry | None, list[Problem]]:
    """Turn one entry into a reading or a repair, or say what is wrong with it."""
    if step is None:
        return None, []
    label = f"readings {number}"
    if isinstance(step, RepairForm):
        if step.repair not in data.repairs:
            error = UnknownName("repair", step.repair, data.repairs)
            return None, [Problem(name, label, "repair", str(error))]
        return Tried(step.repair, {"yes": True, "no": False}.get(step.worked)), []
    return _reading(name, label, step, data)


def _reading(
    name: str, label: str, step: ReadingForm, data: Catalog
) -> tuple[Entry | None, list[Problem]]:
    if step.check in data.proofs:
        return _words(name, label, step, PROOF_RESULTS)
    if step.check not in data.checks:
        error = UnknownName("check", step.check, (*data.checks, *data.proofs))
        return None, [Problem(name, label, "check", str(error))]
    check = data.checks[step.check]
    if step.value is not None:
        return _number(name, label, step, check)
    return _words(name, label, step, allowed_answers(check, data))


def allowed_answers(check: CheckEntry, data: Catalog) -> tuple[str, ...]:
    """Return the ids a check may be answered with, besides "unknown" and "absent"."""
    if check.observe.quantity == "reset":
        return RESET_OUTCOMES
    if check.observe.quantity == "option":
        pieces = data.pieces.values()
        options = (o for p in pieces for o in p.option if o.id == check.observe.of)
        return tuple(dict.fromkeys(v.id for o in options for v in o.values))
    return tuple(a.id for a in check.answers)


def _words(
    name: str, label: str, step: ReadingForm, allowed: tuple[str, ...]
) -> tuple[Entry | None, list[Problem]]:
    if step.answer == UNKNOWN:
        return None, []
    if step.value is not None:
        wanted = f"{step.check} takes no number; answer with one of: {', '.join(allowed)}"
        return None, [Problem(name, label, "value", wanted)]
    if step.answer not in (*allowed, ABSENT):
        error = UnknownName("answer", str(step.answer), allowed)
        known = f" (answers of {step.check}: {', '.join(allowed)})"
        return None, [Problem(name, label, "answer", f"{error}{known}")]
    return Reading(step.check, outcome_id=step.answer, reporter=step.by), []


def _number(
    name: str, label: str, step: ReadingForm, check: CheckEntry
) -> tuple[Entry | None, list[Problem]]:
    if not takes_a_number(check):
        return None, [Problem(name, label, "value", _no_number(check))]
    if isinstance(step.value, bool) or not isinstance(step.value, str | int | float):
        wanted = f"{step.value!r} is no value; wanted such as '24.1 {check.unit}'"
        return None, [Problem(name, label, "value", wanted)]
    given = step.value if isinstance(step.value, str) else float(step.value)
    try:
        value = read_value(check, _with_unit(given, step.unit), step.unit)
    except UnknownName as error:
        return None, [Problem(name, label, "unit" if step.unit else "value", str(error))]
    except CatchpanError as error:
        return None, [Problem(name, label, "value", str(error))]
    return Reading(check.id, value_si=value, reporter=step.by), []


def _with_unit(given: str | float, unit: str) -> str | float:
    """Refuse a unit given twice with different words."""
    stated = isinstance(given, str) and bool(unit) and given.strip()[-1:].isalpha()
    if stated and not str(given).strip().endswith(unit):
        raise BadValue("", f"{given!r} has a unit and {unit!r} is given beside", "one unit")
    return given


def _no_number(check: CheckEntry) -> str:
    answers = ", ".join(a.id for a in check.answers)
    return f"{check.id} takes no number; answer with one of: {answers}"


def _stated_options(
    name: str, found: Iterable[tuple[Entry | None, object]], data: Catalog
) -> tuple[Mapping[str, str], list[Problem]]:
    """Return the options that readings settle, and where two readings settle one differently."""
    stated: dict[str, str] = {}
    clashes = []
    for number, (entry, _) in enumerate(found, start=1):
        if not isinstance(entry, Reading) or entry.check_id not in data.checks:
            continue
        look = data.checks[entry.check_id].observe
        if look.quantity == "option" and entry.outcome_id not in {None, ABSENT}:
            value = str(entry.outcome_id)
            if stated.setdefault(look.of, value) != value:
                what = f"says {value!r}, but an earlier reading says {stated[look.of]!r}"
                clashes.append(Problem(name, f"readings {number}", "answer", what))
    return stated, clashes


def _demands(entries: Iterable[Entry], data: Catalog) -> tuple[str, ...]:
    """Return the demands under which the caller complains: a complaint's first answer says so."""
    readings = [e for e in entries if isinstance(e, Reading) and e.check_id in data.checks]
    return tuple(
        data.checks[r.check_id].observe.demand
        for r in readings
        if (check := data.checks[r.check_id]).complaint and r.outcome_id == check.answers[0].id
    )
