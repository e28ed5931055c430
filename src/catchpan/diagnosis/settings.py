"""The joint settings of the options nobody knows yet, kept by prior mass."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from catchpan.catalog.entry import OptionEntry
from catchpan.catalog.load import Catalog
from catchpan.catalog.system import (
    check_setting,
    options_of,
    prior_of_value,
    structural_options,
)
from catchpan.diagnosis.description import Description

RAKING_ROUNDS = 60


@dataclass(frozen=True)
class Settings:
    """Joint settings with weights that sum to 1, and the prior mass that was cut.

    The weights are raked so that each option by itself keeps its prior wherever every value of
    it is among the kept settings.
    """

    kept: tuple[Mapping[str, str], ...]
    weight: NDArray[np.float64]
    cut_mass: float


def joint_settings(description: Description, data: Catalog, most: int) -> Settings:
    """Keep the likeliest joint settings, and for each value of each option at least one.

    Parameters
    ----------
    description : Description
        Its known options are fixed.
    most : int
        How many to keep.
    """
    check_setting(description.archetype, description.options, data)
    options = options_of(description.archetype, data)
    structural = structural_options(description.archetype, data)
    neutral = {k: v for k, v in description.options.items() if k not in structural}
    choices = {o: _choices(options[o], description.options) for o in structural}
    every = [
        (dict(zip(structural, values, strict=True)), float(np.prod(weights)))
        for values, weights in _combinations([choices[o] for o in structural])
    ]
    every.sort(key=lambda item: (-item[1], sorted(item[0].items())))
    kept = every[:most]
    kept += _first_of_missing_values(every[most:], [k for k, _ in kept])
    mass = sum(w for _, w in kept)
    weight = _raked([k for k, _ in kept], np.array([w for _, w in kept]), choices)
    return Settings(tuple({**neutral, **k} for k, _ in kept), weight, max(0.0, 1.0 - mass))


def _choices(option: OptionEntry, known: Mapping[str, str]) -> dict[str, float]:
    if option.id in known:
        return {known[option.id]: 1.0}
    return {v.id: prior_of_value(option, v, known) for v in option.values}


def _combinations(
    choices: Sequence[Mapping[str, float]],
) -> list[tuple[tuple[str, ...], tuple[float, ...]]]:
    return [
        (tuple(k for k, _ in combo), tuple(w for _, w in combo))
        for combo in product(*(c.items() for c in choices))
    ]


def _first_of_missing_values(
    rest: Sequence[tuple[dict[str, str], float]], kept: Sequence[Mapping[str, str]]
) -> list[tuple[dict[str, str], float]]:
    seen = {item for setting in kept for item in setting.items()}
    added = []
    for setting, weight in rest:
        if not set(setting.items()) <= seen:
            added.append((setting, weight))
            seen |= set(setting.items())
    return added


def _raked(
    kept: Sequence[Mapping[str, str]],
    weight: NDArray[np.float64],
    choices: Mapping[str, Mapping[str, float]],
) -> NDArray[np.float64]:
    weight = weight / weight.sum()
    for _ in range(RAKING_ROUNDS):
        for option, wanted in choices.items():
            for value, share in wanted.items():
                here = np.array([k[option] == value for k in kept])
                have = float(weight[here].sum())
                if have > 0.0:
                    weight = np.where(here, weight * share / have, weight)
        weight = weight / weight.sum()
    return weight
