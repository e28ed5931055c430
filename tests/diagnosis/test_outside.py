"""What a look may still change of "none of these" is what it changes, not what it might have."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.inference.outside import MOST_FOR_OUTSIDE, STAYS, as_weighed
from catchpan.diagnosis.inference.telling import told_bits
from catchpan.diagnosis.worlds.family import OTHER

if TYPE_CHECKING:
    from collections.abc import Callable

    from catchpan.diagnosis.worlds.family import CheckModel, Family, RepairModel

FITS_NOTHING = [[0.999, 0.001], [0.999, 0.001], [0.5, 0.5]]
TELLS_APART = [[0.9, 0.1], [0.2, 0.8], [0.5, 0.5]]

Chances = st.lists(st.floats(0.01, 1.0), min_size=3, max_size=3).map(lambda c: np.array(c) / sum(c))


@pytest.fixture
def family(
    family_of: Callable[..., Family],
    check_of: Callable[..., CheckModel],
    repair_of: Callable[..., RepairModel],
) -> Family:
    checks = [check_of(f"odd{i}", FITS_NOTHING) for i in range(3)]
    checks += [check_of("either", TELLS_APART), check_of("like-it", FITS_NOTHING)]
    repairs = [repair_of("fix-a", "a", 9.0)]
    return family_of({"a": 0.6, "b": 0.39, OTHER: 0.01}, checks, repairs)


def share_outside(belief: Belief) -> float:
    return float(belief.probabilities()[belief.family.other].sum())


def foreseen(belief: Belief, check_id: str, answer: int) -> float:
    """Return the share of the world outside after an answer, as the tables of looks have it."""
    told = belief.as_told_by("technician")
    column = told.spans[check_id].start + answer
    chance = belief.probabilities()
    after = chance * told.at(np.arange(len(chance)))[:, column]
    return float(after[belief.family.other].sum() / after.sum())


def test_past_the_limit_an_answer_that_fits_the_library_moves_nothing(family: Family) -> None:
    belief = Belief.prior(family).observe_all(Reading(f"odd{i}", "o1") for i in range(3))
    odds = MOST_FOR_OUTSIDE * 0.01 / 0.99
    assert share_outside(belief) == pytest.approx(odds / (1.0 + odds), rel=1e-4)
    for answer in (0, 1):
        after = belief.observe(Reading("either", f"o{answer}"))
        assert share_outside(after) == pytest.approx(share_outside(belief), rel=1e-4)
        assert foreseen(belief, "either", answer) == pytest.approx(share_outside(after), rel=1e-4)
    assert told_bits(belief)["like-it"] < 0.01, "it would only tell outside from the library"
    assert told_bits(Belief.prior(family))["like-it"] < told_bits(belief)["either"]


def test_within_the_limit_an_answer_is_weighed_as_it_is(family: Family) -> None:
    belief = Belief.prior(family).observe(Reading("either", "o0"))
    after = belief.observe(Reading("like-it", "o0"))
    assert foreseen(belief, "like-it", 0) == pytest.approx(share_outside(after))
    even = belief.as_told_by("technician").at(np.array([2]))
    assert even[0] == pytest.approx(0.5)


def test_what_was_read_before_a_repair_is_foreseen_to_show_again(family: Family) -> None:
    read = Belief.prior(family).observe(Reading("either", "o1"))
    tried = read.repair_tried("fix-a", worked=None, success=0.0)
    told = tried.as_told_by("technician")
    row = told.at(np.array([2]))[0, told.spans["either"]]
    assert row == pytest.approx([(1.0 - STAYS) / 2.0, STAYS + (1.0 - STAYS) / 2.0])
    for answer in (0, 1):
        after = tried.observe(Reading("either", f"o{answer}"))
        assert foreseen(tried, "either", answer) == pytest.approx(share_outside(after), rel=1e-6)


def test_a_caller_and_a_technician_have_a_limit_each(family: Family) -> None:
    callers = [Reading(f"odd{i}", "o1", reporter="caller") for i in range(3)]
    belief = Belief.prior(family).observe_all(callers)
    assert belief.as_told_by("caller").apart is not None
    assert belief.as_told_by("technician").apart is None


@given(outside=Chances, library=Chances, excess=st.floats(1e-6, 20.0))
def test_the_chances_stay_chances_and_come_near_the_library(
    outside: np.ndarray, library: np.ndarray, excess: float
) -> None:
    found = as_weighed(outside[None, :], library, np.array([0]), excess)[0]
    assert found.sum() == pytest.approx(1.0)
    assert (found >= 0.0).all()
    further = as_weighed(outside[None, :], library, np.array([0]), excess + 5.0)[0]
    apart = np.abs(found / library - 1.0).max()
    assert np.abs(further / library - 1.0).max() <= apart + 1e-9
