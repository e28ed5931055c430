"""Ranking of causes against sums done by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.inference.causes import rank_causes
from catchpan.diagnosis.worlds.family import OTHER, World

if TYPE_CHECKING:
    from catchpan.diagnosis.worlds.family import Family


def test_shares_are_sums_over_worlds(three_faults: Family) -> None:
    causes = rank_causes(Belief.prior(three_faults))
    assert {s.id: round(s.probability, 9) for s in causes.roots} == {"a": 0.65, "b": 0.28}
    assert [s.id for s in causes.consequences] == ["c"]
    assert causes.consequences[0].probability == pytest.approx(0.24)
    assert [(s.id, round(s.probability, 9)) for s in causes.latent] == [("d", 0.05)]
    assert [(s.id, round(s.probability, 9)) for s in causes.pairs] == [("a + b", 0.05)]
    assert causes.several == pytest.approx(0.05)
    assert causes.no_fault == pytest.approx(0.07)
    assert causes.other == pytest.approx(0.01)
    assert causes.leading.id == "a"


def test_a_limit_shortens_the_list_and_not_the_sums(three_faults: Family) -> None:
    whole = rank_causes(Belief.prior(three_faults))
    short = rank_causes(Belief.prior(three_faults), limit=1)
    assert short.roots == whole.roots[:1]
    assert short.several == whole.several


def test_the_same_condition_can_be_a_root_in_one_world_and_left_behind_in_another(
    three_faults: Family,
) -> None:
    worlds = tuple(
        World(w.conditions, w.conditions, 0) if w.conditions == {"c"} else w
        for w in three_faults.worlds
    )
    causes = rank_causes(Belief.prior(replace(three_faults, worlds=worlds)))
    assert {s.id: round(s.probability, 9) for s in causes.roots}["c"] == 0.04
    assert causes.consequences[0].probability == pytest.approx(0.20)


def test_readings_move_what_is_known_of_an_unknown_option(three_faults: Family) -> None:
    """Two copies of the family, one for each option value; "wet" is only seen with a trap."""
    base = three_faults
    worlds = base.worlds + tuple(replace(w, setting=1) for w in base.worlds)
    check = base.checks["wet"]
    rows = np.vstack([check.table, np.tile(np.array([[0.5, 0.5]], dtype=np.float32), (9, 1))])
    family = replace(
        base,
        worlds=worlds,
        log_prior=np.concatenate([base.log_prior, base.log_prior]),
        settings=({"trap": "yes", "size": "3"}, {"trap": "no", "size": "3"}),
        checks={"wet": replace(check, table=rows)},
    )
    before = rank_causes(Belief.prior(family)).settings
    assert list(before) == ["trap"]
    assert before["trap"][0].probability == pytest.approx(0.5)
    dry = rank_causes(Belief.prior(family).observe(Reading("wet", "o1"))).settings
    given_trap = 1 - Belief.prior(base).predict("wet")[0]
    shares = {s.id: s.probability for s in dry["trap"]}
    assert shares["yes"] == pytest.approx(given_trap / (given_trap + 0.5), abs=1e-6)


def test_the_leading_statement_can_be_that_nothing_is_known(three_faults: Family) -> None:
    log_prior = np.where(three_faults.other, 0.0, -9.0)
    causes = rank_causes(Belief.prior(replace(three_faults, log_prior=log_prior)))
    assert causes.leading.id == OTHER
