"""Hard rules: what must come before what, whatever the costs say."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.planning.planner import Situation, next_steps
from catchpan.diagnosis.planning.safety_order import DISCHARGE, SWITCH_OFF, SWITCH_ON, prepare
from catchpan.diagnosis.worlds.family import (
    DISCHARGED,
    POWER_OFF,
    POWER_ON,
    BadFamily,
    CheckModel,
    Family,
    Outcome,
    PlaceModel,
    RepairModel,
    World,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from catchpan.diagnosis.planning.situation import Step

UNIT = PlaceModel("unit", "the outdoor unit", 3.0, {"panel": 2.0})
TOKENS = [POWER_OFF, POWER_ON, DISCHARGED, "cover:panel", "call:cool"]


@pytest.fixture
def live(
    family_of: Callable[..., Family],
    check_of: Callable[..., CheckModel],
    repair_of: Callable[..., RepairModel],
) -> Family:
    """A capacitor fault and a winding fault behind one panel."""
    rows = [[0.9, 0.1], [0.1, 0.9], [0.2, 0.8]]
    behind = frozenset({"cover:panel"})
    checks = [
        check_of("ohms", rows, place="unit", requires=behind | {POWER_OFF}),
        check_of("farads", rows, place="unit", requires=behind | {DISCHARGED}),
        check_of("volts", rows, place="unit", requires=behind | {POWER_ON, "call:cool"}),
        check_of("smell", rows, phone=True, danger=(0,)),
    ]
    repairs = [
        repair_of("new-cap", "cap", 40.0, place="unit", requires=behind | {DISCHARGED}),
        repair_of("leak", "leak", 400.0, place="unit", refer=True),
    ]
    priors = {"cap": 0.5, "leak": 0.3, "": 0.2}
    return family_of(priors, checks, repairs, [UNIT, PlaceModel("bench", "the bench", 0.0)])


def bare() -> Family:
    """One fault that a caller may put right, one look, one unit with a panel."""
    worlds = tuple(World(frozenset(c), frozenset(c), 0) for c in ({"off"}, set[str]()))
    answers = (Outcome("y", "yes"), Outcome("n", "no"))
    table = np.array([[0.9, 0.1], [0.1, 0.9]], dtype=np.float32)
    look = CheckModel("look", "look", "unit", 1.0, answers, table, phone=True)
    flip = RepairModel("flip", "flip", "unit", 1.0, 0.0, frozenset({"off"}), 0.9, caller_safe=True)
    prior = np.log([0.5, 0.5])
    return Family(
        worlds, prior, ({},), {"look": look}, {"flip": flip}, {"unit": UNIT}, {}, 1.0, 200.0
    )


def steps_of(family: Family, where: Situation, belief: Belief | None = None) -> dict[str, Step]:
    found = next_steps(family, belief or Belief.prior(family), where, 50)
    return {s.target: s for s in found}


def test_work_that_needs_the_power_off_starts_by_proving_it_dead(live: Family) -> None:
    steps = steps_of(live, Situation("unit"))
    for target in ("ohms", "farads", "new-cap"):
        assert SWITCH_OFF in steps[target].first
    off = steps_of(live, Situation("unit", power_off=True))
    assert SWITCH_OFF not in off["ohms"].first


def test_stored_charge_is_taken_off_after_the_power_and_after_opening(live: Family) -> None:
    first = steps_of(live, Situation("unit"))["new-cap"].first
    assert first == (SWITCH_OFF, "open panel", DISCHARGE)


def test_charge_is_taken_off_again_each_time(live: Family) -> None:
    again = Situation("unit", opened=frozenset({"panel"}), power_off=True)
    assert steps_of(live, again)["farads"].first == (DISCHARGE,)


def test_a_live_measurement_after_dead_work_switches_on_again(live: Family) -> None:
    after = Situation("unit", opened=frozenset({"panel"}), power_off=True)
    assert steps_of(live, after)["volts"].first == (SWITCH_ON, "set the thermostat to cool")


@given(requires=st.sets(st.sampled_from(TOKENS)), off=st.booleans(), opened=st.booleans())
def test_no_preparation_ends_with_hands_on_live_or_charged_parts(
    requires: set[str], off: bool, opened: bool
) -> None:
    family = bare()
    where = Situation("unit", opened=frozenset({"panel"} if opened else ()), power_off=off)
    ready = prepare(family, where, "unit", frozenset(requires))
    if requires & {POWER_OFF, DISCHARGED}:
        assert ready.after.power_off
        assert off or SWITCH_OFF in ready.acts
    if DISCHARGED in requires:
        assert DISCHARGE in ready.acts
        if not off:
            assert ready.acts.index(SWITCH_OFF) < ready.acts.index(DISCHARGE)


def test_a_check_that_wants_the_power_both_on_and_off_is_never_proposed(live: Family) -> None:
    both = replace(live.checks["ohms"], requires=frozenset({POWER_OFF, POWER_ON}))
    family = replace(live, checks={**live.checks, "ohms": both})
    assert "ohms" not in steps_of(family, Situation("unit"))


def test_danger_leaves_only_leaving_and_handing_over(live: Family) -> None:
    smelt = Belief.prior(live).observe(Reading("smell", "o0"))
    for where in (Situation("unit"), Situation(on_phone=True)):
        found = next_steps(live, smelt, where, 50)
        assert [s.kind for s in found] == ["stop", "refer"]
        assert "everyone out" in found[0].first[0]


def test_danger_stands_after_a_repair_until_the_reading_is_withdrawn(live: Family) -> None:
    smelt = Belief.prior(live).observe(Reading("smell", "o0"))
    later = smelt.repair_tried("new-cap", worked=True).observe(Reading("smell", "o1"))
    assert next_steps(live, later, Situation("unit"), 1)[0].kind == "stop"
    withdrawn = smelt.without(0)
    assert next_steps(live, withdrawn, Situation("unit"), 1)[0].target != "danger"


def test_a_number_in_a_dangerous_range_is_danger_too(live: Family) -> None:
    ppm = (Outcome("fine", "fine", None, 9e-6), Outcome("bad", "bad", 9e-6, None, danger=True))
    meter = replace(live.checks["smell"], id="ppm", outcomes=ppm)
    family = replace(live, checks={**live.checks, "ppm": meter})
    bad = Belief.prior(family).observe(Reading("ppm", value_si=7e-5))
    assert next_steps(family, bad, Situation("unit"), 1)[0].kind == "stop"
    fine = Belief.prior(family).observe(Reading("ppm", value_si=2e-6))
    assert next_steps(family, fine, Situation("unit"), 1)[0].target != "danger"


def test_work_to_be_referred_is_a_referral_on_site_and_unheard_of_on_the_phone(
    live: Family,
) -> None:
    assert steps_of(live, Situation("unit"))["leak"].kind == "refer"
    assert "leak" not in steps_of(live, Situation(on_phone=True))


@given(extra=st.sets(st.sampled_from(TOKENS[:4]), min_size=1))
def test_a_caller_is_never_sent_behind_a_cover_or_to_the_breaker(extra: set[str]) -> None:
    family = bare()
    base = family.repairs["flip"]
    risky = replace(base, requires=frozenset(extra))
    checks = {"look": replace(family.checks["look"], requires=frozenset(extra))}
    changed = replace(family, repairs={"flip": risky}, checks=checks)
    offered = steps_of(changed, Situation(on_phone=True))
    allowed = not extra & {POWER_OFF, DISCHARGED, "cover:panel"}
    assert ("flip" in offered) == allowed
    assert ("look" in offered) == allowed


def test_a_repair_that_defeats_a_safety_device_is_refused_with_the_family(live: Family) -> None:
    jumper = replace(live.repairs["new-cap"], id="jumper", defeats_safety=True)
    with pytest.raises(BadFamily, match="jumper"):
        replace(live, repairs={**live.repairs, "jumper": jumper})


def test_on_the_phone_questions_about_danger_come_first_whatever_they_cost(live: Family) -> None:
    calm = (Outcome("o0", "yes"), Outcome("o1", "no"))
    dear = replace(live.checks["smell"], minutes=500.0)
    quick = replace(live.checks["smell"], id="hum", minutes=0.1, outcomes=calm)
    family = replace(live, checks={**live.checks, "smell": dear, "hum": quick})
    phone = Situation(on_phone=True)
    assert next_steps(family, Belief.prior(family), phone, 1)[0].target == "smell"
    asked = Belief.prior(family).observe(Reading("smell", "o1"))
    later = replace(phone, done=frozenset({"smell"}))
    assert next_steps(family, asked, later, 1)[0].target != "smell"


def test_danger_dealt_with_on_site_lets_the_work_go_on_but_not_on_the_phone(live: Family) -> None:
    smelt = Belief.prior(live).observe(Reading("smell", "o0"))
    site = Situation("unit", cleared=frozenset({"smell"}))
    assert next_steps(live, smelt, site, 1)[0].target != "danger"
    phone = Situation(on_phone=True, cleared=frozenset({"smell"}))
    assert next_steps(live, smelt, phone, 1)[0].target == "danger"


def test_looking_for_danger_does_not_seem_dearer_than_looking_for_anything_else(
    live: Family,
) -> None:
    smell = live.checks["smell"]
    calm = replace(smell, outcomes=tuple(replace(o, danger=False) for o in smell.outcomes))
    plain = replace(live, checks={**live.checks, "smell": calm})
    here = Situation("unit")
    marked = steps_of(live, here)["smell"].total_cost
    assert marked == pytest.approx(steps_of(plain, here)["smell"].total_cost)
