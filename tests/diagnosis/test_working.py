"""Who calls, and how much of a root's rate its worlds get."""

from functools import cache

import numpy as np
import pytest

from catchpan.diagnosis.worlds.compile_family import Size, compile_family
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import Family
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


@cache
def heat_pump() -> Family:
    return compile_family(
        Description("heat-pump-air-handler", season="heating"), size=Size(settings=2, pairs=0)
    )


@pytest.mark.parametrize(
    "root",
    [
        "refrigerant/charge-very-low",
        "heat-pump/outdoor-metering-missing",
        "heat-pump/outdoor-metering-blocked",
        "heat-pump/strips-with-every-call",
        "electric-heat/sequencer-contact-burned-1",
    ],
)
def test_a_heat_pump_that_leans_on_its_strips_makes_its_owner_call(root: str) -> None:
    """Electric heat on all winter is a complaint of its own (common practice, no source)."""
    family = heat_pump()
    mine = [i for i, world in enumerate(family.worlds) if world.roots == {root}]
    assert mine
    assert family.working is not None
    assert not family.working[mine].all()
