"""The belief after a repair on a real job."""

import numpy as np
import pytest

from catchpan.calls.described import describe
from catchpan.calls.use_case import CallBook
from catchpan.catalog.load import catalog
from catchpan.diagnosis.inference.aftermath import (
    after_putting_back,
    after_repair,
    with_second_fault,
)
from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.inference.causes import rank_causes
from catchpan.diagnosis.planning.practice import practice_of
from catchpan.diagnosis.planning.worthwhile import premature_repairs
from tests.calls.one_home import open_call, small_family

FUSE = "control/replace-low-voltage-fuse"
SHORT = "low-voltage/short-yc-outdoor"


@pytest.fixture
def belief(book: CallBook) -> Belief:
    return Belief.prior(small_family(describe(open_call(book), catalog())))


def test_probabilities_still_sum_to_one(belief: Belief) -> None:
    for worked in (True, False, None):
        chance = after_repair(belief, FUSE, worked).probabilities()
        assert chance.sum() == pytest.approx(1.0)
        assert (chance >= 0.0).all()


def test_a_second_fault_of_any_kind_may_show_after_a_repair(belief: Belief) -> None:
    sure = belief.observe(Reading("phone/outdoor-fan", "humming"))
    mixed = {s.id: s.probability for s in rank_causes(with_second_fault(sure)).roots}
    plain = {s.id: s.probability for s in rank_causes(sure).roots}
    assert mixed["drain/trap-plugged"] > plain["drain/trap-plugged"]


def test_a_repair_that_worked_leaves_little_doubt(belief: Belief) -> None:
    after = after_repair(belief, "electrical/replace-run-capacitor", worked=True)
    assert rank_causes(after).no_fault > 0.5


def test_a_fuse_may_be_blown_again_while_its_short_is_there(belief: Belief) -> None:
    family = belief.family
    world = next(
        i
        for i, w in enumerate(family.worlds)
        if w.roots == {SHORT} and "low-voltage/fuse-blown" in w.conditions
    )
    start = np.full(len(family.worlds), -60.0)
    start[world] = 0.0
    sure = Belief(family, start)
    after = after_repair(sure, FUSE, worked=False).probabilities()
    blown = [i for i, w in enumerate(family.worlds) if "low-voltage/fuse-blown" in w.conditions]
    assert after[blown].sum() > 0.3
    assert FUSE in premature_repairs(sure, practice_of(catalog(), None).returning)


def test_a_part_put_in_twice_for_nothing_was_not_it(belief: Belief) -> None:
    """However well its fault fits all that is read, something else looks like it."""
    repair = "motor/replace-fan-motor"
    family = belief.family
    seized = next(i for i, w in enumerate(family.worlds) if w.conditions == {"motor/fan-seized"})
    start = np.full(len(family.worlds), -60.0)
    start[seized] = 0.0
    locked = Reading("motor/fan-by-hand", "locked")
    once = after_repair(Belief(family, start), repair, worked=False).observe(locked)
    twice = after_repair(once, repair, worked=False).observe(locked)
    share = [rank_causes(b).other for b in (once, twice)]
    assert share[0] < 0.5 < share[1]
    works = after_repair(Belief(family, start), repair, worked=True)
    assert rank_causes(works).other < 0.01


def test_no_repair_is_premature_where_nothing_is_behind_it(belief: Belief) -> None:
    assert "electrical/replace-run-capacitor" not in premature_repairs(
        belief, practice_of(catalog(), None).returning
    )


def test_what_was_put_back_and_held_is_not_there_any_more(belief: Belief) -> None:
    family = belief.family
    gone = practice_of(catalog(), None).puts_back["reset/control-fuse"]
    blown = [i for i, w in enumerate(family.worlds) if w.conditions & gone]
    start = np.full(len(family.worlds), -60.0)
    start[blown] = 0.0
    sure = Belief(family, start)
    held = after_putting_back(sure, gone, "works")
    again = after_putting_back(sure, gone, "trips-at-once")
    assert held.probabilities()[blown].sum() < 0.01
    assert held.verdict is None, "a reset tells; it is not a run that was judged"
    assert again.probabilities()[blown].sum() > 0.99
    assert again.verdict is False
