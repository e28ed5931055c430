"""Playing one call: the policy's steps in a home whose insides it does not see."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Literal

from catchpan.diagnosis.inference.belief import Reading
from catchpan.diagnosis.planning.ending import DANGER, GO, LEAVE_ID
from catchpan.diagnosis.planning.expected_cost import proof_cost
from catchpan.diagnosis.planning.forecast import SYSTEM
from catchpan.diagnosis.planning.job import SITE, ProofResult
from catchpan.diagnosis.planning.safety_order import prepare, standing_dangers

if TYPE_CHECKING:
    from catchpan.diagnosis.planning.job import Job
    from catchpan.diagnosis.planning.policy import Policy
    from catchpan.diagnosis.planning.situation import Situation, Step
    from catchpan.diagnosis.rehearsal.home import Home, Judge
    from catchpan.diagnosis.rehearsal.record import For, Record
    from catchpan.diagnosis.rehearsal.tree import Node
    from catchpan.diagnosis.worlds.family import Family, RepairModel

Reporter = Literal["caller", "technician"]

RESULTS: Final[dict[str, ProofResult]] = {
    "pass": "pass",
    "fail": "fail",
    "too-close": "too_close",
    "absent": "too_close",
}

MOST_STEPS: Final = 80
CLEARING_MINUTES: Final = 5.0
"""Minutes to make safe on site what an answer told of (assumed)."""


@dataclass(eq=False)
class Play:
    """One call under way: the history so far and what it has cost."""

    policy: Policy
    home: Home
    judge: Judge
    node: Node
    record: Record

    @property
    def family(self) -> Family:
        """The technician's worlds."""
        return self.node.job.family

    @property
    def where(self) -> Situation:
        """Where the technician stands."""
        return self.node.job.situation

    def to_the_end(self) -> Record:
        """Take steps until the call is left, and return what came of it."""
        for number in range(MOST_STEPS):
            step = self.node.decided(self.policy)
            if number == 0:
                self.record.promised_dollars = step.total_cost
            if not self._take(step):
                break
        self.record.leading, self.record.other = self.node.conclusion()
        return self.record

    def _take(self, step: Step) -> bool:
        """Take a step; say whether the call goes on."""
        target = step.target
        if target == LEAVE_ID:
            return self._leave(step)
        if target == DANGER:
            return self._meet_danger()
        if target == GO:
            self.record.spend("driving", self.family.dispatch_minutes * self.home.pace(GO))
            self._note(GO, "arrived")
            self.node = self.node.then(GO, lambda job: job.went(SITE))
        elif target == SYSTEM:
            self._run()
        elif target in self.family.repairs:
            self._repair(step)
        elif not self.home.can_do(target):
            self._note(target, "cannot")
            self.node = self.node.then("cannot", lambda job: cannot(job, target))
        elif self.family.checks[target].proof:
            self._prove(target)
        else:
            self._check(target)
        return True

    def _leave(self, step: Step) -> bool:
        self.record.end = "closed" if step.kind == "stop" else "handed over"
        if step.kind != "stop":
            self.record.spend("handing over", self.family.refer_minutes)
        return False

    def _meet_danger(self) -> bool:
        self._note(DANGER, "met")
        if self.where.on_phone:
            self.record.end = "danger"
            return False
        self.record.spend("preparing", CLEARING_MINUTES)
        self.node = self.node.then(DANGER, made_safe)
        return True

    def _check(self, target: str) -> None:
        check = self.family.checks[target]
        if not self.where.on_phone:
            self._get_ready(target, check.place, check.requires, check.group)
        again = any(noted.startswith(f"{target}=") for noted in self.record.path)
        what: For = "asking" if self.where.on_phone else "looking again" if again else "looking"
        self.record.spend(what, check.minutes * self.home.pace(target), hazard=check.hazard_cost)
        number = self.home.number(target)
        if number is not None:
            self._note(target, f"{number:.6g}")
            value = Reading(target, value_si=number)
            self.node = self.node.then(f"{number:.6g}", lambda job: job.read(value))
            return
        answer = self.home.answer(target)
        self._note(target, answer)
        if check.outcome_index(answer) is None:
            self.node = self.node.then("cannot", lambda job: cannot(job, target))
        else:
            who: Reporter = "caller" if self.where.on_phone else "technician"
            reading = Reading(target, answer, reporter=who)
            self.node = self.node.then(answer, lambda job: job.read(reading))

    def _prove(self, target: str) -> None:
        check = self.family.checks[target]
        self._get_ready(target, check.place, check.requires)
        self.record.spend(
            "proofs", check.minutes * self.home.pace(target), hazard=check.hazard_cost
        )
        result = RESULTS[self.home.prove(target)]
        self._note(target, result)
        self.node = self.node.then(result, lambda job: job.proved(target, result))

    def _run(self) -> None:
        self.record.spend("proofs", self.family.proof_minutes * self.home.pace(SYSTEM))
        worked = self.home.runs()
        self._note(SYSTEM, str(worked))
        self.node = self.node.then(
            str(worked), lambda job: job.proved(SYSTEM, "pass" if worked else "fail")
        )

    def _repair(self, step: Step) -> None:
        repair, family = self.family.repairs[step.target], self.family
        self._get_ready(repair.id, repair.place, repair.requires)
        pace, helps = self.home.pace(repair.id), self.judge.would_help(repair.id)
        if not helps:
            self.record.wrong_tries += 1
            self.record.wrong_parts += repair.dollars > 0.0
        worked = self.home.try_repair(repair.id)
        what = self._what_for(helped=helps, left=self.judge.would_help(repair.id))
        self.record.spend(what, repair.minutes * pace, repair.dollars, repair.hazard_cost)
        if not worked or not any(p in family.checks for p in repair.proofs):
            seen = minutes_to_see(family, repair, worked=worked)
            self.record.spend(what if not helps else "proofs", seen * pace)
        said = [f.probability for f in step.forecasts if f.outcome_id == "worked"]
        self.record.forecasts += [(round(p, 6), self.judge.works()) for p in said]
        self._note(repair.id, str(worked))
        self.node = self.node.then(str(worked), lambda job: job.repaired(repair.id, worked))

    def _what_for(self, *, helped: bool, left: bool) -> For:
        if helped:
            return "repairs that missed" if left else "repairs that helped"
        return "callers' tries for nothing" if self.where.on_phone else "repairs for nothing"

    def _get_ready(
        self, target: str, place: str, requires: frozenset[str], group: str = ""
    ) -> None:
        """Count going there and getting at it, at the pace of this home."""
        if self.where.on_phone:
            return
        ready, pace = (
            prepare(self.family, self.where, place, requires, group),
            self.home.pace(target),
        )
        going = travel_minutes(self.family, self.where, ready.after)
        self.record.trips += ready.after.place != self.where.place
        self.record.spend("going", going * pace)
        self.record.spend("preparing", (ready.minutes - going) * pace)

    def _note(self, target: str, outcome: str) -> None:
        self.record.path.append(f"{target}={outcome}")


def minutes_to_see(family: Family, repair: RepairModel, *, worked: bool) -> float:
    """Return the minutes until it is seen what came of a repair: proven, or that it still fails."""
    proven = proof_cost(family, repair) / family.dollars_per_minute
    return proven if worked else min(proven, family.proof_minutes)


def travel_minutes(family: Family, before: Situation, after: Situation) -> float:
    """Return the minutes of going from one place on site to another."""
    known = after.place in family.places and after.place != before.place
    return family.places[after.place].travel_minutes if known else 0.0


def cannot(job: Job, target: str) -> Job:
    """Return the job with a step that cannot be made on this call."""
    return job.put_off(job.situation.deferred | {target})


def made_safe(job: Job) -> Job:
    """Return the job after what was dangerous on site has been dealt with."""
    found = {r.check_id for r in standing_dangers(job.belief, job.situation)}
    return replace(job, situation=replace(job.situation, cleared=job.situation.cleared | found))
