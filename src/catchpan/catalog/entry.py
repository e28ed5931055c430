"""The schema of the catalog's data files: what an entry of each kind must say."""

from math import isfinite
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, field_validator, model_validator

Names = Annotated[tuple[str, ...], Field(strict=False)]
Slug = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*(/[a-z0-9]+(-[a-z0-9]+)*)?$")]
Demand = Literal["off", "fan", "cool", "heat", "emergency"]
Weather = Literal["cooling", "heating"]


class Entry(BaseModel):
    """Strict and frozen: an unknown field is an error, nothing is converted silently."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class Sourced(Entry):
    """A number and where it comes from.

    ``basis`` is a source, "common practice, no source", or "assumed".
    """

    value: float
    basis: Annotated[str, Field(min_length=5)]

    @field_validator("value", mode="before")
    @classmethod
    def _whole_numbers_count(cls, value: object) -> object:
        return float(value) if isinstance(value, int) else value


def _chance(number: Sourced) -> Sourced:
    if not 0.0 <= number.value <= 1.0:
        raise ValueError(f"{number.value:g} is no chance; wanted 0 to 1")
    return number


def _amount(number: Sourced) -> Sourced:
    if not (number.value >= 0.0 and isfinite(number.value)):
        raise ValueError(f"{number.value:g} is no amount; wanted 0 or more")
    return number


Chance = Annotated[Sourced, AfterValidator(_chance)]
"""A sourced number, 0 to 1."""

Amount = Annotated[Sourced, AfterValidator(_amount)]
"""A sourced number, 0 or more."""

Number = Annotated[float, Field(strict=False)]


class EffectEntry(Entry):
    """One thing a condition does to the plant; exactly one of the three forms.

    ``branch`` with ``do`` (open, stuck_closed, ohm, factor); ``short`` of two terminals with
    ``ohm``; ``value`` with ``to``, ``times`` or ``add``.
    """

    branch: str = ""
    do: Literal["", "open", "stuck_closed", "ohm", "factor"] = ""
    amount: Number = 0.0
    short: tuple[str, str] | None = Field(default=None, strict=False)
    ohm: Number = 0.2
    value: str = ""
    to: Number | None = None
    times: Number | None = None
    add: Number | None = None

    @model_validator(mode="after")
    def _one_form(self) -> "EffectEntry":
        forms = [bool(self.branch and self.do), self.short is not None, bool(self.value)]
        if sum(forms) != 1:
            raise ValueError("give exactly one of: branch with do; short; value")
        if self.value and sum(x is not None for x in (self.to, self.times, self.add)) != 1:
            raise ValueError("a value needs exactly one of: to, times, add")
        return self


class ArisesEntry(Entry):
    """When a consequence arises: a signal of the plant beyond a limit under a demand.

    All clauses in ``all`` must hold under the same demand. ``after`` is how long it takes.
    """

    demand: Literal["any", "off", "fan", "cool", "heat", "emergency"]
    all: tuple["ClauseEntry", ...] = Field(min_length=1, strict=False)
    after: Literal["at_once", "minutes", "hours", "days"]
    chance: Chance


class ClauseEntry(Entry):
    """A signal above or below a limit."""

    signal: str
    above: Number | None = None
    below: Number | None = None


class BroughtEntry(Entry):
    """A consequence that physics here does not predict: brought by a fault with some chance."""

    by: Slug
    after: Literal["at_once", "minutes", "hours", "days"]
    chance: Chance


class MoreLikelyEntry(Entry):
    """A factor on a fault's rate where something about the site is known."""

    times: Amount
    age_over_years: Number | None = None
    location: tuple[str, ...] = Field(default=(), strict=False)
    climate: tuple[Literal["humid", "dry", "cold", "mixed"], ...] = Field(default=(), strict=False)
    season: tuple[Literal["cooling", "heating"], ...] = Field(default=(), strict=False)


class DegreeEntry(Entry):
    """How far a fault has gone: its effects on values are taken ``share`` times as far.

    A share of 1 is the fault as its effects say; the weights are relative.
    """

    share: Number = Field(gt=0.0)
    weight: Number = Field(gt=0.0)


