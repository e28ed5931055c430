"""Archetypes with their options settled."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.catalog.errors import ImpossibleOptions
from catchpan.catalog.lint import settings_of
from catchpan.catalog.load import catalog
from catchpan.catalog.system import (
    blueprint,
    build_plant,
    check_setting,
    options_of,
    prior_of_value,
    structural_options,
)
from catchpan.plant.errors import UnknownPart
from catchpan.units.errors import EXIT_CONFLICT, UnknownName

DATA = catalog()
NAMES = sorted(DATA.archetypes)


@pytest.mark.parametrize("name", NAMES)
def test_every_option_value_gives_a_plant(name: str) -> None:
    for setting in settings_of(name, DATA):
        parts = [p.id for p in blueprint(name, setting, DATA).parts]
        assert len(parts) == len(set(parts))
        assert build_plant(name, setting).network.branches


@given(data=st.data())
def test_any_mix_of_options_gives_a_plant(data: st.DataObject) -> None:
    name = data.draw(st.sampled_from(NAMES))
    options = options_of(name, DATA)
    setting = {
        o: data.draw(st.sampled_from([v.id for v in options[o].values]))
        for o in structural_options(name, DATA)
    }
    parts = [p.id for p in blueprint(name, setting, DATA).parts]
    assert len(parts) == len(set(parts))


def test_an_unknown_option_is_named_with_the_known_ones() -> None:
    with pytest.raises(UnknownName, match=r"float_swich.*did you mean 'float_switch'"):
        check_setting(NAMES[0], {"float_swich": "in_r"}, DATA)


def test_a_value_an_option_does_not_have_lists_those_it_has() -> None:
    with pytest.raises(ImpossibleOptions, match="in_r or in_y") as caught:
        check_setting(NAMES[0], {"float_switch": "in_g"}, DATA)
    assert caught.value.exit_code == EXIT_CONFLICT


def test_an_unknown_archetype_is_named() -> None:
    with pytest.raises(UnknownName, match="archetype 'boiler'"):
        options_of("boiler", DATA)


def test_a_condition_of_another_system_is_refused() -> None:
    plant = build_plant("heat-pump-air-handler", next(settings_of("heat-pump-air-handler", DATA)))
    with pytest.raises(UnknownPart, match="lunar-eclipse"):
        plant.set_up([["lunar-eclipse"]])


@pytest.mark.parametrize("name", NAMES)
def test_option_priors_sum_to_one_whatever_is_known(name: str) -> None:
    for option in options_of(name, DATA).values():
        for known in ({}, {"location": "attic"}, {"location": "basement"}):
            total = sum(prior_of_value(option, v, known) for v in option.values)
            assert total == pytest.approx(1.0)


def test_an_attic_makes_an_auxiliary_pan_likely() -> None:
    option = options_of("heat-pump-air-handler", DATA)["aux_pan"]
    none = next(v for v in option.values if v.id == "none")
    attic = prior_of_value(option, none, {"location": "attic"})
    assert attic < prior_of_value(option, none, {"location": "closet"})
