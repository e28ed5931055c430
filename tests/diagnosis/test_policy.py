"""Policies stand under the same hard rules and differ in how they find the fault."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.planning.job import Job
from catchpan.diagnosis.planning.policy import (
    BASELINES,
    EASY_FIRST,
    INFORMATION,
    LIKELIEST_FIRST,
    RATIO,
    Planner,
    Policy,
)
from catchpan.diagnosis.planning.situation import Situation

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
