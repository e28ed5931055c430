"""What the events of each kind carry, and how it is checked."""

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Annotated, ClassVar, Final, Literal, Self, TypeAlias, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    PlainSerializer,
    StringConstraints,
    ValidationError,
    model_validator,
)
from pydantic_core import ErrorDetails

from catchpan.calls.event import EventKind
from catchpan.calls.json_value import Json, canonical_text, freeze
from catchpan.units.errors import BadValue

UNKNOWN: Final = "unknown"
"""The value of an option nobody knows yet: part of the description, not an error."""

PHOTO_ID: Final = r"^[A-Za-z0-9][A-Za-z0-9_-]{0,63}$"
"""How the id of a photo is written; devices make it, and it names a file."""

Name: TypeAlias = Annotated[str, StringConstraints(min_length=1, max_length=200)]
Text: TypeAlias = Annotated[str, StringConstraints(max_length=20_000)]
Setting: TypeAlias = bool | int | float | str
Settings: TypeAlias = Annotated[
    Mapping[Name, Setting], AfterValidator(MappingProxyType), PlainSerializer(dict)
]
Printed: TypeAlias = Annotated[float, Field(gt=0.0)]
Reporter: TypeAlias = Literal["caller", "technician"]
RepairOutcome: TypeAlias = Literal["worked", "did_not", "not_yet_known"]
ProofResult: TypeAlias = Literal["pass", "fail", "too_close"]
CallOutcome: TypeAlias = Literal["fixed", "made_safe", "referred", "no_fault_found", "abandoned"]


def _nothing() -> Mapping[str, Setting]:
    return MappingProxyType({})


class Body(BaseModel):
    """The base of all bodies: frozen, strictly typed; fields of newer versions are passed over."""

    model_config = ConfigDict(frozen=True, strict=True, extra="ignore", allow_inf_nan=False)
    kind: ClassVar[EventKind]


class CallOpened(Body):
    """Somebody called; everything may be unknown. A second one fills in or corrects the first."""

    kind = EventKind.CALL_OPENED
    caller: Text | None = None
    address: Text | None = None
    complaint_words: Text | None = None
    archetype: Name | None = None
    site: Settings = Field(default_factory=_nothing)


class SystemDescribed(Body):
    """Options of the installed system, each a value or `UNKNOWN`."""

    kind = EventKind.SYSTEM_DESCRIBED
    settings: Settings = Field(default_factory=_nothing)
    archetype: Name | None = None


class ReadingTaken(Body):
    """What was observed: an answer, or a number with its unit as entered and in SI.

    ``printed`` is what the part itself says it should be, in the same unit.
    """

    kind = EventKind.READING_TAKEN
    check_id: Name
    answer: Name | None = None
    value: float | None = None
    unit: Name | None = None
    si_value: float | None = None
    si_sd: float | None = None
    printed: Printed | None = None
    over_limit: bool = False
    reported_by: Reporter = "technician"
    place: Name | None = None

    @property
    def number_si(self) -> float | None:
        """The number in SI; infinity when the display showed over limit; None for an answer."""
        return math.inf if self.over_limit else self.si_value

    @model_validator(mode="after")
    def _answer_or_number(self) -> Self:
        numbers = [self.value, self.unit, self.si_value]
        if self.over_limit:
            complete = self.unit is not None and self.value is None and self.si_value is None
        else:
            complete = None not in numbers
        nothing = numbers == [None, None, None] and not self.over_limit
        if not (nothing if self.answer is not None else complete):
            raise ValueError("wanted either an answer, or a number with its unit and SI value")
        if self.printed is not None and self.value is None:
            raise ValueError("what is printed goes with a number")
        if self.si_sd is not None and self.si_sd < 0:
            raise ValueError(f"the standard deviation {self.si_sd:g} is negative")
        return self


class StepDeferred(Body):
    """A check or a repair that cannot be done now."""

    kind = EventKind.STEP_DEFERRED
    step_id: Name
    reason: Text = ""


class WentTo(Body):
    """The technician is now at this place."""

    kind = EventKind.WENT_TO
    place: Name


class PowerSet(Body):
    """Power was switched on or off at a breaker, disconnect or switch."""

    kind = EventKind.POWER_SET
    where: Name
    on: bool


class RepairDone(Body):
    """A repair, and whether it helped."""

    kind = EventKind.REPAIR_DONE
    repair_id: Name
    outcome: RepairOutcome


class ProofDone(Body):
    """An acceptance test, with its value in SI where it has one; ``printed`` as with readings."""

    kind = EventKind.PROOF_DONE
    proof_id: Name
    result: ProofResult
    value: float | None = None
    unit: Name | None = None
    si_value: float | None = None
    printed: Printed | None = None


class LatentFound(Body):
    """A defect that shows no symptom today."""

    kind = EventKind.LATENT_FOUND
    latent_id: Name
    words: Text = ""


class PhotoTaken(Body):
    """A photo, with words to it and the step it belongs to; the image itself follows apart."""

    kind = EventKind.PHOTO_TAKEN
    photo_id: Annotated[str, StringConstraints(pattern=PHOTO_ID)]
    words: Text = ""
    step_id: Name | None = None


class Noted(Body):
    """Free words."""

    kind = EventKind.NOTED
    text: Text


class Closed(Body):
    """The end of the call, with the confirmed causes."""

    kind = EventKind.CLOSED
    outcome: CallOutcome
    causes: tuple[Name, ...] = ()
    words: Text = ""


class Withdrawn(Body):
    """Takes back an earlier event of any kind; withdrawing a withdrawal restores its event."""

    kind = EventKind.WITHDRAWN
    event_id: Name


B = TypeVar("B", bound=Body)

BODIES: Final[Mapping[str, type[Body]]] = MappingProxyType(
    {body.kind.value: body for body in Body.__subclasses__()}
)


def make_body(body_type: type[B], fields: Mapping[str, object]) -> B:
    """Return a checked body made of plain values; fields that are None are left out.

    Raises
    ------
    BadValue
        Naming every field that cannot be used.
    """
    given = {name: value for name, value in fields.items() if value is not None}
    return _checked(body_type, freeze(given, body_type.kind))


def parse_body(kind: str, body: Mapping[str, Json]) -> Body | None:
    """Return the body of an event, or None when the kind is of a newer version.

    Raises
    ------
    BadValue
        Naming every field that cannot be used.
    """
    body_type = BODIES.get(kind)
    return None if body_type is None else _checked(body_type, body)


def body_fields(body: Body) -> dict[str, Json]:
    """Return a body as the JSON object that an event carries, without its empty fields."""
    return body.model_dump(mode="json", exclude_none=True)


def _checked(body_type: type[B], fields: Json) -> B:
    try:
        return body_type.model_validate_json(canonical_text(fields))
    except ValidationError as error:
        found = "; ".join(map(_told, error.errors(include_url=False)))
        names = ", ".join(body_type.model_fields)
        raise BadValue(body_type.kind, found, f"fields out of {names}") from error


def _told(problem: ErrorDetails) -> str:
    field = ".".join(map(str, problem["loc"])) or "fields"
    return f"{field} = {str(problem['input'])[:40]!a}: {problem['msg']}"
