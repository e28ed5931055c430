"""A caller is asked first what would rule a try out, where asking is cheap."""

from __future__ import annotations

import numpy as np
import pytest

from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.planning.ending import GO
from catchpan.diagnosis.planning.planner import plan
from catchpan.diagnosis.planning.situation import Situation
from catchpan.diagnosis.worlds.family import (
    PHONE,
    CheckModel,
    Family,
    Outcome,
    PlaceModel,
    RepairModel,
    World,
)

ON_PHONE = Situation(place=PHONE, on_phone=True)


def tripped_or_not(ask_minutes: float, tripped: float = 0.35) -> Family:
    """A breaker that a caller can reset in 10 minutes, or a part that takes a drive of 40."""
    answers = (Outcome("tripped", "tripped"), Outcome("on", "on"))
    table = np.array([[0.98, 0.02], [0.02, 0.98]], dtype=np.float32)
    asked = CheckModel("asked", "Is it tripped?", PHONE, ask_minutes, answers, table, phone=True)
    reset = RepairModel(
        "reset", "Reset it", "panel", 10.0, 0.0, frozenset({"trip"}), 1.0, caller_safe=True
    )
    part = RepairModel("part", "Put in the part", "unit", 20.0, 30.0, frozenset({"dead"}), 1.0)
    return Family(
        tuple(World(frozenset({n}), frozenset({n}), 0) for n in ("trip", "dead")),
        np.log(np.array([tripped, 1.0 - tripped])),
        ({},),
        {"asked": asked},
        {"reset": reset, "part": part},
        {"panel": PlaceModel("panel", "Panel", 2.0), "unit": PlaceModel("unit", "Unit", 2.0)},
        {},
        1.0,
        500.0,
        proof_minutes=2.0,
        dispatch_minutes=40.0,
    )


def first(family: Family, belief: Belief | None = None) -> str:
    """Return the first step on the phone."""
    done = frozenset({"asked"}) if belief is not None else frozenset()
    return plan(family, belief or Belief.prior(family), ON_PHONE.with_done(done), 1).steps[0].target


def test_a_cheap_question_comes_before_the_try_it_would_rule_out() -> None:
    family = tripped_or_not(1.0)
    assert first(family) == "asked"
    prior = Belief.prior(family)
    assert first(family, prior.observe(Reading("asked", "tripped", reporter="caller"))) == "reset"
    assert first(family, prior.observe(Reading("asked", "on", reporter="caller"))) == GO


def test_a_question_dearer_than_the_try_is_left_out() -> None:
    assert first(tripped_or_not(30.0)) == "reset"


@pytest.mark.parametrize(
    ("tripped", "pays"), [(0.1, True), (0.35, True), (0.8, True), (0.95, False)]
)
def test_asking_first_pays_while_the_answer_is_open(tripped: float, pays: bool) -> None:
    family = tripped_or_not(1.0, tripped)
    steps = {s.target: s.total_cost for s in plan(family, Belief.prior(family), ON_PHONE, 9).steps}
    at_once = min(steps["reset"], steps[GO])
    assert (steps["asked"] < at_once) == pays
    assert steps["asked"] <= at_once + 1.0 + 1e-6
