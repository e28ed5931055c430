"""From what the plant shows to the chance of each answer."""

from statistics import NormalDist

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from catchpan.catalog.entry import AnswerEntry, GivenEntry, ObserveEntry, ProofEntry, Sourced
from catchpan.diagnosis.worlds.likelihood import (
    PROOF_RELIABILITY,
    answers_table,
    history_table,
    option_table,
    proof_table,
    reset_table,
    with_mistakes,
)

THREE = [
    AnswerEntry(id="none", label="None", high=5.0),
    AnswerEntry(id="low", label="Low", low=5.0, high=20.0),
    AnswerEntry(id="good", label="Good", low=20.0),
]


def assumed(value: float) -> Sourced:
    return Sourced(value=value, basis="assumed")


def test_without_spread_an_answer_is_certain() -> None:
    table = answers_table(np.array([0.0, 5.0, 24.0]), THREE, 0.0)
    np.testing.assert_allclose(table, np.eye(3), atol=1e-5)


@given(st.floats(-10.0, 40.0), st.floats(0.1, 5.0))
def test_spread_follows_the_normal_distribution(shown: float, spread: float) -> None:
    table = answers_table(np.array([shown]), THREE, spread)
    normal = NormalDist(shown, spread)
    expected = [normal.cdf(5.0), normal.cdf(20.0) - normal.cdf(5.0), 1.0 - normal.cdf(20.0)]
    np.testing.assert_allclose(table[0], expected, atol=1e-5)


def test_over_limit_falls_in_the_highest_answer() -> None:
    table = answers_table(np.array([np.inf]), THREE, 1.0)
    assert table[0].argmax() == 2


@given(st.lists(st.floats(-5.0, 30.0), min_size=1, max_size=8), st.floats(0.5, 1.0))
def test_rows_sum_to_one_whatever_the_mistakes(shown: list[float], reliability: float) -> None:
    table = with_mistakes(answers_table(np.array(shown), THREE, 0.7), reliability)
    np.testing.assert_allclose(table.sum(axis=1), 1.0)
    assert (table > 0.0).all()


@given(shown=st.floats(-12.0, 12.0), spread=st.floats(0.3, 3.0), low=st.sampled_from([None, -4.0]))
def test_a_proof_comes_out_as_often_as_readings_that_scatter_do(
    shown: float, spread: float, low: float | None
) -> None:
    """Too close is what lies within its uncertainty of a limit, as whoever judges it reckons."""
    proof = proof_entry(low=low, high=4.0, uncertainty=spread)
    z = np.linspace(-6.0, 6.0, 24_001)
    read, weight = shown + spread * z, np.exp(-0.5 * z**2)
    close = np.zeros(len(z), dtype=bool)
    for limit in (x for x in (low, 4.0) if x is not None):
        close |= np.abs(read - limit) < spread
    inside = (read < 4.0) & (read >= (low if low is not None else -np.inf))
    parts = [inside & ~close, ~inside & ~close, close]
    expected = np.array([weight[part].sum() for part in parts]) / weight.sum()
    found = proof_table(np.array([shown]), proof)[0]
    mixed = PROOF_RELIABILITY * expected + (1.0 - PROOF_RELIABILITY) / 3
    assert np.allclose(found, mixed, atol=2e-3)


def proof_entry(*, low: float | None, high: float | None, uncertainty: float) -> ProofEntry:
    observe = ObserveEntry.model_validate({"quantity": "signal", "of": "x", "demand": "cool"})
    return ProofEntry(
        id="p/p", title="P", how=("Look.",), place="bench", minutes=assumed(1.0),
        observe=observe, low=low, high=high, uncertainty=assumed(uncertainty),
    )  # fmt: skip


def test_history_is_a_noisy_or_of_the_faults_present() -> None:
    answers = [
        AnswerEntry(
            id="yes",
            label="Yes",
            base=assumed(0.1),
            given=(
                GivenEntry(fault="a/*", chance=assumed(0.5)),
                GivenEntry(fault="b/two", chance=assumed(0.2)),
            ),
        ),
        AnswerEntry(id="no", label="No"),
    ]
    names = ["a/one", "b/two", "c/three"]
    worlds = np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 0, 1]], dtype=bool)
    table = history_table(worlds, names, answers)
    expected = [0.1, 1 - 0.9 * 0.5, 1 - 0.9 * 0.5 * 0.8, 0.1]
    np.testing.assert_allclose(table[:, 0], expected, rtol=1e-5)


def test_history_answers_never_add_up_to_more_than_everything() -> None:
    answers = [
        AnswerEntry(id="x", label="X", base=assumed(0.9)),
        AnswerEntry(id="y", label="Y", base=assumed(0.8)),
        AnswerEntry(id="z", label="Z"),
    ]
    table = history_table(np.zeros((1, 0), dtype=bool), [], answers)
    np.testing.assert_allclose(table.sum(), 1.0)
    assert table[0, 2] > 0.0


def test_an_option_answer_is_as_good_as_its_reliability() -> None:
    table = option_table(["in_r", "in_y"], ["in_y"], 0.9)
    np.testing.assert_allclose(table, [[0.05, 0.95]])


def test_reset_tells_at_once_later_holding_and_useless_apart() -> None:
    present = np.array([True, True, True, True, False])
    again = np.array([0, 1, 4, 4, 4], dtype=np.int8)
    works = np.array([False, True, True, False, False])
    table = reset_table(present, again, works, 1.0)
    assert table.argmax(axis=1).tolist() == [1, 2, 0, 3, 3]
