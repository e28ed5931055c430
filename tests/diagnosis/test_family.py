"""The compiled family answers what worlds hold, and refuses to contradict itself."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from catchpan.diagnosis.worlds.family import BadFamily, NumericReading, likelihood_table

if TYPE_CHECKING:
    from collections.abc import Callable

    from catchpan.diagnosis.worlds.family import Family


def test_membership_says_which_world_holds_which_condition(three_faults: Family) -> None:
    for i, world in enumerate(three_faults.worlds):
        held = {
            c for c, m in zip(three_faults.conditions, three_faults.membership[i], strict=True) if m
        }
        assert held == world.conditions


def test_the_family_is_closed_under_repair_and_says_where_it_leads(three_faults: Family) -> None:
    for fixes in ({"a"}, {"b"}, {"c"}, {"a", "c"}):
        targets = three_faults.targets(frozenset(fixes))
        for i, world in enumerate(three_faults.worlds):
            assert three_faults.worlds[targets[i]].conditions == world.conditions - fixes


def without_sound_world(family: Family) -> Family:
    kept = [i for i, w in enumerate(family.worlds) if w.conditions]
    worlds = tuple(family.worlds[i] for i in kept)
    return replace(family, worlds=worlds, log_prior=family.log_prior[kept], checks={})


def test_an_absent_target_is_stood_in_for_by_the_world_most_like_it(three_faults: Family) -> None:
    open_family = without_sound_world(three_faults)
    stand_in = open_family.after_repair(0, frozenset({"a"}))
    assert stand_in is not None
    assert not open_family.worlds[stand_in].roots


def test_a_target_with_roots_nobody_holds_is_absent(three_faults: Family) -> None:
    both = [i for i, w in enumerate(three_faults.worlds) if len(w.roots) > 1]
    family = replace(
        three_faults,
        worlds=tuple(three_faults.worlds[i] for i in both),
        log_prior=three_faults.log_prior[both],
        checks={},
    )
    assert family.after_repair(0, family.worlds[0].roots) is None
    assert (family.targets(family.worlds[0].roots) == -1).any()


def test_latent_defects_do_not_keep_the_system_from_working(three_faults: Family) -> None:
    working = {
        w.conditions for w, ok in zip(three_faults.worlds, three_faults.works, strict=True) if ok
    }
    assert working == {frozenset(), frozenset({"d"})}


def test_the_world_outside_the_library_finds_every_answer_equally_likely(
    three_faults: Family,
) -> None:
    check = three_faults.checks["hum"]
    skewed = replace(check, table=np.tile(np.array([[1.0, 0.0]], dtype=np.float32), (9, 1)))
    table = likelihood_table(three_faults, skewed)
    assert table[-1] == pytest.approx([0.5, 0.5])
    assert table.min() > 0.0
    assert table.sum(axis=1) == pytest.approx(np.ones(9), abs=1e-15)


def test_the_span_of_an_instrument_follows_from_what_it_may_show() -> None:
    mean = np.array([10.0, np.inf, 50.0, 900.0])
    dead = np.array([False, False, False, True])
    reading = NumericReading(mean, np.full(4, 2.0), dead)
    assert reading.span_si == pytest.approx(56.0)
    assert replace(reading, low_si=-10.0, high_si=30.0).span_si == pytest.approx(40.0)


def test_contradictions_are_named(three_faults: Family) -> None:
    hum, fix = three_faults.checks["hum"], three_faults.repairs["fix-a"]
    wrong = {
        "shape": {"checks": {"hum": replace(hum, table=hum.table[:3])}},
        "sum to 1": {"checks": {"hum": replace(hum, table=hum.table * 2)}},
        "unknown place": {"checks": {"hum": replace(hum, place="moon")}},
        "cover:attic": {"checks": {"hum": replace(hum, requires=frozenset({"cover:attic"}))}},
        "power_of'": {"repairs": {"fix-a": replace(fix, requires=frozenset({"power_of"}))}},
        "not finite": {"log_prior": np.full(9, -np.inf)},
        "the same": {"worlds": three_faults.worlds[:8] + three_faults.worlds[:1]},
        "setting": {"settings": ()},
        "success": {"repairs": {"fix-a": replace(fix, success=0.0)}},
        "caller_safe": {"repairs": {"fix-a": replace(fix, refer=True, caller_safe=True)}},
    }
    for words, change in wrong.items():
        with pytest.raises(BadFamily, match=words) as caught:
            replace(three_faults, **change)  # type: ignore[arg-type]
        assert caught.value.exit_code == 4


def test_roots_that_are_never_without_what_was_fixed_bring_it_back(
    family_of: Callable[..., Family],
) -> None:
    """No world has both roots without the trip: a reset changes nothing while they are there."""
    kinds = {"x": "root", "y": "root", "trip": "consequence", "wet": "consequence"}
    priors = {"": 0.4, "x": 0.1, "x trip": 0.2, "y trip wet": 0.1, "x y trip": 0.1}
    family = family_of({**priors, "x y trip wet": 0.1}, kinds=kinds)
    assert family.targets(frozenset({"trip"})).tolist() == [0, 1, 1, 3, 4, 5]
    assert family.targets(frozenset({"trip", "wet"})).tolist() == [0, 1, 1, 3, 4, 4]
    assert family.targets(frozenset({"x"})).tolist() == [0, 0, 0, 3, 3, 3]