class FaultEntry(Entry):
    """A condition that is not ok; ``degrees`` are the ways it may have gone, for the gauges."""

    id: Slug
    title: str
    plain: str
    kind: Literal["root", "consequence", "latent"]
    family: str
    component: str
    effects: tuple[EffectEntry, ...] = Field(default=(), strict=False)
    rate: Amount | None = None
    seen_share: Chance | None = None
    more_likely: tuple[MoreLikelyEntry, ...] = Field(default=(), strict=False)
    arises: tuple[ArisesEntry, ...] = Field(default=(), strict=False)
    brought: tuple[BroughtEntry, ...] = Field(default=(), strict=False)
    degrees: tuple[DegreeEntry, ...] = Field(default=(), strict=False)
    needs_option: dict[str, Names] = {}
    archetypes: tuple[str, ...] = Field(default=(), strict=False)
    why: tuple[str, ...] = Field(default=(), strict=False)
    hazards: tuple[Slug, ...] = Field(default=(), strict=False)

    @model_validator(mode="after")
    def _complete(self) -> "FaultEntry":
        if self.kind == "root" and self.rate is None:
            raise ValueError("a root fault needs a rate")
        if self.kind == "latent" and self.rate is None:
            raise ValueError("a latent defect needs a rate")
        if self.kind == "consequence" and not (self.arises or self.brought):
            raise ValueError("a consequence needs arises or brought")
        return self


class ObserveEntry(Entry):
    """What a check looks at in the plant.

    quantity: ``voltage`` (between two terminals), ``current`` (through a branch), ``resistance``
    (of one isolated branch, or between two terminals in circuit), ``capacitance`` (of a branch),
    ``signal`` (of the plant), ``history`` (what physics cannot know: answers carry their own
    chances), ``reset`` (put a tripped or blown thing back once and watch), ``option`` (how the
    system is built), ``cycle`` (a quantity of the running refrigerant circuit or of its air; its
    readings go together).

    ``printed`` is what the maker prints on the modelled part [SI]: another part bears another
    value, and its number is taken as a share of that. ``printed_on`` says where it stands.
    """

    quantity: Literal[
        "voltage",
        "current",
        "resistance",
        "capacitance",
        "signal",
        "history",
        "reset",
        "option",
        "cycle",
    ]
    between: tuple[str, str] | None = Field(default=None, strict=False)
    of: str = ""
    demand: Demand = "off"
    resets: tuple[Slug, ...] = Field(default=(), strict=False)
    meter: Literal["ordinary", "low_impedance"] = "ordinary"
    printed: Annotated[float, Field(gt=0.0, allow_inf_nan=False)] | None = None
    printed_on: str = ""

    @model_validator(mode="after")
    def _points(self) -> "ObserveEntry":
        if self.quantity == "voltage" and self.between is None:
            raise ValueError("a voltage needs between = [a, b]")
        if self.quantity in {"current", "capacitance", "signal", "option", "cycle"} and not self.of:
            raise ValueError(f"{self.quantity} needs of")
        if self.quantity == "resistance" and not self.of and self.between is None:
            raise ValueError("a resistance needs of or between")
        if (self.printed is None) != (self.printed_on == ""):
            raise ValueError("what is printed and where it is printed go together")
        if self.quantity == "reset" and not self.resets:
            raise ValueError("a reset needs resets = [condition ids]")
        return self


class GivenEntry(Entry):
    """Chance of a history answer where a fault (id or family/*) is present."""

    fault: str
    chance: Chance


class AnswerEntry(Entry):
    """One answer: a span of the observed number, or for history its chances.

    ``low`` is included, ``high`` is not; missing bounds are open.
    """

    id: Slug
    label: str
    low: Number | None = None
    high: Number | None = None
    danger: bool = False
    base: Chance | None = None
    given: tuple[GivenEntry, ...] = Field(default=(), strict=False)


class CheckEntry(Entry):
    """Something one can observe; ``also`` are other names of it that technicians search by."""

    id: Slug
    title: str
    also: Names = ()
    ask: str
    how: tuple[str, ...] = Field(default=(), strict=False)
    place: str
    phone: bool = False
    caller_safe: bool = False
    tool: str = ""
    minutes: Amount
    reliability: Chance
    observe: ObserveEntry
    unit: str = ""
    blur: Amount | None = None
    answers: tuple[AnswerEntry, ...] = Field(default=(), strict=False)
    requires: tuple[str, ...] = Field(default=(), strict=False)
    hazards: tuple[Slug, ...] = Field(default=(), strict=False)
    group: str = ""
    complaint: bool = False
    archetypes: tuple[str, ...] = Field(default=(), strict=False)
    needs_option: dict[str, Names] = {}
    phrases: tuple[str, ...] = Field(default=(), strict=False)

    @model_validator(mode="after")
    def _answers(self) -> "CheckEntry":
        if self.observe.quantity not in {"reset", "option"} and len(self.answers) < 2:
            raise ValueError("needs at least two answers")
        if self.observe.quantity == "history" and any(a.base is None for a in self.answers[:-1]):
            raise ValueError("every history answer but the last needs a base chance")
        return self


