"""Policies stand under the same hard rules and differ in how they find the fault."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.planning.forecast import SYSTEM
from catchpan.diagnosis.planning.job import Job
from catchpan.diagnosis.planning.policy import (
    BASELINES,
    EASY_FIRST,
    EASY_NO_PROOF,
    INFORMATION,
    LIKELIEST_FIRST,
    RATIO,
    Planner,
    Policy,
)
from catchpan.diagnosis.planning.situation import Situation
from catchpan.diagnosis.worlds.family import Outcome

if TYPE_CHECKING:
    from collections.abc import Callable

    from catchpan.diagnosis.worlds.family import CheckModel, Family, RepairModel

BENCH = Situation("bench")
ALL: tuple[Policy, ...] = (Planner(), *BASELINES)


@pytest.mark.parametrize("policy", ALL, ids=lambda p: p.name)
def test_every_policy_gets_a_call_from_the_first_ring_to_the_proof(
    policy: Policy, three_faults: Family
) -> None:
    """The truth is ``a``: it hums, nothing is wet, and only fix-a makes it work."""
    job, mended, steps = Job.begin(three_faults), False, []
    for _ in range(20):
        step = policy.choose(three_faults, job.belief, job.open)
        steps.append(step.kind)
        match step.kind:
            case "go":
                job = job.went("bench")
            case "ask" | "look" | "measure":
                job = job.read(Reading(step.target, "o1"))
            case "repair":
                mended = mended or step.target == "fix-a"
                job = job.repaired(step.target, worked=mended)
            case "prove":
                job = job.proved(step.target, "pass" if mended else "fail")
            case _:
                break
    assert mended
    assert steps[-1] == "stop"


def test_the_habits_take_what_their_names_say(
    family_of: Callable[..., Family],
    check_of: Callable[..., CheckModel],
    repair_of: Callable[..., RepairModel],
) -> None:
    sharp, dull = [[0.99, 0.01], [0.01, 0.99], [0.5, 0.5]], [[0.6, 0.4], [0.4, 0.6], [0.5, 0.5]]
    checks = [check_of("sharp", sharp, minutes=3.0), check_of("dull", dull, minutes=1.0)]
    repairs = [
        repair_of("r-a", "a", 50.0),
        repair_of("r-b", "b", 10.0),
        repair_of("r-c", "c", 90.0),
    ]
    family = family_of({"a": 0.5, "b": 0.3, "c": 0.2}, checks, repairs)
    belief = Belief.prior(family)
    chosen = {p.name: p.choose(family, belief, BENCH).target for p in BASELINES}
    assert chosen[EASY_FIRST.name] == "dull"
    assert chosen[LIKELIEST_FIRST.name] == "sharp"
    assert chosen[INFORMATION.name] == "sharp"
    assert chosen[RATIO.name] == "r-b"
    sure = belief.observe(Reading("sharp", "o0")).observe(Reading("dull", "o0"))
    assert EASY_FIRST.choose(family, sure, BENCH).target == "r-a"


def test_a_habit_without_proofs_watches_it_run_and_leaves(
    family_of: Callable[..., Family],
    check_of: Callable[..., CheckModel],
    repair_of: Callable[..., RepairModel],
) -> None:
    proof = check_of("cools", [[0.98, 0.02], [0.02, 0.98], [0.02, 0.98]])
    proof = replace(proof, proof=True, outcomes=(Outcome("pass", ""), Outcome("fail", "")))
    repair = replace(repair_of("fix-a", "a", 10.0), proofs=("cools",))
    family = family_of({"": 0.02, "a": 0.5, "b": 0.48}, [proof], [repair], call_back=500.0)
    job = Job.begin(family).went("bench").repaired("fix-a", worked=True)
    assert EASY_FIRST.choose(family, job.belief, job.open).target == "cools"
    watch = EASY_NO_PROOF.choose(family, job.belief, job.open)
    assert (watch.kind, watch.target) == ("prove", SYSTEM)
    seen = job.proved(SYSTEM, "pass")
    assert EASY_NO_PROOF.choose(family, seen.belief, seen.open).kind == "stop"
    assert EASY_FIRST.choose(family, seen.belief, seen.open).target == "cools"
    failed = job.proved(SYSTEM, "fail")
    assert EASY_NO_PROOF.choose(family, failed.belief, failed.open).kind != "stop"
