"""Readings that do not fit together are found, and rare faults are not mistaken for them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.inference.conflict import find_conflict, surprise
from catchpan.diagnosis.worlds.family import OTHER, CheckModel, Family, Outcome, PlaceModel, World

if TYPE_CHECKING:
    from collections.abc import Callable

YES, NO = [0.999, 0.001], [0.001, 0.999]


@pytest.fixture
def sharp(family_of: Callable[..., Family], check_of: Callable[..., CheckModel]) -> Family:
    """Four faults; k0..k3 each say yes to one fault alone, "any" to every one of them."""
    priors = {f"f{i}": p for i, p in enumerate((0.6, 0.29, 0.1, 0.0001))} | {OTHER: 0.0099}
    checks = [
        check_of(f"k{j}", [YES if i == j else NO for i in range(4)] + [[0.5, 0.5]], minutes=j + 1.0)
        for j in range(4)
    ]
    checks.append(check_of("any", [YES] * 4 + [[0.5, 0.5]]))
    return family_of(priors, checks)


def read(family: Family, *pairs: tuple[str, str]) -> Belief:
    return Belief.prior(family).observe_all(Reading(c, o) for c, o in pairs)


def test_readings_that_fit_are_left_alone(sharp: Family) -> None:
    assert find_conflict(Belief.prior(sharp)) is None
    assert find_conflict(read(sharp, ("k0", "o0"))) is None
    assert find_conflict(read(sharp, ("k0", "o0"), ("k1", "o1"), ("any", "o0"))) is None


def test_a_rare_fault_is_no_conflict(sharp: Family) -> None:
    belief = read(sharp, ("k0", "o1"), ("k1", "o1"), ("k2", "o1"), ("k3", "o0"))
    assert find_conflict(belief) is None
    assert belief.probabilities()[:4].argmax() == 3


def test_two_answers_for_two_different_single_faults_conflict(sharp: Family) -> None:
    conflict = find_conflict(read(sharp, ("k2", "o0"), ("k1", "o0"), ("any", "o0")))
    assert conflict is not None
    assert {s.reading.check_id for s in conflict.suspects} == {"k1", "k2"}
    against = {s.position: s.against for s in conflict.suspects}
    assert against == {0: (1,), 1: (0,)}


def test_the_cheapest_suspect_is_to_be_repeated(sharp: Family) -> None:
    conflict = find_conflict(read(sharp, ("k2", "o0"), ("k1", "o0"), ("any", "o0")))
    assert conflict is not None
    assert conflict.repeat is not None
    assert conflict.repeat.reading.check_id == "k1"
    assert conflict.repeat.repeat_cost == pytest.approx(2.0)


def test_an_odd_reading_out_is_the_first_suspect(sharp: Family) -> None:
    belief = read(sharp, ("k0", "o0"), ("k1", "o1"), ("k2", "o1"), ("any", "o1"))
    conflict = find_conflict(belief)
    assert conflict is not None
    assert conflict.suspects[0].reading.check_id == "any"
    assert conflict.suspects[0].surprise == pytest.approx(surprise(belief, 3))


def test_surprise_is_the_log_ratio_of_the_likeliest_to_the_given_answer(sharp: Family) -> None:
    belief = read(sharp, ("k0", "o0"), ("any", "o1"))
    chance = read(sharp, ("k0", "o0")).predict("any")
    assert surprise(belief, 1) == pytest.approx(np.log(chance[0] / chance[1]))


def noisy_family(seed: int) -> Family:
    rng = np.random.default_rng(seed)
    worlds = [World(frozenset({f"w{i}"}), frozenset({f"w{i}"}), 0) for i in range(12)]
    worlds.append(World(frozenset({OTHER}), frozenset({OTHER}), 0))
    checks = {}
    for k in range(10):
        yes = np.where(rng.random(13) < 0.5, 0.9, 0.1)
        table = np.stack([yes, 1 - yes], axis=1).astype(np.float32)
        answers = (Outcome("o0", "yes"), Outcome("o1", "no"))
        checks[f"k{k}"] = CheckModel(f"k{k}", f"k{k}", "b", 1.0, answers, table)
    places = {"b": PlaceModel("b", "b", 0.0)}
    return Family(tuple(worlds), np.full(13, -2.5), ({},), checks, {}, places, {}, 1.0, 100.0)


def test_honest_noise_is_seldom_called_a_conflict() -> None:
    """Readings drawn from a world of the family itself: at most one alarm in twenty."""
    alarms = 0
    for seed in range(100):
        family, rng = noisy_family(seed), np.random.default_rng(1000 + seed)
        world = int(rng.integers(12))
        answers = [
            ("o0" if rng.random() < check.table[world, 0] else "o1")
            for check in family.checks.values()
        ]
        belief = Belief.prior(family).observe_all(
            Reading(k, a) for k, a in zip(family.checks, answers, strict=True)
        )
        alarms += find_conflict(belief) is not None
    assert alarms <= 5


@given(answers=st.lists(st.sampled_from(["o0", "o1"]), min_size=5, max_size=5))
def test_no_set_of_answers_crashes_it(answers: list[str]) -> None:
    family = noisy_family(1)
    readings = [Reading(f"k{k}", a) for k, a in enumerate(answers)]
    found = find_conflict(Belief.prior(family).observe_all(readings))
    assert found is None or found.misfit > found.expected
