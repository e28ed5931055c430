"""Which checks would tell anything now."""

import numpy as np
import pytest

from catchpan.calls.use_case import CallBook, Number
from catchpan.diagnosis.inference.telling import silent_checks, told_bits
from catchpan.diagnosis.worlds.family import likelihood_table
from tests.calls.one_home import guide_of, on_site


def test_bits_are_never_negative_and_never_more_than_the_answers_hold(book: CallBook) -> None:
    found = guide_of(on_site(book))
    for name, bits in told_bits(found.belief).items():
        assert -1e-9 <= bits <= np.log2(len(found.family.checks[name].outcomes)) + 1e-9


def test_bits_agree_with_the_definition(book: CallBook) -> None:
    """Mutual information by its definition, sum p(w) p(a|w) log2(p(a|w) / p(a))."""
    found = guide_of(on_site(book))
    check = found.family.checks["phone/outdoor-fan"]
    table, chance = likelihood_table(found.family, check), found.belief.probabilities()
    usual = chance @ table
    wanted = float((chance[:, None] * table * np.log2(table / usual)).sum())
    assert told_bits(found.belief)[check.id] == pytest.approx(wanted, abs=2e-2)


def test_a_check_that_was_answered_tells_less(book: CallBook) -> None:
    before = told_bits(guide_of(on_site(book)).belief)
    state = book.take_reading("c1", "capacitor/fan-microfarad", Number(0.0, "µF", 0.0))
    after = told_bits(guide_of(state).belief)
    assert after["complaint/outdoor-fan-not-turning"] < before["complaint/outdoor-fan-not-turning"]


def test_questions_about_danger_are_never_silent(book: CallBook) -> None:
    silent = silent_checks(guide_of(on_site(book)).belief)
    assert silent
    assert not any(name.startswith("safety/") for name in silent)
