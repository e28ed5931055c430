"""What is said of a repair after others failed, what cannot be proven, what is not tried again."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from catchpan.diagnosis.planning.doubt import MOST, UNLIKE, after_try, tempered
from catchpan.diagnosis.planning.job import SITE, Job
from catchpan.diagnosis.planning.practice import Practice
from catchpan.diagnosis.worlds.family import Family, Outcome

if TYPE_CHECKING:
    from collections.abc import Callable

    from catchpan.diagnosis.worlds.family import CheckModel, RepairModel


def said_to_work(job: Job, repair_id: str) -> float:
    step = next(s for s in job.plan(20).steps if s.target == repair_id)
    return next(f.probability for f in step.forecasts if f.outcome_id == "worked")


def test_a_repair_is_believed_less_with_every_one_that_was_sure_and_failed() -> None:
    """By hand: 0.05 x 0.55 / (0.05 x 0.55 + 0.95 x 0.1) after a repair of 0.9 that failed."""
    failed = after_try(0.05, 0.9, worked=False)
    assert failed == pytest.approx(0.0275 / (0.0275 + 0.095))
    assert after_try(failed, 0.9, worked=True) == pytest.approx(
        failed * 0.45 / (failed * 0.45 + (1.0 - failed) * 0.9)
    )
    assert tempered(0.9, failed) == pytest.approx(0.9 * (1.0 - failed / 2.0))
    assert after_try(0.05, 0.0, worked=False) == pytest.approx(0.05), "nobody expected it to work"
    assert after_try(0.9, 1.0, worked=False) == MOST


def test_the_forecast_of_a_job_is_tempered_and_the_order_of_repairs_is_not(
    three_faults: Family,
) -> None:
    bare = Job.begin(three_faults).went(SITE)
    sure = replace(bare, situation=replace(bare.situation, doubt=0.0))
    assert said_to_work(bare, "fix-a") == pytest.approx(
        said_to_work(sure, "fix-a") * (1.0 - UNLIKE / 2.0)
    )
    assert [s.target for s in bare.plan(9).steps] == [s.target for s in sure.plan(9).steps]
    failed = bare.repaired("fix-a", worked=False)
    assert failed.situation.doubt == pytest.approx(
        after_try(UNLIKE, said_to_work(sure, "fix-a"), worked=False)
    )
    assert bare.repaired("fix-a", worked=None).situation.doubt == UNLIKE


def test_a_proof_that_cannot_be_made_keeps_no_call_open_unless_it_guards_people(
    family_of: Callable[..., Family],
    check_of: Callable[..., CheckModel],
    repair_of: Callable[..., RepairModel],
) -> None:
    proof = check_of("flame-stays", [[0.98, 0.02], [0.02, 0.98]])
    proof = replace(proof, proof=True, outcomes=(Outcome("pass", ""), Outcome("fail", "")))
    repair = replace(repair_of("fix-a", "a", 20.0), proofs=("flame-stays",))
    family = family_of({"": 0.05, "a": 0.95}, [proof], [repair], call_back=500.0)
    family = replace(family, refer_minutes=5.0)
    ends = {}
    for guards in (False, True):
        practice = Practice(guarding=frozenset({"flame-stays"} if guards else ()))
        job = Job.begin(family, practice).went(SITE).repaired("fix-a", worked=True)
        assert job.plan(1).steps[0].target == "flame-stays"
        without = job.put_off({"flame-stays"})
        assert "flame-stays" in without.situation.unproven, "it is still said to be owed"
        ends[guards] = without.plan(1).steps[0].kind
    assert ends == {False: "stop", True: "refer"}


def test_drying_and_emptying_by_turns_comes_to_an_end(
    family_of: Callable[..., Family], repair_of: Callable[..., RepairModel]
) -> None:
    """A crack that no repair here seals keeps both wet; after a root is mended they may be."""
    kinds = {"crack": "root", "a": "root", "pan": "consequence", "floor": "consequence"}
    repairs = [
        repair_of("empty", "pan", 0.0, success=0.5),
        repair_of("dry", "floor", 0.0, success=0.5),
        repair_of("fix-a", "a", 20.0),
    ]
    priors = {"": 0.1, "crack pan floor": 0.6, "a": 0.2, "crack floor": 0.05, "crack pan": 0.05}
    job = Job.begin(family_of(priors, (), repairs, kinds=kinds, call_back=900.0)).went(SITE)
    for name in ("empty", "dry", "empty", "dry"):
        assert name not in job.in_vain
        job = job.repaired(name, worked=False)
    assert {"empty", "dry"} <= job.in_vain
    assert not {"empty", "dry"} & job.repaired("fix-a", worked=False).in_vain
