"""Who calls, and how much of a root's rate its worlds get."""

import numpy as np
import pytest

from catchpan.diagnosis.worlds.working import CALL_ANYWAY, MOST_LIFT, weights_of_calls

A, B = frozenset({"a"}), frozenset({"b"})


def test_what_does_not_show_yet_gives_its_calls_to_what_does() -> None:
    found = weights_of_calls([A, A], np.array([0.3, 0.1]), np.array([False, True]))
    assert found == pytest.approx([0.4, 0.1 * CALL_ANYWAY])


def test_a_root_that_hardly_shows_is_lifted_only_so_far() -> None:
    found = weights_of_calls([A, A], np.array([0.01, 0.99]), np.array([False, True]))
    assert found[0] == pytest.approx(0.01 * MOST_LIFT)


def test_a_root_that_never_shows_makes_few_call() -> None:
    found = weights_of_calls([A, B], np.array([0.5, 0.5]), np.array([True, False]))
    assert found == pytest.approx([0.5 * CALL_ANYWAY, 0.5])


def test_two_roots_together_are_not_lifted() -> None:
    both = A | B
    found = weights_of_calls([both, both], np.array([0.2, 0.2]), np.array([False, True]))
    assert found[0] == pytest.approx(0.2)
