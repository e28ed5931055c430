"""From the state of a call to everything its technician sees: belief, causes, next steps, cost.

Pure: the same state, catalog and costs give the same guide, whoever shows it. The screen of the
terminal and the web side read the same guide.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, ClassVar, Final, Literal

from catchpan.calls.body import (
    PowerSet,
    ProofDone,
    ReadingTaken,
    RepairDone,
    WentTo,
)
from catchpan.catalog.load import Catalog, catalog
from catchpan.catalog.system import options_of, structural_options
from catchpan.diagnosis.belief import Belief, Reading
from catchpan.diagnosis.causes import Causes, rank_causes
from catchpan.diagnosis.compile_family import Size, compile_family, titles
from catchpan.diagnosis.conflict import Conflict, find_conflict
from catchpan.diagnosis.description import Description
from catchpan.diagnosis.explanation import Explanation, explain
from catchpan.diagnosis.family import PHONE, Family
from catchpan.diagnosis.planner import Plan, plan
from catchpan.diagnosis.safety_order import prepare, standing_dangers
from catchpan.diagnosis.situation import Situation
from catchpan.units.errors import EXIT_BAD_INPUT, CatchpanError

if TYPE_CHECKING:
    from catchpan.calls.body import Body, Setting
    from catchpan.calls.state import CallState

SITE: Final = "site"
"""The place of a technician who has arrived and not yet gone to any part of the house."""

STEPS: Final = 4
"""How many next steps a guide holds."""

SIZE: Final = Size(settings=8, pairs=1500)
"""How much of the family is kept for a call in the hand, where nobody waits long (assumed)."""

Phase = Literal["phone", "visit", "closed"]
Compile = Callable[[Description], Family]


class NoSystemYetError(CatchpanError):
    """The call does not say yet what kind of system it is about."""

    exit_code: ClassVar[int] = EXIT_BAD_INPUT

    def __init__(self, call_id: str) -> None:
        super().__init__(
            f"call {call_id!r} names no kind of system", hint="choose one, or the likeliest"
        )


@dataclass(frozen=True)
class Spent:
    """What the call has cost so far: minutes of work and dollars of parts."""

    minutes: float = 0.0
    parts_dollars: float = 0.0


@dataclass(frozen=True, eq=False)
class Guide:
    """Everything that follows from a call's trail.

    Parameters
    ----------
    state : CallState
        The fold of the trail.
    data : Catalog
        The catalog used.
    description : Description
        What is known of the system, answers to questions about its options included.
    belief : Belief
        After all readings and repairs, in the order they came.
    situation : Situation
        Where the technician stands and what is done, put off and still to be proven.
    spent : Spent
        What the steps so far have cost, by the catalog's minutes.
    unused : tuple of str
        Check, repair or proof ids in the trail that this system's family does not know.
    """

    state: CallState
    data: Catalog
    description: Description
    belief: Belief
    situation: Situation
    spent: Spent
    unused: tuple[str, ...]

    @property
    def family(self) -> Family:
        """The compiled worlds."""
        return self.belief.family

    @property
    def phase(self) -> Phase:
        """Where the call stands."""
        if self.state.closed is not None:
            return "closed"
        return "phone" if self.situation.on_phone else "visit"

    @cached_property
    def causes(self) -> Causes:
        """The ranking of everything that may be wrong."""
        return rank_causes(self.belief)

    @cached_property
    def conflict(self) -> Conflict | None:
        """Readings that no world explains together."""
        return find_conflict(self.belief)

    @cached_property
    def plan(self) -> Plan:
        """Next steps from the least expected cost up."""
        return plan(self.family, self.belief, self.situation, STEPS)

    @cached_property
    def explanation(self) -> Explanation:
        """Why the first of the next steps is the first."""
        return explain(self.plan, self.words)

    @cached_property
    def words(self) -> Mapping[str, str]:
        """The title of every fault."""
        return titles(self.data)

    @cached_property
    def dangers(self) -> tuple[Reading, ...]:
        """Readings that mean danger and have not been taken back."""
        return standing_dangers(self.belief)

    @property
    def likeliest_setting(self) -> dict[str, str]:
        """How the system is built, as far as known and for the rest as is likeliest."""
        chance = self.belief.probabilities()
        totals = [0.0] * len(self.family.settings)
        for world, share in zip(self.family.worlds, chance.tolist(), strict=True):
            totals[world.setting] += share
        best = max(range(len(totals)), key=totals.__getitem__)
        return {**self.family.settings[best], **self.description.options}

    @property
    def likeliest_conditions(self) -> frozenset[str]:
        """Conditions of the likeliest world that has the leading cause; empty if nothing leads."""
        leading = self.causes.leading.id
        chance = self.belief.probabilities().tolist()
        ranked = sorted(zip(chance, self.family.worlds, strict=True), key=lambda item: -item[0])
        return next((w.conditions for _, w in ranked if leading in w.roots), frozenset())


def guide(state: CallState, data: Catalog | None = None, make: Compile | None = None) -> Guide:
    """Work out everything that follows from a call's state.

    Parameters
    ----------
    state : CallState
        The fold of the call's trail.
    data : Catalog, optional
        By default the one that comes with catchpan.
    make : callable, optional
        Compiles a description; by default `compile_family` with `SIZE`, remembered.

    Raises
    ------
    NoSystemYetError
        When no archetype was named.
    """
    data = data or catalog()
    description = describe(state, data)
    family = (make or compiled)(description)
    found = _Fold(family, data)
    for entry in state.timeline:
        found.take(entry.body)
    deferred = frozenset(state.deferred)
    return Guide(
        state=state,
        data=data,
        description=description,
        belief=found.belief,
        situation=replace(found.situation, deferred=deferred, unproven=frozenset(found.owed)),
        spent=Spent(found.minutes, found.dollars),
        unused=tuple(found.unused),
    )


def describe(state: CallState, data: Catalog) -> Description:
    """Return what the call says of its system.

    Options come from descriptions and from a technician's answers to questions about them; a
    caller's answer settles only what is neither wired nor piped (where the unit stands), because
    callers mistake the rest too often: it is weighed as a reading instead.
    """
    if state.archetype is None:
        raise NoSystemYetError(state.call_id)
    site = state.opened.site
    season = site.get("season")
    climate = site.get("climate")
    return Description(
        archetype=state.archetype,
        options=known_options(state, data),
        season=season if season in {"cooling", "heating"} else None,  # type: ignore[arg-type]
        age_years=_number(site.get("age_years")),
        climate=climate if climate in CLIMATES else None,  # type: ignore[arg-type]
        outdoor_c=_number(site.get("outdoor_c")),
        indoor_c=_number(site.get("indoor_c")),
        indoor_rh=_number(site.get("indoor_rh")) or 0.5,
    )


CLIMATES: Final = ("humid", "dry", "cold", "mixed")


def known_options(state: CallState, data: Catalog) -> dict[str, str]:
    """Return the options that are settled, each at its latest value."""
    if state.archetype is None:
        return {}
    options = options_of(state.archetype, data)
    values = {name: {v.id for v in option.values} for name, option in options.items()}
    wired = structural_options(state.archetype, data)
    found: dict[str, str] = {}
    for entry in state.readings:
        check = data.checks.get(entry.body.check_id)
        if check is not None and check.observe.quantity == "option":
            said, option = entry.body.answer or "", check.observe.of
            settles = entry.body.reported_by == "technician" or option not in wired
            if said in values.get(option, ()) and settles:
                found[option] = said
    described = {k: str(v) for k, v in state.description.items()}
    return found | {k: v for k, v in described.items() if v in values.get(k, ())}


@dataclass(frozen=True)
class _Known:
    """A description that can be looked up: two are the same when they say the same."""

    said: str
    description: Description = field(compare=False)


@lru_cache(maxsize=6)
def _compiled(known: _Known) -> Family:
    return compile_family(known.description, size=SIZE)


def compiled(description: Description) -> Family:
    """Compile a description of a call, remembering the last few."""
    ordered = replace(description, options=dict(sorted(description.options.items())))
    return _compiled(_Known(repr(ordered), ordered))


class _Fold:
    """Goes through a timeline and keeps belief, situation and cost up to date."""

    def __init__(self, family: Family, data: Catalog) -> None:
        self.family, self.data = family, data
        self.belief = Belief.prior(family)
        self.situation = Situation(place=PHONE, on_phone=True)
        self.minutes = self.dollars = 0.0
        self.owed: list[str] = []
        self.unused: list[str] = []
        self.lasting: set[str] = set()

    def take(self, body: Body) -> None:
        """Add one event."""
        match body:
            case WentTo():
                self._go(body.place)
            case PowerSet():
                self.situation = replace(self.situation, power_off=not body.on)
            case ReadingTaken():
                self._read(body)
            case RepairDone():
                self._repair(body)
            case ProofDone():
                self._prove(body)

    def _go(self, place: str) -> None:
        if place == PHONE:
            return
        if self.situation.on_phone:
            self.minutes += self.family.dispatch_minutes
        where = "" if place == SITE else place
        if where in self.family.places and where != self.situation.place:
            self.minutes += self.family.places[where].travel_minutes
        self.situation = replace(self.situation, place=where, on_phone=False)

    def _read(self, body: ReadingTaken) -> None:
        check = self.family.checks.get(body.check_id)
        entry = self.data.checks.get(body.check_id)
        if check is None:
            self.situation = replace(self.situation, done=self.situation.done | {body.check_id})
            if entry is None or entry.observe.quantity != "option":
                self.unused.append(body.check_id)
            return
        try:
            self.belief = self.belief.observe(_reading(body))
        except CatchpanError:
            self.unused.append(body.check_id)
            return
        self.minutes += check.minutes
        if body.reported_by == "technician" and not self.situation.on_phone:
            self._prepare(check.place, check.requires, check.group)
        lasting = entry is not None and entry.observe.quantity in {"history", "option", "reset"}
        if lasting:
            self.lasting.add(body.check_id)
        self.situation = replace(self.situation, done=self.situation.done | {body.check_id})

    def _prepare(self, place: str, requires: frozenset[str], group: str = "") -> None:
        ready = prepare(self.family, self.situation, place, requires, group)
        self.minutes += ready.minutes
        self.situation = ready.after

    def _repair(self, body: RepairDone) -> None:
        repair = self.family.repairs.get(body.repair_id)
        if repair is None:
            self.unused.append(body.repair_id)
            return
        worked = {"worked": True, "did_not": False, "not_yet_known": None}[body.outcome]
        self.belief = self.belief.repair_tried(repair.id, worked)
        if not self.situation.on_phone:
            self._prepare(repair.place, repair.requires)
            self.minutes += repair.minutes
            self.dollars += repair.dollars
        tried = {r for r in self.situation.done if r in self.family.repairs}
        again = self.lasting | tried | {repair.id}
        self.situation = replace(self.situation, done=frozenset(again))
        if worked is not False:
            known = [p for p in repair.proofs if p in self.family.checks]
            self.owed = [p for p in self.owed if p not in known] + known

    def _prove(self, body: ProofDone) -> None:
        if body.proof_id in self.owed:
            self.owed.remove(body.proof_id)
        check = self.family.checks.get(body.proof_id)
        if check is None:
            self.unused.append(body.proof_id)
            return
        self._prepare(check.place, check.requires)
        self.minutes += check.minutes
        answer = body.result.replace("_", "-")
        self.belief = self.belief.observe(Reading(check.id, answer))


def _reading(body: ReadingTaken) -> Reading:
    return Reading(body.check_id, body.answer, body.number_si, body.si_sd, body.reported_by)


def _number(setting: Setting | None) -> float | None:
    known = isinstance(setting, int | float) and not isinstance(setting, bool)
    return float(setting) if known else None  # type: ignore[arg-type]
