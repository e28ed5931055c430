"""Explanations say the numbers the plan holds, in plain words."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.planning.explanation import answer_bits, explain
from catchpan.diagnosis.planning.forecast import SYSTEM
from catchpan.diagnosis.planning.planner import Plan, Situation, plan
from catchpan.diagnosis.planning.situation import Forecast, Step

if TYPE_CHECKING:
    from catchpan.diagnosis.worlds.family import Family

BENCH = Situation("bench")
NOW = Forecast("now", "now", 1.0, "a", 0.4)


def planned(*steps: Step) -> Plan:
    return Plan(steps, 10, 0.0, 120.0, NOW)


def look(target: str, total: float) -> Step:
    answers = (
        Forecast("y", "dripping", 0.75, "trap_blocked", 0.8),
        Forecast("n", "dry", 0.245, "no-fault", 0.6),
        Forecast("x", "smoke", 0.005, "a", 0.5, danger=True),
    )
    return Step(
        "look", target, f"Look at {target}", 3.0, total - 3.0, ("go to the attic",), answers
    )


def test_the_reason_names_cost_gain_and_runner_up() -> None:
    told = explain(planned(look("pan", 100.0), look("lamp", 110.0)))
    text = " ".join(told.why)
    assert "$3 now" in text
    assert "$97" in text
    assert "$20 more" in text  # 120 without any further look, 100 with it
    assert "Look at lamp, expected to cost $10 more" in text
    assert told.runner_up == "lamp"
    assert told.difference == pytest.approx(10.0)
    assert told.ties == ()
    assert not told.repair_now


def test_what_is_dearer_now_and_cheaper_afterwards_is_said() -> None:
    near = replace(look("pan", 100.0), own_cost=9.0, cost_after=91.0)
    text = " ".join(explain(planned(near, look("lamp", 110.0))).why)
    assert "$10 more: $6 less now, $16 more afterwards." in text


def test_what_costs_as_much_and_an_answer_that_settles_little_are_said() -> None:
    first, second = look("pan", 1000.0), look("lamp", 1000.3)
    proof = replace(first, kind="prove", first=("go to outdoor unit", "go to the rooms"))
    why = explain(planned(proof, second)).why
    assert "Next best: Look at lamp, expected to cost about as much." in why
    assert "First: go to the outdoor unit; go to the rooms." in why
    even = replace(first, forecasts=(Forecast("y", "dripping", 1.0, "a", 0.4),))
    text = " ".join(explain(planned(even)).why)
    assert "The likeliest cause holds 40%, and is expected to hold as much after" in text


def test_good_enough_to_prove_is_said() -> None:
    proof = replace(look("pan", 100.0), kind="prove")
    text = " ".join(explain(planned(proof, look("lamp", 100.5))).why)
    assert "Good enough: stop looking here and prove it." in text
    assert "As good as equal" not in text


def test_steps_within_two_percent_are_as_good_as_equal() -> None:
    told = explain(planned(look("pan", 100.0), look("lamp", 101.9), look("fan", 102.1)))
    assert told.ties == ("lamp",)
    assert "As good as equal: Look at lamp" in " ".join(told.why)


def test_answers_say_what_leads_after_them_and_leave_out_the_hardly_possible() -> None:
    told = explain(planned(look("pan", 100.0)), {"trap_blocked": "a blocked trap"})
    assert told.answers == (
        "dripping (75%): then a blocked trap leads with 80%.",
        "dry (24%): then nothing is wrong, with 60%.",
    )
    assert told.share_now == 0.4
    assert told.share_after == pytest.approx(0.75 * 0.8 + 0.245 * 0.6 + 0.005 * 0.5)


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.97, "with 3% something else is wrong that does not show now."),
        (0.999, "hardly anything else is wrong."),
    ],
)
def test_after_it_works_what_is_left_to_prove_is_said(share: float, words: str) -> None:
    outcomes = (
        Forecast("worked", "it works now", 0.83, "no-fault", share),
        Forecast("did-not", "it still fails", 0.17, "valve_stuck", 0.4),
    )
    mended = replace(look("charge", 100.0), kind="repair", forecasts=outcomes)
    titles = {"valve_stuck": "Reversing valve stuck"}
    assert explain(planned(mended), titles).answers == (
        f"it works now (83%): then it has still to be proven; {words}",
        "it still fails (17%): then reversing valve stuck leads with 40%.",
    )
    run = replace(mended, kind="prove", target=SYSTEM)
    assert explain(planned(run), titles).answers[0] == f"it works now (83%): then {words}"


def test_a_fault_that_stays_and_does_not_show_is_named() -> None:
    hidden = Forecast("worked", "it works now", 0.2, "short", 0.6)
    mended = replace(look("fuse", 100.0), kind="repair", forecasts=(hidden,))
    told = explain(planned(mended), {"short": "Y shorted to C"})
    (answer,) = told.answers
    assert answer == (
        "it works now (20%): then it has still to be proven; "
        "Y shorted to C is still there with 60%, though it does not show now."
    )


def test_a_repair_that_works_leaves_its_cause_behind(three_faults: Family) -> None:
    belief = Belief.prior(three_faults).observe_all([Reading("hum", "o0"), Reading("wet", "o1")])
    found = plan(three_faults, belief, BENCH)
    step = found.steps[0]
    assert step.kind == "repair"
    fixes = three_faults.repairs[step.target].fixes
    assert found.now.leading in fixes
    worked = next(f for f in step.forecasts if f.outcome_id == "worked")
    assert worked.leading == "no-fault"
    assert worked.share > 0.5
    assert sum(f.probability for f in step.forecasts) == pytest.approx(1.0)


def test_a_dangerous_answer_is_said_to_end_the_work() -> None:
    risky = replace(look("pan", 50.0), forecasts=(Forecast("x", "smoke", 0.5, "a", 0.5, True),))
    assert explain(planned(risky)).answers == ("smoke (50%): stop and get out of the danger.",)


def test_answer_bits_are_the_entropy_of_the_answer() -> None:
    even = tuple(Forecast(str(i), "", 0.25, "a", 1.0) for i in range(4))
    assert answer_bits(even) == pytest.approx(2.0)
    assert answer_bits((Forecast("x", "", 1.0, "a", 1.0),)) == 0.0
    assert answer_bits(()) == 0.0


def test_time_to_repair_is_said_when_a_repair_comes_first(three_faults: Family) -> None:
    belief = Belief.prior(three_faults).observe_all([Reading("hum", "o0"), Reading("wet", "o1")])
    told = explain(plan(three_faults, belief, BENCH))
    assert told.step.kind == "repair"
    assert told.repair_now
    worked = next(f for f in told.step.forecasts if f.outcome_id == "worked")
    assert f"{worked.probability:.0%}" in " ".join(told.why)


def test_every_first_step_of_a_real_plan_can_be_explained(three_faults: Family) -> None:
    for where in (BENCH, Situation(on_phone=True), Situation("bench", unproven=frozenset({"wet"}))):
        told = explain(plan(three_faults, Belief.prior(three_faults), where))
        assert told.why
        assert told.difference >= 0.0


def test_a_question_about_danger_is_compared_with_nothing() -> None:
    asked = replace(look("smoke", 100.0), kind="ask")
    told = explain(planned(asked, look("lamp", 90.0)))
    assert told.ties == ()
    assert "Questions about danger come first" in " ".join(told.why)
    assert "Look at lamp" not in " ".join(told.why)
