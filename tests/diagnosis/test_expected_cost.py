"""The price of repairing on, against enumeration of all orders and against printed values."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, permutations
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.diagnosis.planning.expected_cost import (
    Tail,
    entropy_bits,
    free_repairs,
    openings,
    revealed_cost,
    tail_cost,
)
from catchpan.diagnosis.planning.need import need_table
from catchpan.diagnosis.planning.situation import Situation
from catchpan.diagnosis.worlds.family import Family, PlaceModel, RepairModel, World

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

BENCH = PlaceModel("bench", "the bench", 0.0)


def price(family: Family, masses: NDArray[np.float64], where: Situation) -> Tail:
    """Price rows of world masses in one situation."""
    needs = need_table(family)
    rows = np.zeros((len(masses), len(needs.sets)))
    for i, row in enumerate(masses):
        np.add.at(rows[i], needs.of_world, row)
    places = [where] * len(masses)
    return tail_cost(needs, rows, openings(family, places), free_repairs(needs, places))


def prior(family: Family) -> NDArray[np.float64]:
    weights: NDArray[np.float64] = np.exp(family.log_prior)
    weights /= weights.sum()
    return weights


def walked(family: Family, order: Sequence[str], start: str, *, once: bool = False) -> float:
    """Expected cost of doing repairs in that order, world by world, then calling back.

    ``once``: a place is paid for once; otherwise whenever one comes from another place.
    """
    total = 0.0
    for world, chance in zip(family.worlds, prior(family), strict=True):
        left, spent, seen = set(world.conditions), 0.0, {start}
        for repair_id in order:
            if not left:
                break
            repair = family.repairs[repair_id]
            needed = {repair.place} | {r.removeprefix("cover:") for r in repair.requires}
            for fresh in sorted(needed - seen):
                spent += opening_price(family, fresh)
            seen = (seen if once else seen - family.places.keys()) | needed
            spent += repair.dollars
            left -= repair.fixes
        total += chance * (spent + (family.call_back_dollars if left else 0.0))
    return total


def opening_price(family: Family, thing: str) -> float:
    if thing in family.places:
        return family.places[thing].travel_minutes
    return next(p.covers[thing] for p in family.places.values() if thing in p.covers)


def small_family(seed: int, call_back: float, *, pairs: bool = False) -> Family:
    rng = np.random.default_rng(seed)
    names = [f"f{i}" for i in range(5)]
    sets = [frozenset({n}) for n in names]
    sets += [frozenset(p) for p in combinations(names, 2)] if pairs else []
    places = {
        "x": PlaceModel("x", "x", float(rng.uniform(1, 9)), {"lid": float(rng.uniform(1, 6))}),
        "y": PlaceModel("y", "y", float(rng.uniform(1, 9))),
    }
    repairs = {}
    for i, name in enumerate(names):
        place = "x" if i < 3 else "y"
        behind = frozenset({"cover:lid"}) if i in (1, 2) else frozenset[str]()
        repairs[f"r{i}"] = RepairModel(
            f"r{i}", f"r{i}", place, 0.0, float(rng.uniform(1, 20)), frozenset({name}), 1.0,
            requires=behind,
        )  # fmt: skip
    return Family(
        tuple(World(s, s, 0) for s in sets), np.log(rng.dirichlet(np.ones(len(sets)))), ({},), {},
        repairs, places, {}, 1.0, call_back, proof_minutes=0.0,
    )  # fmt: skip


@given(seed=st.integers(0, 5000))
def test_one_fault_in_blocks_of_places_and_covers_is_repaired_in_the_best_order(seed: int) -> None:
    """Block ordering is optimal here: Ottosen & Jensen, UAI 2010; by enumeration of 5! orders."""
    family = small_family(seed, call_back=1e6)
    found = price(family, prior(family)[None, :], Situation("nowhere"))
    ids = sorted(family.repairs)
    ours = walked(family, [ids[j] for j in found.order[0]], "nowhere", once=True)
    orders = permutations(family.repairs)
    best = min(walked(family, order, "nowhere", once=True) for order in orders)
    assert ours == pytest.approx(best, rel=1e-9)


@given(seed=st.integers(0, 5000), pairs=st.booleans(), call_back=st.floats(5.0, 80.0))
def test_the_price_is_the_cost_of_walking_the_order_it_names(
    seed: int, pairs: bool, call_back: float
) -> None:
    family = small_family(seed, call_back, pairs=pairs)
    found = price(family, prior(family)[None, :], Situation("x"))
    ids = sorted(family.repairs)
    order = [ids[j] for j in found.order[0][: found.count[0]]]
    assert found.cost[0] == pytest.approx(walked(family, order, "x"), rel=1e-9)
    lengths = [found.order[0][:k] for k in range(len(ids) + 1)]
    shorter = min(walked(family, [ids[j] for j in part], "x") for part in lengths)
    assert found.cost[0] == pytest.approx(shorter, rel=1e-9)


@given(seed=st.integers(0, 5000), call_back=st.floats(5.0, 500.0))
def test_knowing_the_truth_never_costs_more(seed: int, call_back: float) -> None:
    family = small_family(seed, call_back, pairs=True)
    needs, here = need_table(family), [Situation("x")]
    rows = np.zeros((1, len(needs.sets)))
    np.add.at(rows[0], needs.of_world, prior(family))
    told = revealed_cost(needs, rows, openings(family, here), frozenset())
    assert told[0] <= price(family, prior(family)[None, :], here[0]).cost[0] + 1e-9


def test_the_price_scales_with_the_mass_of_the_row() -> None:
    family = small_family(7, call_back=60.0, pairs=True)
    masses = np.stack([prior(family), 0.25 * prior(family)])
    found = price(family, masses, Situation("x"))
    assert found.cost[1] == pytest.approx(0.25 * found.cost[0], rel=1e-12)


def test_a_repair_already_made_is_not_counted_on() -> None:
    family = small_family(7, call_back=1000.0)
    fresh = price(family, prior(family)[None, :], Situation("x"))
    used = price(family, prior(family)[None, :], Situation("x", done=frozenset({"r0"})))
    assert used.cost[0] > fresh.cost[0]
    assert sorted(family.repairs).index("r0") not in used.order[0][: used.count[0]]


def test_what_a_repair_misses_costs_the_call_back() -> None:
    family = small_family(11, call_back=1e4)
    weak = {k: replace(r, success=0.5) for k, r in family.repairs.items()}
    halved = replace(family, repairs=weak)
    sure = price(family, prior(family)[None, :], Situation("x")).cost[0]
    assert price(halved, prior(halved)[None, :], Situation("x")).cost[0] > sure + 0.49 * 1e4


@pytest.mark.published("ottosen-jensen-2010", "bottom-up p-over-C; instance enumerated over 7!")
def test_cluster_tree_has_the_enumerated_optimum(
    family_of: Callable[..., Family], repair_of: Callable[..., RepairModel]
) -> None:
    """Two places, one of them with a cover: b z2 z1 y1 x2 x1 a at 16.785714."""
    lid = frozenset({"cover:z"})
    repairs = [
        repair_of("a", "a", 4.0), repair_of("b", "b", 1.0),
        repair_of("x1", "x1", 5.0, place="X"), repair_of("x2", "x2", 2.0, place="X"),
        repair_of("y1", "y1", 6.0, place="Y"),
        repair_of("z1", "z1", 2.0, place="Y", requires=lid),
        repair_of("z2", "z2", 1.0, place="Y", requires=lid),
    ]  # fmt: skip
    chance = {"a": 1, "b": 9, "x1": 4, "x2": 6, "y1": 6, "z1": 7, "z2": 9}
    places = [BENCH, PlaceModel("X", "X", 6.0), PlaceModel("Y", "Y", 6.0, {"z": 5.0})]
    family = family_of({k: v / 42 for k, v in chance.items()}, (), repairs, places)
    found = price(family, prior(family)[None, :], Situation("bench"))
    order = [sorted(family.repairs)[j] for j in found.order[0]]
    assert order == ["b", "z2", "z1", "y1", "x2", "x1", "a"]
    assert found.cost[0] == pytest.approx(16.785714285714285, abs=1e-6)


@pytest.mark.published("heckerman-1995", "fig. 1")
def test_repair_tree_rolls_back_to_the_printed_values(
    family_of: Callable[..., Family], repair_of: Callable[..., RepairModel]
) -> None:
    """Printed with the observation's 5 included: 17 and 28 after it, 20 without it, 19.2 in all."""
    repairs = [repair_of("one", "c1", 10.0), repair_of("two", "c2", 20.0)]
    family = family_of({"c1": 0.5, "c2": 0.5}, (), repairs)
    masses = np.array([[0.9, 0.1], [0.3, 0.7], [0.5, 0.5]])
    found = price(family, masses, Situation("bench"))
    assert 5.0 + found.cost[:2] == pytest.approx([17.0, 28.0], abs=1e-6)
    assert found.cost[2] == pytest.approx(20.0, abs=1e-6)
    joint = price(family, masses[:2] * [[0.8], [0.2]], Situation("bench"))
    assert 5.0 + joint.cost.sum() == pytest.approx(19.2, abs=1e-6)