class RepairEntry(Entry):
    """An action that changes conditions; ``load`` stays in the house, ``tools`` come back."""

    id: Slug
    title: str
    place: str
    minutes: Amount
    parts_dollars: Amount
    load: tuple[str, ...] = Field(default=(), strict=False)
    tools: tuple[str, ...] = Field(default=(), strict=False)
    fixes: tuple[str, ...] = Field(min_length=1, strict=False)
    success: Chance
    requires: tuple[str, ...] = Field(default=(), strict=False)
    hazards: tuple[Slug, ...] = Field(default=(), strict=False)
    steps: tuple[str, ...] = Field(min_length=1, strict=False)
    proofs: tuple[Slug, ...] = Field(min_length=1, strict=False)
    refer: str = ""
    caller_safe: bool = False


class ProofEntry(Entry):
    """An acceptance test after a repair; the call it is made under follows from ``observe``.

    Of a ``cycle`` quantity the limits are how far it may lie from a sound circuit's in the weather
    of the visit. One that needs the ``weather`` of a season is left for it in the other, and those
    ``instead`` are owed; unless it may be made ``either`` way, in heating with a heat pump.
    """

    id: Slug
    title: str
    how: tuple[str, ...] = Field(min_length=1, strict=False)
    place: str
    tool: str = ""
    minutes: Amount
    observe: ObserveEntry
    unit: str = ""
    low: Number | None = None
    high: Number | None = None
    uncertainty: Amount
    requires: tuple[str, ...] = Field(default=(), strict=False)
    hazards: tuple[Slug, ...] = Field(default=(), strict=False)
    archetypes: tuple[str, ...] = Field(default=(), strict=False)
    weather: Weather | Literal[""] = ""
    either: bool = False
    instead: tuple[Slug, ...] = Field(default=(), strict=False)


class GroupEntry(Entry):
    """Readings got by one set-up: its minutes, and what it costs besides, both paid once.

    ``after`` is the group that goes before it as long as one of its readings is to be had.
    """

    id: Slug
    title: str
    minutes: Sourced
    dollars: Sourced | None = None
    after: Slug | None = None


class HazardEntry(Entry):
    """Something that can hurt, and the caution shown where the step is."""

    id: Slug
    title: str
    caution: str
    weight_dollars: Amount
    basis: str


class PlaceEntry(Entry):
    """A place one has to go to; going there costs once."""

    id: str
    title: str
    where: str
    minutes: Amount
    minutes_by_location: dict[str, Number] = Field(default={}, strict=False)
    cover: str = ""
    cover_minutes: Amount | None = None
    hazards_by_location: dict[str, Names] = {}


class OptionValueEntry(Entry):
    """One way a system can be built; ``settings`` are what it makes of the parts' settings."""

    id: Annotated[str, Field(pattern=r"^[a-z0-9_]+$")]
    title: str
    prior: Number
    given: tuple[dict[str, str | float], ...] = Field(default=(), strict=False)
    settings: dict[str, dict[str, float | int | str]] = {}


class OptionEntry(Entry):
    """A choice in how the system is built, which may be unknown."""

    id: Annotated[str, Field(pattern=r"^[a-z0-9_]+$")]
    title: str
    question: str
    values: tuple[OptionValueEntry, ...] = Field(min_length=2, strict=False)
    basis: str


WhenClause = dict[str, str | tuple[str, ...]]


class PartEntry(Entry):
    """A part of an archetype, present when its options say so."""

    id: Annotated[str, Field(pattern=r"^[a-z0-9_]+$")]
    type: str
    place: str
    when: dict[str, str | list[str]] = {}
    settings: dict[str, float | int | str] = {}


class WireEntry(Entry):
    """A conductor of an archetype."""

    a: str
    b: str
    id: str = ""
    awg: int = 18
    feet: Number = 3.0
    when: dict[str, str | list[str]] = {}


class PieceEntry(Entry):
    """A file of parts, wires and options shared between archetypes."""

    option: tuple[OptionEntry, ...] = Field(default=(), strict=False)
    part: tuple[PartEntry, ...] = Field(default=(), strict=False)
    wire: tuple[WireEntry, ...] = Field(default=(), strict=False)


class ArchetypeEntry(Entry):
    """A kind of system."""

    schema_: Literal[1] = Field(alias="schema")
    id: Slug
    title: str
    summary: str
    status: Literal["draft", "reviewed", "retired"]
    demands: tuple[Demand, ...] = Field(strict=False)
    pieces: tuple[str, ...] = Field(strict=False)
    settings: dict[str, dict[str, float | int | str]] = {}
