"""What comes and goes: one state at each moment, against enumeration by hand."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.calls.described import usual_setting
from catchpan.catalog.load import catalog
from catchpan.diagnosis.inference.belief import (
    Belief,
    Reading,
    drawn_anew,
)
from catchpan.diagnosis.inference.conflict import find_conflict
from catchpan.diagnosis.inference.outside import MOST_FOR_OUTSIDE
from catchpan.diagnosis.worlds.compile_family import Size, compile_family
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.enumerate_worlds import Weighted, in_both_states
from catchpan.diagnosis.worlds.family import OTHER, CheckModel, Family, Outcome, PlaceModel, World

if TYPE_CHECKING:
    from collections.abc import Sequence

PRIOR = {"steady": 0.5, "now-and-then": 0.4, "gone": 0.07}
SHOWS = 0.35
"""Share of moments at which "now-and-then" shows."""

RUNS = {"k0": 0.97, "k1": 0.95, "k2": 0.9}
"""Chance of "runs" where nothing shows; of "stands" where something does."""

STANDS = {"steady": True, "now-and-then": True, "gone": False}


def coming_and_going() -> Family:
    """Three faults, one of which comes and goes; three checks that all ask: does it run?"""
    sets = [(name, False) for name in PRIOR] + [("now-and-then", True)]
    share = {("now-and-then", False): SHOWS, ("now-and-then", True): 1.0 - SHOWS}
    worlds = [World(frozenset({n}), frozenset({n}), 0, calm) for n, calm in sets]
    worlds.append(World(frozenset({OTHER}), frozenset({OTHER}), 0))
    prior = [PRIOR[n] * share.get((n, calm), 1.0) for n, calm in sets] + [0.03]
    stands = [STANDS[n] and not calm for n, calm in sets]
    answers = (Outcome("runs", "runs"), Outcome("stands", "stands"))
    checks = {}
    for name, sure in RUNS.items():
        rows = [[1 - sure, sure] if s else [sure, 1 - sure] for s in stands] + [[0.5, 0.5]]
        table = np.array(rows, dtype=np.float32)
        checks[name] = CheckModel(name, name, "b", 1.0, answers, table, phone=True)
    places = {"b": PlaceModel("b", "b", 0.0)}
    return Family(tuple(worlds), np.log(prior), ({},), checks, {}, places, {}, 1.0, 100.0)


def by_hand(readings: Sequence[Reading]) -> dict[str, float]:
    """Sum over every state at every moment: a caller's readings are one, a technician's another.

    Neither of them speaks more than tenfold for what is outside the library.
    """
    callers = [r for r in readings if r.reporter == "caller"]
    outside, before = 0.03, sum(PRIOR.values())
    for heard in (callers, readings):
        inside = sum(summed_over_states(heard).values())
        new = len(heard) if heard is callers else len(readings) - len(callers)
        most = MOST_FOR_OUTSIDE * outside * inside / before
        outside = min(outside * 0.5**new, most)
        before = inside
    return summed_over_states(readings) | {OTHER: outside}


def summed_over_states(readings: Sequence[Reading]) -> dict[str, float]:
    """Return the weight of every fault of the library with these readings."""
    weights = {}
    for name, prior in PRIOR.items():
        states = {True: SHOWS, False: 1.0 - SHOWS} if name == "now-and-then" else {True: 1.0}
        total = 0.0
        for caller, technician in product(states, states):
            chance = prior * states[caller] * states[technician]
            for r in readings:
                showing = caller if r.reporter == "caller" else technician
                stands = STANDS[name] and showing
                right = (r.outcome_id == "stands") == stands
                chance *= RUNS[r.check_id] if right else 1.0 - RUNS[r.check_id]
            total += chance
        weights[name] = total
    return weights


READINGS = st.lists(
    st.tuples(
        st.sampled_from(sorted(RUNS)),
        st.sampled_from(["runs", "stands"]),
        st.sampled_from(["caller", "technician"]),
    ),
    max_size=3,
    unique_by=lambda r: r[0],
)


@given(made=READINGS)
def test_the_belief_is_the_sum_over_the_states_of_every_moment(
    made: list[tuple[str, str, str]],
) -> None:
    readings = [Reading(c, o, reporter=who) for c, o, who in made]  # type: ignore[arg-type]
    family = coming_and_going()
    chance = Belief.prior(family).observe_all(readings).probabilities()
    expected = by_hand(readings)
    total = sum(expected.values())
    for name, weight in expected.items():
        mine = [i for i, w in enumerate(family.worlds) if name in w.conditions]
        assert chance[mine].sum() == pytest.approx(weight / total, abs=1e-7)


def read(*made: tuple[str, str, str]) -> Belief:
    readings = [Reading(c, o, reporter=who) for c, o, who in made]  # type: ignore[arg-type]
    return Belief.prior(coming_and_going()).observe_all(readings)


def test_one_look_says_stands_and_the_next_says_runs_is_a_conflict() -> None:
    conflict = find_conflict(read(("k0", "stands", "technician"), ("k1", "runs", "technician")))
    assert conflict is not None
    assert {s.reading.check_id for s in conflict.suspects} == {"k0", "k1"}
    assert conflict.suspects[0].against
    assert conflict.repeat is not None


def test_it_stood_when_the_owner_called_and_runs_now_is_none() -> None:
    belief = read(("k0", "stands", "caller"), ("k1", "runs", "technician"))
    assert find_conflict(belief) is None
    there = [i for i, w in enumerate(belief.family.worlds) if "now-and-then" in w.conditions]
    assert belief.probabilities()[there].sum() > 0.7


def test_before_each_moment_the_state_is_open_again() -> None:
    family = coming_and_going()
    gone = np.log(np.array([0.1, 1e-9, 0.1, 0.7, 0.1]))
    again = np.exp(drawn_anew(family, gone))
    assert again[1] / (again[1] + again[3]) == pytest.approx(SHOWS)
    assert again.sum() == pytest.approx(np.exp(gone).sum())


def test_every_world_with_something_intermittent_has_two_states() -> None:
    found = in_both_states(
        [Weighted(frozenset({"a"}), frozenset({"a"}), 0.6),
         Weighted(frozenset({"a", "b"}), frozenset({"a", "b"}), 0.4)],
        {"b": 0.25},
    )  # fmt: skip
    assert [(w.calm, round(w.weight, 6)) for w in found] == [
        (False, 0.6),
        (False, 0.1),
        (True, 0.3),
    ]
    assert found[2].showing({"b"}) == {"a"}
    assert found[1].showing({"b"}) == {"a", "b"}


LOOSE = "low-voltage/y-loose-intermittent"


@cache
def outdoor_unit() -> Family:
    """Build an air conditioner with a control wire loose now and then, or its coil open."""
    whole = catalog()
    roots = {LOOSE, "contactor/coil-open"}
    looks = ("contactor/", "phone/outdoor-fan")
    data = replace(
        whole,
        faults={k: f for k, f in whole.faults.items() if k in roots or f.kind != "root"},
        checks={k: c for k, c in whole.checks.items() if k.startswith(looks)},
        proofs={},
    )
    options = usual_setting("air-conditioner-air-handler", {}, whole)
    known = Description("air-conditioner-air-handler", options, season="cooling")
    return compile_family(known, data, size=Size(settings=1, pairs=10))


def seen(*made: tuple[str, str, str]) -> Belief:
    readings = [Reading(c, o, reporter=who) for c, o, who in made]  # type: ignore[arg-type]
    return Belief.prior(outdoor_unit()).observe_all(readings)


def test_a_loose_wire_does_not_excuse_a_contactor_that_is_in_and_has_no_volts() -> None:
    made = (
        ("contactor/coil-volts", "none", "technician"),
        ("contactor/pulled-in", "yes", "technician"),
    )
    conflict = find_conflict(seen(*made))
    assert conflict is not None
    assert {s.reading.check_id for s in conflict.suspects} == {c for c, _, _ in made}


def test_a_loose_wire_explains_what_stood_at_the_call_and_is_in_now() -> None:
    before, now = (
        ("phone/outdoor-fan", "still", "caller"),
        ("contactor/pulled-in", "yes", "technician"),
    )
    belief = seen(before, now)
    assert find_conflict(belief) is None
    assert belief.probabilities()[[LOOSE in w.conditions for w in belief.family.worlds]].sum() > 0.3
