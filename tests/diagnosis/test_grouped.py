"""Causes by part and by repair, against sums done by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from catchpan.diagnosis.inference.belief import Belief
from catchpan.diagnosis.inference.grouped import share_of_any, shares_of_parts, shares_of_repairs
from catchpan.diagnosis.worlds.family import OTHER

if TYPE_CHECKING:
    from collections.abc import Callable

    from catchpan.diagnosis.worlds.family import Family

PART = {"weak": "capacitor", "dead": "capacitor", "belt": "fan", "fuse": "panel"}


@pytest.fixture
def belief(family_of: Callable[..., Family]) -> Belief:
    priors = {"": 0.05, "weak": 0.2, "dead": 0.2, "belt": 0.25, "fuse": 0.1, "weak belt": 0.1}
    priors |= {"dead wet": 0.05, "wet": 0.02, OTHER: 0.03}
    return Belief.prior(family_of(priors, kinds={"wet": "consequence"}))


def test_siblings_of_one_part_count_together(belief: Belief) -> None:
    found = {s.id: s.probability for s in shares_of_parts([(1.0, belief)], PART)}
    assert found == pytest.approx({"capacitor": 0.55, "fan": 0.35, "panel": 0.1})


def test_the_likeliest_part_may_hold_no_leading_cause(belief: Belief) -> None:
    assert shares_of_parts([(1.0, belief)], PART)[0].id == "capacitor"
    belt, weak, dead = (
        share_of_any([(1.0, belief)], frozenset({n})) for n in ("belt", "weak", "dead")
    )
    assert belt > max(weak, dead)


def test_a_repair_counts_what_those_before_it_leave(belief: Belief) -> None:
    fixes = {
        "new capacitor": frozenset({"weak", "dead", "wet"}),
        "new belt": frozenset({"belt"}),
        "new fuse": frozenset({"fuse"}),
        "dry it": frozenset({"wet"}),
    }
    found = shares_of_repairs([(1.0, belief)], fixes, 3)
    assert [s.id for s in found] == ["new capacitor", "new belt", "new fuse"]
    assert [s.probability for s in found] == pytest.approx([0.55, 0.25, 0.1])
    hit = share_of_any([(1.0, belief)], frozenset(PART))
    assert sum(s.probability for s in found) == pytest.approx(hit)


def test_systems_it_may_be_are_weighed_by_their_shares(belief: Belief) -> None:
    other = Belief(belief.family, np.where(np.arange(9) == 4, 0.0, -50.0))
    found = {s.id: s.probability for s in shares_of_parts([(0.6, belief), (0.4, other)], PART)}
    assert found["panel"] == pytest.approx(0.6 * 0.1 + 0.4)
