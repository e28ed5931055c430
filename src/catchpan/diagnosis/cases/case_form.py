"""The form of a case file: which fields there are, and what is wrong with those that are not."""

from collections.abc import Mapping
from typing import Annotated, Any, Final, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from catchpan.catalog.errors import Problem
from catchpan.units.errors import close_names

UNKNOWN: Final = "unknown"
Truth = {True: "yes", False: "no"}

_Word = Annotated[str, Field(max_length=2000)]


class _Form(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


Form = TypeVar("Form", bound=_Form)


def _word(value: object) -> object:
    """Take a truth value or a whole number, as some writers of YAML and JSON give it, as a word."""
    if isinstance(value, bool):
        return Truth[value]
    return str(value) if isinstance(value, int) else value


class SystemForm(_Form):
    """What is known about the system; anything may be unknown."""

    archetype: Any = UNKNOWN
    text: _Word = ""
    options: dict[str, _Word] = {}
    age_years: Annotated[float, Field(strict=False, ge=0, le=100)] | None = None
    climate: Literal["humid", "dry", "cold", "mixed", "unknown"] = "unknown"
    season: Literal["cooling", "heating", "unknown"] = "unknown"
    outdoor: _Word | None = None
    indoor: _Word | None = None
    indoor_humidity: _Word | None = None

    @field_validator("options", mode="before")
    @classmethod
    def _words(cls, value: object) -> object:
        return {k: _word(v) for k, v in value.items()} if isinstance(value, dict) else value

    @field_validator("age_years", mode="before")
    @classmethod
    def _may_be_unknown(cls, value: object) -> object:
        return None if value == UNKNOWN else value


class ReadingForm(_Form):
    """One reading: an answer or a value."""

    check: _Word
    answer: _Word | None = None
    value: Any = None
    unit: _Word = ""
    by: Literal["caller", "technician"] = "technician"
    note: _Word = ""

    _as_word = field_validator("answer", mode="before")(_word)


class RepairForm(_Form):
    """One repair that was made, and whether the system works since."""

    repair: _Word
    worked: Literal["yes", "no", "unknown"] = "unknown"
    note: _Word = ""

    _as_word = field_validator("worked", mode="before")(_word)


class CaseForm(_Form):
    """A whole case file."""

    schema_: Literal[1] = Field(alias="schema")
    complaint: _Word = ""
    note: _Word = ""
    system: SystemForm = SystemForm()
    readings: list[Any] = []


Step = ReadingForm | RepairForm


def fill_in(name: str, data: object) -> tuple[CaseForm | None, list[Step | None], list[Problem]]:
    """Fill the form of a case from plain data.

    Parameters
    ----------
    name : str
        The file, for the problems.
    data : object
        As read by ``case_text.plain_data``.

    Returns
    -------
    CaseForm or None
        The form, if its outer parts are right.
    list of ReadingForm, RepairForm or None
        The entries of ``readings`` in order; None where one is wrong.
    list of Problem
        Everything wrong, by entry and field.
    """
    if not isinstance(data, Mapping):
        wanted = "wanted fields such as 'schema: 1', 'system:' and 'readings:'"
        return None, [], [Problem(name, "", "", f"holds no fields; {wanted}")]
    form, problems = _filled(CaseForm, data, name, "")
    raw = data.get("readings")
    entries = raw if isinstance(raw, list) else []
    steps: list[Step | None] = []
    for number, entry in enumerate(entries, start=1):
        step, wrong = _step(name, f"readings {number}", entry)
        steps.append(step)
        problems += wrong
    return form, steps, problems


def _step(name: str, label: str, entry: object) -> tuple[Step | None, list[Problem]]:
    if not isinstance(entry, Mapping):
        return None, [Problem(name, label, "", "wanted 'check:' or 'repair:' with its result")]
    if ("check" in entry) == ("repair" in entry):
        return None, [Problem(name, label, "", "give either a check or a repair")]
    if "repair" in entry:
        return _filled(RepairForm, entry, name, label)
    reading, problems = _filled(ReadingForm, entry, name, label)
    if reading is not None and (reading.answer is None) == (reading.value is None):
        return None, [Problem(name, label, "", "give either an answer or a value")]
    return reading, problems


def _filled(
    model: type[Form], data: Mapping[Any, Any], name: str, label: str
) -> tuple[Form | None, list[Problem]]:
    try:
        return model.model_validate(dict(data)), []
    except ValidationError as error:
        return None, [_problem(model, name, label, dict(item)) for item in error.errors()]


def _problem(model: type[_Form], name: str, label: str, item: Mapping[str, Any]) -> Problem:
    path = [str(x) for x in item["loc"]]
    return Problem(name, label, ".".join(path), _words(model, path, item))


def _words(model: type[_Form], path: list[str], item: Mapping[str, Any]) -> str:
    context, given = item.get("ctx", {}), item.get("input")
    match item["type"]:
        case "extra_forbidden":
            return f"no such field{_near(path[-1], _fields(model, path[:-1]))}"
        case "missing":
            return "is missing" + ("; write 'schema: 1'" if path == ["schema"] else "")
        case "literal_error":
            return f"{given!r} is not {context['expected']}"
        case "greater_than_equal" | "less_than_equal":
            return f"{given!r} is out of the sensible span, 0 to 100"
        case kind:
            return f"{_shown(given)} is not {_WANTED.get(kind, item['msg'].lower())}"


_WANTED: Final = {
    "string_type": "text",
    "float_type": "a number",
    "float_parsing": "a number",
    "dict_type": "a set of fields",
    "list_type": "a list",
    "model_type": "a set of fields",
    "finite_number": "a finite number",
    "string_too_long": "short enough (2000 characters)",
}


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:57]}..."


def _fields(model: type[_Form], path: list[str]) -> list[str]:
    inner = SystemForm if path == ["system"] else model
    return [field.alias or name for name, field in inner.model_fields.items()]


def _near(name: str, known: list[str]) -> str:
    close = close_names(name, known)
    if close:
        return f"; did you mean {' or '.join(map(repr, close))}?"
    return f"; known: {', '.join(known)}"
