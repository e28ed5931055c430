"""The belief against enumeration and against an independent exact inference library."""

from __future__ import annotations

import warnings
from itertools import combinations, permutations
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.diagnosis.inference.belief import (
    PROOF_ERROR,
    Belief,
    Reading,
    log_likelihood,
)
from catchpan.diagnosis.inference.outside import STAYS
from catchpan.diagnosis.worlds.family import (
    OTHER,
    CheckModel,
    Family,
    NumericReading,
    Outcome,
    PlaceModel,
    World,
)
from catchpan.units.errors import BadValue, UnknownName

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # its wrapper types have no module name
    import pyagrum as gum

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from catchpan.diagnosis.worlds.family import RepairModel


def random_family(seed: int, worlds: int, checks: int, outcomes: int) -> Family:
    """Build a family without OTHER, with random tables."""
    rng = np.random.default_rng(seed)
    prior = rng.dirichlet(np.ones(worlds))
    models = {}
    for k in range(checks):
        table = rng.dirichlet(np.ones(outcomes), worlds).astype(np.float32)
        answers = tuple(Outcome(f"o{j}", f"o{j}") for j in range(outcomes))
        table = np.maximum(table, np.float32(1e-3))
        models[f"k{k}"] = CheckModel(
            f"k{k}", f"k{k}", "bench", 1.0, answers, table / table.sum(1)[:, None]
        )
    names = [World(frozenset({f"w{i}"}), frozenset({f"w{i}"}), 0) for i in range(worlds)]
    place = PlaceModel("bench", "the bench", 0.0)
    return Family(tuple(names), np.log(prior), ({},), models, {}, {"bench": place}, {}, 1.0, 100.0)


def posterior_by_library(family: Family, readings: list[Reading]) -> NDArray[np.float64]:
    """Exact posterior of the hypothesis variable by lazy propagation in a naive Bayes net."""
    library: Any = gum
    net = library.BayesNet()
    net.add(library.LabelizedVariable("H", "H", len(family.worlds)))
    net.cpt("H")[:] = np.exp(family.log_prior)
    for check in family.checks.values():
        net.add(library.LabelizedVariable(check.id, check.id, len(check.outcomes)))
        net.addArc("H", check.id)
        table = check.table.astype(np.float64)
        net.cpt(check.id)[:] = table / table.sum(axis=1, keepdims=True)
    engine = library.LazyPropagation(net)
    columns = {
        r.check_id: family.checks[r.check_id].outcome_index(str(r.outcome_id)) for r in readings
    }
    engine.setEvidence(columns)
    engine.makeInference()
    return np.array(engine.posterior("H").toarray(), dtype=np.float64)


@pytest.mark.parametrize("seed", range(8))
def test_posterior_equals_the_one_of_an_independent_inference_library(seed: int) -> None:
    """Reference: pyAgrum, lazy propagation in the equivalent naive Bayes net."""
    rng = np.random.default_rng(100 + seed)
    family = random_family(seed, worlds=40, checks=12, outcomes=3)
    chosen = rng.choice(12, size=7, replace=False)
    readings = [Reading(f"k{k}", f"o{rng.integers(3)}") for k in chosen]
    ours = Belief.prior(family).observe_all(readings).probabilities()
    assert ours == pytest.approx(posterior_by_library(family, readings), abs=1e-9)


@given(seed=st.integers(0, 10_000), answers=st.lists(st.integers(0, 2), min_size=1, max_size=5))
def test_posterior_equals_enumeration_by_bayes_rule(seed: int, answers: list[int]) -> None:
    family = random_family(seed, worlds=6, checks=5, outcomes=3)
    readings = [Reading(f"k{k}", f"o{a}") for k, a in enumerate(answers)]
    weights = np.exp(family.log_prior)
    for k, a in enumerate(answers):
        table = family.checks[f"k{k}"].table.astype(np.float64)
        weights = weights * table[:, a] / table.sum(axis=1)
    ours = Belief.prior(family).observe_all(readings).probabilities()
    assert ours == pytest.approx(weights / weights.sum(), abs=1e-12)
    assert ours.sum() == pytest.approx(1.0, abs=1e-12)


def test_order_of_readings_does_not_matter() -> None:
    family = random_family(3, worlds=9, checks=4, outcomes=3)
    readings = [Reading(f"k{k}", f"o{k % 3}") for k in range(4)] + [Reading("k0", "o2")]
    start = Belief.prior(family)
    first = start.observe_all(readings).log_weights
    for order in permutations(readings):
        belief = start
        for reading in order:
            belief = belief.observe(reading)
        assert np.abs(belief.log_weights - first).max() <= 1e-12


def test_repeating_the_same_answer_adds_no_weight(three_faults: Family) -> None:
    once = Belief.prior(three_faults).observe(Reading("hum", "o0"))
    twice = once.observe(Reading("hum", "o0"))
    assert twice.probabilities() == pytest.approx(once.probabilities(), abs=1e-12)


