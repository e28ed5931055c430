"""From the state of a call to everything its technician sees: belief, causes, next steps, cost.

Pure: the same state, catalog and costs give the same guide, whoever shows it. The screen of the
terminal and the web side read the same guide.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Final, Literal

from catchpan.calls.described import describe
from catchpan.calls.progress import Mended, Progress, Spent
from catchpan.catalog.load import Catalog, catalog
from catchpan.diagnosis.cases.todays_targets import Todays, plate_of, todays_targets
from catchpan.diagnosis.inference.causes import Causes, Share, rank_causes
from catchpan.diagnosis.inference.conflict import Conflict, find_conflict
from catchpan.diagnosis.inference.grouped import shares_of_parts
from catchpan.diagnosis.inference.latent import Latent, latent_defects, option_shares
from catchpan.diagnosis.inference.questioned import Question, questions
from catchpan.diagnosis.planning.explanation import Explanation, explain
from catchpan.diagnosis.planning.lookahead import FULL
from catchpan.diagnosis.planning.practice import practice_of
from catchpan.diagnosis.planning.safety_order import standing_dangers
from catchpan.diagnosis.worlds.compile_family import Size, titles
from catchpan.diagnosis.worlds.compiled import compiled
from catchpan.diagnosis.worlds.family import Family

if TYPE_CHECKING:
    from catchpan.calls.state import CallState
    from catchpan.diagnosis.inference.belief import Belief, Reading
    from catchpan.diagnosis.planning.job import Job
    from catchpan.diagnosis.planning.planner import Plan
    from catchpan.diagnosis.planning.situation import Situation
    from catchpan.diagnosis.worlds.description import Description

CLEARED: Final = "cleared:"
"""What a site's setting begins with that says the danger of a check was dealt with."""

STEPS: Final = 4
"""How many next steps a guide holds."""

BUDGET: Final = FULL
"""How far to look ahead on a call, here and on the phone alike, so that both choose the same step.

The phone can afford all of it (``benchmarks/field_app.md``); twice as much would take a step in the
slowest twentieth past the 50 ms a person does not notice.
"""

SIZE: Final = Size(settings=8, pairs=1500)
"""How much of the family is kept for a call in the hand, where nobody waits long (assumed)."""

Phase = Literal["phone", "visit", "closed"]
Compile = Callable[["Description"], Family]


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
    job : Job
        Belief and situation after all readings and repairs, in the order they came.
    spent : Spent
        What the steps so far have cost, by the catalog's minutes.
    mended : tuple of Mended
        The repairs, in order.
    unused : tuple of str
        Check, repair or proof ids in the trail that this system's family does not know.
    """

    state: CallState
    data: Catalog
    description: Description
    job: Job
    spent: Spent
    mended: tuple[Mended, ...]
    unused: tuple[str, ...]

    @property
    def belief(self) -> Belief:
        """The probability of every world."""
        return self.job.belief

    @property
    def situation(self) -> Situation:
        """Where the technician stands and what is done, put off and still to be proven."""
        here = self.job.situation
        return replace(here, deferred=here.deferred | self.job.waiting)

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
    def parts(self) -> tuple[Share, ...]:
        """The parts that may be at fault, with the share of a root in each."""
        part = {f.id: f.component for f in self.data.faults.values()}
        return shares_of_parts([(1.0, self.belief)], part)

    @cached_property
    def questions(self) -> tuple[Question, ...]:
        """Readings of the circuit that cannot be as they stand, and the likely mistake."""
        return questions(self.belief)

    def targets(self, demand: str) -> Todays | None:
        """Return what superheat, subcooling, split and capacity should be today, and were read."""
        plate = plate_of(self.description, self.likeliest_setting)
        return todays_targets(self.belief, plate, demand)

    @cached_property
    def conflict(self) -> Conflict | None:
        """Readings that no world explains together."""
        return find_conflict(self.belief)

    @cached_property
    def plan(self) -> Plan:
        """Next steps from the least expected cost up."""
        return self.job.plan(STEPS, BUDGET)

    @cached_property
    def explanation(self) -> Explanation:
        """Why the first of the next steps is the first."""
        return explain(self.plan, self.words)

    @cached_property
    def latents(self) -> tuple[Latent, ...]:
        """Defects that show no symptom today, the likeliest first."""
        readings = (*self.belief.earlier, *self.belief.readings)
        shares = option_shares(self.description, self.data, self.belief)
        return latent_defects(self.description, self.data, readings, shares)

    @cached_property
    def words(self) -> Mapping[str, str]:
        """The title of every fault."""
        return titles(self.data)

    @cached_property
    def dangers(self) -> tuple[Reading, ...]:
        """Readings that mean danger and have not been taken back."""
        return standing_dangers(self.belief, self.situation)

    @cached_property
    def likeliest_position(self) -> int:
        """Position in the family's settings of the likeliest one."""
        totals = [0.0] * len(self.family.settings)
        chance = self.belief.probabilities().tolist()
        for world, share in zip(self.family.worlds, chance, strict=True):
            totals[world.setting] += share
        return max(range(len(totals)), key=totals.__getitem__)

    @property
    def likeliest_setting(self) -> dict[str, str]:
        """How the system is built, as far as known and for the rest as is likeliest."""
        return {**self.family.settings[self.likeliest_position], **self.description.options}

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
    family = (make or compile_for_call)(description)
    found = Progress(family, data, practice_of(data, description.season))
    for entry in state.timeline:
        found.take(entry.body)
    job = found.job.put_off(state.deferred)
    job = replace(job, situation=replace(job.situation, cleared=cleared_dangers(state)))
    return Guide(
        state=state,
        data=data,
        description=description,
        job=job,
        spent=Spent(job.minutes, job.parts_dollars),
        mended=tuple(found.mended),
        unused=tuple(found.unused),
    )


def cleared_dangers(state: CallState) -> frozenset[str]:
    """Return the checks whose danger was dealt with on site, by what the call's site says."""
    said = state.opened.site.items()
    return frozenset(
        k.removeprefix(CLEARED) for k, v in said if k.startswith(CLEARED) and v is True
    )


def compile_for_call(description: Description) -> Family:
    """Compile a description at the size of a call, remembering the last few."""
    return compiled(description, size=SIZE)