@pytest.mark.published("srinivas-1995", "plain p/c order of four independent faults, recomputed")
def test_independent_faults_are_priced_as_computed_for_the_plain_order(
    family_of: Callable[..., Family], repair_of: Callable[..., RepairModel]
) -> None:
    """p = .5 .3 .2 .1, c = 4 1 2 .5: order 2 4 1 3 by p/c costs 5.17112 given some fault."""
    chance, cost = (0.5, 0.3, 0.2, 0.1), (4.0, 1.0, 2.0, 0.5)
    priors = {}
    for count in range(5):
        for faults in combinations(range(4), count):
            each = [p if i in faults else 1 - p for i, p in enumerate(chance)]
            priors[" ".join(f"f{i}" for i in faults)] = float(np.prod(each))
    repairs = [repair_of(f"r{i}", f"f{i}", c) for i, c in enumerate(cost)]
    family = family_of(priors, (), repairs)
    faulty = prior(family) * ~family.works
    found = price(family, faulty[None, :] / faulty.sum(), Situation("bench"))
    assert found.order[0].tolist() == [1, 3, 0, 2]
    assert found.cost[0] == pytest.approx(5.17112, abs=5e-6)


def test_entropy_is_counted_in_bits_and_scales_with_the_row() -> None:
    rows = np.array([[0.25, 0.25, 0.25, 0.25], [1.0, 0.0, 0.0, 0.0], [0.25, 0.25, 0.0, 0.0]])
    assert entropy_bits(rows) == pytest.approx([2.0, 0.0, 0.5])