def test_unknown_names_and_empty_readings_are_explained(three_faults: Family) -> None:
    belief = Belief.prior(three_faults)
    with pytest.raises(UnknownName, match="hun"):
        belief.observe(Reading("hun", "o0"))
    with pytest.raises(UnknownName, match="o7"):
        belief.observe(Reading("hum", "o7"))
    with pytest.raises(BadValue, match="no number"):
        belief.observe(Reading("hum"))
    with pytest.raises(BadValue, match="words"):
        belief.observe(Reading("hum", value_si=3.0))
    with pytest.raises(UnknownName, match="fix-z"):
        belief.repair_tried("fix-z", worked=True)


def test_the_world_outside_the_library_wins_when_nothing_else_explains_it_time_and_again(
    family_of: Callable[..., Family],
    check_of: Callable[..., CheckModel],
    repair_of: Callable[..., RepairModel],
) -> None:
    """One moment may be a mistake of whoever read; not every moment is."""
    sure = [[0.999, 0.001], [0.999, 0.001], [0.5, 0.5]]
    checks = [check_of(f"k{i}", sure, phone=True) for i in range(3)]
    family = family_of({"a": 0.6, "b": 0.39, OTHER: 0.01}, checks, [repair_of("fix-a", "a", 9.0)])
    belief = Belief.prior(family).observe_all(Reading(f"k{i}", "o1") for i in range(3))
    tried = belief.repair_tried("fix-a", worked=False, success=0.0)
    again = tried.observe_all(Reading(f"k{i}", "o1") for i in range(3))
    called = Belief.prior(family).observe(Reading("k0", "o1", reporter="caller"))
    both = called.observe_all(Reading(f"k{i}", "o1") for i in range(1, 3))
    odds = [float(b.probabilities()[2] / b.probabilities()[:2].sum()) for b in (belief, both)]
    assert odds == pytest.approx([0.1 / 0.99, 1.0 / 0.99], rel=1e-5), "tenfold for each moment"
    assert again.probabilities()[2] == pytest.approx(0.1 / (0.1 + 0.99 / 10.0), abs=0.01)
    tried = again.repair_tried("fix-a", worked=False, success=0.0)
    last = tried.observe_all(Reading(f"k{i}", "o1") for i in range(3))
    assert last.probabilities()[2] > 0.9


def test_outside_the_library_a_look_made_again_after_a_repair_is_no_new_witness(
    three_faults: Family,
) -> None:
    """What no repair touched shows what it showed before; only another answer speaks again."""
    first = Belief.prior(three_faults).observe(Reading("hum", "o0"))
    again = first.repair_tried("fix-a", None, success=0.0).observe(Reading("hum", "o0"))
    even, stays = (1.0 - STAYS) / 2, STAYS
    rows = {"a": 0.9, "none": even + stays}
    before = first.probabilities()
    odds = (before[1] * rows["a"]) / (before[-1] * rows["none"])
    after = again.probabilities()
    assert after[1] / after[-1] == pytest.approx(odds)
    changed = first.repair_tried("fix-a", None, success=0.0).observe(Reading("hum", "o1"))
    after = changed.probabilities()
    assert after[1] / after[-1] == pytest.approx(before[1] * 0.1 / (before[-1] * even), rel=1e-5)


def test_a_caller_weighs_less_than_a_technician_at_the_unit(three_faults: Family) -> None:
    caller = log_likelihood(three_faults, Reading("hum", "o0", reporter="caller"))
    expert = log_likelihood(three_faults, Reading("hum", "o0"))
    assert np.ptp(caller) < np.ptp(expert)


def numeric_family(mean: list[float], sd: float, dead: list[bool]) -> Family:
    names = ["a", "b", "c", OTHER]
    worlds = tuple(World(frozenset({c}), frozenset({c}), 0) for c in names)
    numeric = NumericReading(
        np.array(mean), np.full(4, sd), np.array(dead), low_si=0.0, high_si=100.0
    )
    outcomes = (Outcome("low", "low", None, 50.0), Outcome("high", "high", 50.0, None))
    table = np.full((4, 2), 0.5, dtype=np.float32)
    check = CheckModel("v", "v", "bench", 1.0, outcomes, table, numeric)
    place = PlaceModel("bench", "the bench", 0.0)
    prior = np.log(np.full(4, 0.25))
    return Family(worlds, prior, ({},), {"v": check}, {}, {"bench": place}, {}, 1.0, 100.0)


def test_a_value_is_weighed_by_its_density_not_by_its_bin() -> None:
    family = numeric_family([10.0, 40.0, 90.0, 50.0], 5.0, [False] * 4)
    chance = Belief.prior(family).observe(Reading("v", value_si=12.0)).probabilities()
    bell = np.exp(-0.5 * np.array([0.4, 5.6, 15.6]) ** 2) / (5.0 * np.sqrt(2 * np.pi))
    density = np.append(0.98 * bell + 0.02 / 100.0, 1.0 / 100.0)
    assert chance == pytest.approx(density / density.sum(), abs=1e-12)


def test_a_wider_instrument_convinces_less() -> None:
    family = numeric_family([10.0, 40.0, 90.0, 50.0], 5.0, [False] * 4)
    start = Belief.prior(family)
    sharp = start.observe(Reading("v", value_si=12.0)).probabilities()[0]
    blunt = start.observe(Reading("v", value_si=12.0, sd_si=30.0)).probabilities()[0]
    assert blunt < sharp


