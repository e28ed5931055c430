"""The compiled family of a real system."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from catchpan.catalog.load import catalog
from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.inference.causes import rank_causes
from catchpan.diagnosis.worlds.compile_family import Size, compile_family
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import OTHER, Family

KNOWN = {
    "thermostat_power": "c_wire",
    "float_switch": "in_r",
    "aux_pan": "with_switch",
    "drain": "gravity",
    "disconnect": "plain",
    "valve_call": "o",
    "metering": "txv",
    "blower": "psc",
    "strips": "two",
    "location": "attic",
}
ATTIC = Description("heat-pump-air-handler", KNOWN, season="cooling")


FEW = Size(settings=1, pairs=0)


@cache
def known() -> Family:
    return compile_family(ATTIC, size=Size(settings=1, pairs=300))


@cache
def unknown() -> Family:
    return compile_family(
        Description("heat-pump-air-handler", season="cooling"), size=Size(settings=3, pairs=50)
    )


def test_single_roots_pairs_and_the_rest_share_the_prior() -> None:
    family = known()
    weight = np.exp(family.log_prior)
    weight /= weight.sum()
    counts = np.array([len(w.roots) for w in family.worlds])
    other = np.array([OTHER in w.conditions for w in family.worlds])
    assert weight[other].sum() == pytest.approx(0.03)
    assert 0.02 < weight[counts == 2].sum() < 0.15
    assert weight[(counts == 1) & ~other].sum() > 0.75
    assert (counts[~other] <= 2).all()


def test_a_furnace_fault_alone_is_seldom_why_somebody_calls_in_summer() -> None:
    summer = compile_family(
        Description("air-conditioner-condensing-furnace", {}, season="cooling"), size=FEW
    )
    winter = compile_family(
        Description("air-conditioner-condensing-furnace", {}, season="heating"), size=FEW
    )
    assert gas_alone(summer) < 0.15 * gas_alone(winter)


def gas_alone(family: Family) -> float:
    weight = np.exp(family.log_prior)
    alone = [len(w.roots) == 1 and min(w.roots).startswith("gas/") for w in family.worlds]
    return float(weight[alone].sum() / weight.sum())


def test_every_world_with_two_roots_leaves_a_world_when_one_is_mended() -> None:
    family = known()
    for i, world in enumerate(family.worlds):
        if len(world.roots) == 2:
            first = min(world.roots)
            assert family.targets(frozenset({first}))[i] >= 0


def test_tables_are_probabilities() -> None:
    for check in known().checks.values():
        np.testing.assert_allclose(check.table.sum(axis=1), 1.0, atol=1e-4)
        assert (check.table > 0.0).all(), check.id


def test_known_options_are_not_asked_for() -> None:
    asked = {c for c in known().checks if c.startswith("option/")}
    data = catalog()
    assert not any(data.checks[c].observe.of in KNOWN for c in asked)


def test_a_check_a_setting_does_not_have_answers_there_is_none() -> None:
    family = unknown()
    absent = [c for c in family.checks.values() if c.outcomes[-1].id == "absent"]
    assert absent
    for check in absent:
        assert check.table[:, -1].max() > 0.9


def test_a_plugged_trap_under_a_float_in_r_blanks_the_thermostat() -> None:
    belief = Belief.prior(known())
    before = drain_share(belief)
    blank = Reading("complaint/thermostat-blank", "blank", reporter="caller")
    assert drain_share(belief.observe(blank)) > 2.0 * before
    assert drain_share(belief.observe(replace(blank, outcome_id="lit"))) < before


def drain_share(belief: Belief) -> float:
    return sum(c.probability for c in rank_causes(belief).roots if c.id.startswith("drain/"))


def test_the_same_description_compiles_to_the_same_family() -> None:
    again = compile_family(ATTIC, size=Size(settings=1, pairs=300))
    assert again.worlds == known().worlds
    np.testing.assert_array_equal(again.log_prior, known().log_prior)
    for name, check in again.checks.items():
        np.testing.assert_array_equal(check.table, known().checks[name].table)


def test_a_unit_too_large_is_a_world_in_which_the_house_is_cool_but_damp() -> None:
    family = known()
    mine = [
        w for w, world in enumerate(family.worlds) if world.roots == {"refrigerant/unit-too-large"}
    ]
    assert mine
    assert family.working is not None
    assert not family.working[mine].any()
    belief = Belief.prior(family).observe_all(
        [Reading("complaint/clammy", "yes"), Reading("history/running-time", "short")]
    )
    assert rank_causes(belief).leading.id == "refrigerant/unit-too-large"
