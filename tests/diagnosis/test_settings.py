"""Joint settings of unknown options."""

import numpy as np
import pytest

from catchpan.catalog.load import catalog
from catchpan.catalog.system import options_of, prior_of_value, structural_options
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.settings import joint_settings

DATA = catalog()
NAME = "heat-pump-air-handler"


def test_known_options_leave_one_setting_and_cut_nothing() -> None:
    options = options_of(NAME, DATA)
    known = {o: options[o].values[0].id for o in structural_options(NAME, DATA)}
    found = joint_settings(Description(NAME, known), DATA, 12)
    assert len(found.kept) == 1
    assert found.weight.tolist() == [1.0]
    assert found.cut_mass == pytest.approx(0.0)


def test_every_value_of_every_unknown_option_is_kept_somewhere() -> None:
    found = joint_settings(Description(NAME), DATA, 12)
    options = options_of(NAME, DATA)
    for option in structural_options(NAME, DATA):
        assert {k[option] for k in found.kept} == {v.id for v in options[option].values}


def test_raked_weights_keep_each_option_near_its_prior() -> None:
    found = joint_settings(Description(NAME, {"location": "attic"}), DATA, 24)
    options = options_of(NAME, DATA)
    assert found.weight.sum() == pytest.approx(1.0)
    for name in structural_options(NAME, DATA):
        for value in options[name].values:
            share = sum(
                w for k, w in zip(found.kept, found.weight, strict=True) if k[name] == value.id
            )
            prior = prior_of_value(options[name], value, {"location": "attic"})
            assert share == pytest.approx(prior, abs=0.05)


def test_more_settings_cut_less() -> None:
    few = joint_settings(Description(NAME), DATA, 12)
    many = joint_settings(Description(NAME), DATA, 200)
    assert 0.0 < many.cut_mass < few.cut_mass < 1.0


def test_settings_are_ordered_the_same_every_time() -> None:
    first = joint_settings(Description(NAME), DATA, 20)
    again = joint_settings(Description(NAME), DATA, 20)
    assert first.kept == again.kept
    np.testing.assert_array_equal(first.weight, again.weight)
