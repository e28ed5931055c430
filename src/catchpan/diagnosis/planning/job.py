"""A job from the first ring to the proof, without a screen: belief, situation, what was done.

Every act gives a new job; the old one stays as it was. ``Job.plan`` says what to do next: it is
what the technician is shown, and what the studies measure.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from itertools import takewhile
from typing import TYPE_CHECKING, Final, Literal

from catchpan.diagnosis.inference.aftermath import after_putting_back, after_repair
from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.planning.doubt import UNLIKE, after_try
from catchpan.diagnosis.planning.forecast import SYSTEM, chance_to_work
from catchpan.diagnosis.planning.lookahead import FULL, Budget
from catchpan.diagnosis.planning.planner import Plan, plan
from catchpan.diagnosis.planning.practice import Practice
from catchpan.diagnosis.planning.safety_order import prepare
from catchpan.diagnosis.planning.situation import Situation
from catchpan.diagnosis.planning.worthwhile import not_worthwhile, premature_repairs
from catchpan.diagnosis.worlds.family import CONSEQUENCE, PHONE
from catchpan.units.errors import UnknownName

if TYPE_CHECKING:
    from collections.abc import Iterable

    from catchpan.diagnosis.worlds.family import Family

ProofResult = Literal["pass", "fail", "too_close"]

SITE: Final = "site"
"""The place of a technician who has arrived and not yet gone to any part of the house."""

START: Final = Situation(place=PHONE, on_phone=True, doubt=UNLIKE)
NOTHING_KNOWN: Final = Practice()

MOST_TRIES: Final = 2
"""So often a root is repaired on one job (assumed)."""


@dataclass(frozen=True, eq=False)
class Job:
    """What is believed, where the technician stands, and what was done so far.

    A repair of a root is offered again only where it seems to have missed, and never a third time.
    One that puts right what a root left behind (a fuse, a breaker, a full pan) waits until
    something else was repaired while the root that would bring it back is likelier there than not:
    nobody puts in fuse after fuse, but a cool-down that was too short is made again. A proof that
    fails takes back that the system works: it has to be run and judged anew. A system seen to run
    is not run again before something else is done to it.

    Parameters
    ----------
    minutes, parts_dollars
        What the steps so far have cost, by the family's figures.
    repairs
        The repairs made, in order.
    lasting
        Checks and repairs that a later repair does not call in question.
    waiting
        Repairs that wait until something else was repaired, unless they seem to have missed.
    """

    belief: Belief
    situation: Situation = START
    practice: Practice = NOTHING_KNOWN
    minutes: float = 0.0
    parts_dollars: float = 0.0
    repairs: tuple[str, ...] = ()
    lasting: frozenset[str] = frozenset()
    waiting: frozenset[str] = frozenset()

    @classmethod
    def begin(cls, family: Family, practice: Practice = NOTHING_KNOWN) -> Job:
        """Return the job when the phone rings."""
        return cls(Belief.prior(family), practice=practice)

    @property
    def family(self) -> Family:
        """The compiled worlds."""
        return self.belief.family

    @property
    def open(self) -> Situation:
        """The situation, with everything put off that is not worth doing or waits its turn.

        This is what a policy chooses in. A proof that cannot be made on this call is not owed any
        more, unless it guards the people of the house: the system was seen to run, and nobody else
        could make that proof now either.
        """
        idle = not_worthwhile(self.belief, self.situation, self.practice)
        waiting = premature_repairs(self.belief, self._to_come_back) & self.waiting
        put_off = self.situation.deferred | waiting | self.in_vain | idle
        left_out = self.situation.deferred - self.practice.guarding
        owed = self.situation.unproven - left_out
        return replace(self.situation, deferred=put_off, unproven=owed)

    @property
    def _to_come_back(self) -> frozenset[str]:
        """What the waiting repairs remove, and a root would bring back."""
        fixed = (self.family.repairs[name].fixes for name in self.waiting)
        return frozenset[str]().union(*fixed)

    @property
    def in_vain(self) -> frozenset[str]:
        """Repairs that were made twice for a root, or twice with no root's repair after the first.

        The first may have missed; when the second does not help either, it is not this. What a
        root left behind may be there again and again, but only after a root was repaired: emptying
        a pan and drying a floor by turns mends nothing.
        """
        twice = {name for name in self.repairs if self.repairs.count(name) >= MOST_TRIES}
        idle = takewhile(self._left_behind, reversed(self.repairs))
        since = Counter(idle)
        return frozenset(
            name for name in twice if self._for_a_root(name) or since[name] >= MOST_TRIES
        )

    def _for_a_root(self, repair_id: str) -> bool:
        """Say whether what a repair would remove now is a root rather than left behind."""
        fixes, chance = self.family.repairs[repair_id].fixes, self.belief.probabilities()
        root = chance[[bool(w.roots & fixes) for w in self.family.worlds]].sum()
        touched = chance[[bool(w.conditions & fixes) for w in self.family.worlds]].sum()
        return bool(root > 0.5 * touched)

    def _left_behind(self, repair_id: str) -> bool:
        """Say whether a repair puts right what a root left behind."""
        fixes = self.family.repairs[repair_id].fixes
        return any(self.family.kinds.get(c) == CONSEQUENCE for c in fixes)

    def plan(self, limit: int = 4, budget: Budget | None = FULL) -> Plan:
        """Return the next steps, the least expected cost first."""
        return plan(self.family, self.belief, self.open, limit, budget)

    def went(self, place: str) -> Job:
        """Return the job after going to a place; to `SITE` or anywhere else than the phone."""
        if place == PHONE:
            return self
        minutes = self.minutes + (self.family.dispatch_minutes if self.situation.on_phone else 0.0)
        where = "" if place == SITE else place
        if where in self.family.places and where != self.situation.place:
            minutes += self.family.places[where].travel_minutes
        here = replace(self.situation, place=where, on_phone=False)
        return replace(self, situation=here, minutes=minutes)

    def switched(self, *, power_on: bool) -> Job:
        """Return the job after the power was switched."""
        return replace(self, situation=replace(self.situation, power_off=not power_on))

    def noted(self, *done: str) -> Job:
        """Return the job with steps counted as done that tell nothing about these worlds."""
        return replace(self, situation=replace(self.situation, done=self.situation.done | {*done}))

    def put_off(self, steps: Iterable[str]) -> Job:
        """Return the job with exactly these steps put off by whoever does the work."""
        return replace(self, situation=replace(self.situation, deferred=frozenset(steps)))

    def read(self, reading: Reading) -> Job:
        """Return the job after a reading.

        Raises
        ------
        UnknownName, BadValue
            As `Belief.observe`.
        """
        belief = self.belief.observe(reading)
        check = self.family.checks[reading.check_id]
        job = replace(self, belief=belief, minutes=self.minutes + check.minutes)
        if reading.reporter == "technician" and not self.situation.on_phone:
            job = _prepared(job, check.place, check.requires, check.group)
        if check.id in self.practice.lasting:
            job = replace(job, lasting=job.lasting | {check.id})
        if check.id in self.practice.puts_back:
            job = _put_back(job, reading)
        return job.noted(check.id)

    def repaired(self, repair_id: str, worked: bool | None) -> Job:
        """Return the job after a repair and what came of it (None: not known yet).

        Raises
        ------
        UnknownName
            The family has no such repair.
        """
        if repair_id not in self.family.repairs:
            raise UnknownName("repair", repair_id, self.family.repairs)
        repair, job = self.family.repairs[repair_id], self
        again = repair_id in self.repairs
        waits = self._left_behind(repair_id) and not again
        lasting = self.lasting if waits else self.lasting | {repair_id}
        if not self.situation.on_phone:
            job = _prepared(job, repair.place, repair.requires)
            job = replace(
                job,
                minutes=job.minutes + repair.minutes,
                parts_dollars=job.parts_dollars + repair.dollars,
                situation=replace(job.situation, done=frozenset()),
            )
        owed = job.situation.unproven
        if worked is not False:
            owed |= {p for p in repair.proofs if p in self.family.checks}
        job = job if worked is None else _running(job)
        return replace(
            job,
            belief=after_repair(self.belief, repair_id, worked),
            situation=replace(
                job.situation,
                done=job.situation.done | lasting,
                unproven=owed,
                doubt=self._doubt_after(repair_id, worked),
            ),
            repairs=(*self.repairs, repair_id),
            lasting=lasting,
            waiting=frozenset({repair_id} if waits else ()),
        )

    def _doubt_after(self, repair_id: str, worked: bool | None) -> float:
        """Return the doubt whether this home is like any world, after a repair."""
        doubt = self.situation.doubt
        if worked is None:
            return doubt
        chance = chance_to_work(self.belief, self.family.repairs[repair_id])
        return after_try(doubt, chance, worked=worked)

    def proved(self, proof_id: str, result: ProofResult) -> Job:
        """Return the job after a proof, or after the system as a whole was run (`SYSTEM`).

        Raises
        ------
        UnknownName
            The family has no such proof.
        """
        if proof_id == SYSTEM:
            job = _running(self)
            job = replace(job, minutes=job.minutes + self.family.proof_minutes)
            if result == "too_close":
                return job
            job = job.noted(SYSTEM) if result == "pass" else job
            return _judged(job, worked=result == "pass")
        here = replace(self.situation, unproven=self.situation.unproven - {proof_id})
        if proof_id not in self.family.checks:
            raise UnknownName("proof", proof_id, self.family.checks)
        check = self.family.checks[proof_id]
        job = replace(self, situation=here)
        if not here.on_phone:
            job = _prepared(job, check.place, check.requires)
        belief = job.belief.observe(Reading(proof_id, result.replace("_", "-")))
        job = replace(job, belief=belief, minutes=job.minutes + check.minutes)
        if result == "fail":
            return _open_again(job)
        return job.noted(proof_id) if result == "pass" else job


def _put_back(job: Job, reading: Reading) -> Job:
    """Return the job after something was put back; looks made before are worth making again."""
    gone = job.practice.puts_back[reading.check_id]
    belief = after_putting_back(job.belief, gone, reading.outcome_id)
    done = job.situation.done if job.situation.on_phone else job.lasting
    return replace(job, belief=belief, situation=replace(job.situation, done=done))


def _judged(job: Job, *, worked: bool) -> Job:
    return replace(job, belief=job.belief.system_tried(worked))


def _open_again(job: Job) -> Job:
    """Return the job after a proof that failed: the system has to be run and judged anew.

    What the proof says of each world is in the belief like any reading; it is no second verdict.
    """
    checks = job.family.checks
    passed = {p for p in job.situation.done if p == SYSTEM or (p in checks and checks[p].proof)}
    here = replace(job.situation, done=job.situation.done - passed)
    return replace(job, belief=replace(job.belief, verdict=None), situation=here)


def _running(job: Job) -> Job:
    """Return the job with the power on again: whoever says how the system runs has run it."""
    if not job.situation.power_off:
        return job
    here = replace(job.situation, power_off=False)
    return replace(job, situation=here, minutes=job.minutes + job.family.power_minutes)


def _prepared(job: Job, place: str, requires: frozenset[str], group: str = "") -> Job:
    ready = prepare(job.family, job.situation, place, requires, group)
    return replace(job, situation=ready.after, minutes=job.minutes + ready.minutes)