def test_over_limit_and_far_out_values_never_crash() -> None:
    family = numeric_family([10.0, np.inf, 90.0, 50.0], 5.0, [False, False, True, False])
    start = Belief.prior(family)
    for value in (np.inf, -np.inf, 1e12, -1e12, 0.0):
        chance = start.observe(Reading("v", value_si=value)).probabilities()
        assert np.isfinite(chance).all()
        assert chance.sum() == pytest.approx(1.0)
    open_circuit = start.observe(Reading("v", value_si=np.inf)).probabilities()
    assert open_circuit.argmax() == 1


def test_a_repair_maps_worlds_to_worlds(three_faults: Family) -> None:
    before = Belief.prior(three_faults).probabilities()
    after = Belief.prior(three_faults).repair_tried("fix-a", worked=None, success=1.0)
    expected = before.copy()
    expected[[1, 3, 4]] = 0.0  # a, a b, a c
    expected[0] += before[1]
    expected[2] += before[3]
    expected[5] += before[4]
    assert after.probabilities() == pytest.approx(expected, abs=1e-12)
    assert after.unmapped == 0.0


def test_a_repair_that_works_leaves_hardly_any_fault(three_faults: Family) -> None:
    tried = Belief.prior(three_faults).repair_tried("fix-a", worked=True, success=1.0)
    moved = Belief.prior(three_faults).repair_tried("fix-a", worked=None, success=1.0)
    works = moved.probabilities()[three_faults.works].sum()
    right, wrong = (1 - PROOF_ERROR) * works, PROOF_ERROR * (1 - works)
    found = tried.probabilities()[three_faults.works].sum()
    assert found == pytest.approx(right / (right + wrong), abs=1e-12)


def test_readings_before_a_repair_stay_evidence_about_the_state_before(
    three_faults: Family,
) -> None:
    wet = Belief.prior(three_faults).observe(Reading("wet", "o0"))
    after = wet.repair_tried("fix-a", worked=False)
    assert after.readings == ()
    assert after.earlier == (Reading("wet", "o0"),)
    left_behind = three_faults.index[frozenset({"c"}), 0]
    assert after.probabilities().argmax() == left_behind


def test_a_target_outside_the_family_is_counted_not_hidden(
    family_of: Callable[..., Family], repair_of: Callable[..., object]
) -> None:
    family = family_of({"a b": 0.5, "b c": 0.4, OTHER: 0.1}, repairs=[repair_of("fix-a", "a", 1.0)])
    after = Belief.prior(family).repair_tried("fix-a", worked=None, success=1.0)
    assert after.unmapped == pytest.approx(0.5)
    assert after.probabilities() == pytest.approx([0.0, 0.4, 0.6], abs=1e-12)


@pytest.mark.published("de-kleer-williams-1987", "polybox, p = .01, F = 10 and G = 12, recomputed")
def test_polybox_diagnoses_and_their_shares(
    family_of: Callable[..., Family], check_of: Callable[..., CheckModel]
) -> None:
    """Conflicts <A1 M1 M2> and <A1 A2 M1 M3>: 27 of 32 sets explain it; [A1], [M1] .47803 each.

    A set that hits both conflicts allows the readings; any other predicts something else. The
    floor under every likelihood leaves the five excluded sets a share below 1e-4.
    """
    parts = ("A1", "A2", "M1", "M2", "M3")
    sets = [frozenset(s) for n in range(6) for s in combinations(parts, n)]
    explains = [bool(s & {"A1", "M1", "M2"}) and bool(s & {"A1", "A2", "M1", "M3"}) for s in sets]
    assert sum(explains) == 27
    priors = {" ".join(sorted(s)): 0.01 ** len(s) * 0.99 ** (5 - len(s)) for s in sets}
    seen = check_of("F,G", [[1.0, 0.0] if ok else [0.0, 1.0] for ok in explains])
    belief = Belief.prior(family_of(priors, [seen])).observe(Reading("F,G", "o0"))
    share = dict(zip(priors, belief.probabilities(), strict=True))
    assert share["A1"] == pytest.approx(0.47803, abs=1e-4)
    assert share["M1"] == pytest.approx(share["A1"], rel=1e-9)
    assert sum(p for p, ok in zip(share.values(), explains, strict=True) if not ok) < 1e-4


def test_running_the_system_keeps_the_readings_and_weighs_the_verdict(three_faults: Family) -> None:
    wet = Belief.prior(three_faults).observe(Reading("wet", "o0"))
    ran = wet.system_tried(worked=False)
    assert ran.readings == wet.readings
    assert (wet.verdict, ran.verdict) == (None, False)
    before, after = wet.probabilities(), ran.probabilities()
    works = three_faults.works
    odds = before[works].sum() / before[~works].sum() * PROOF_ERROR / (1 - PROOF_ERROR)
    assert after[works].sum() / after[~works].sum() == pytest.approx(odds, rel=1e-9)
