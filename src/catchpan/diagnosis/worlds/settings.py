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
from catchpan.diagnosis.worlds.description import Description

RAKING_ROUNDS = 200


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
    """Keep the likeliest joint settings, and a spread in which every value of an option occurs.

    Parameters
    ----------
    description : Description
        Its known options are fixed.
    most : int
        How many to keep at the most (a few more where an option has more values): a quarter of
        them the likeliest ones, the others a spread over all values.
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
    heavy = [k for k, _ in every[: most // 4]]
    kept = _without_repeats(heavy + _spread(choices, most - most // 4))
    share = {_key(k): w for k, w in every}
    prior = np.array([share[_key(k)] for k in kept])
    weight = _raked(kept, prior, choices)
    cut = max(0.0, 1.0 - float(prior.sum()))
    return Settings(tuple({**neutral, **k} for k in kept), weight, cut)


def _key(setting: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    return tuple(sorted(setting.items()))


def _without_repeats(settings: Sequence[dict[str, str]]) -> list[dict[str, str]]:
    return list({_key(s): s for s in settings}.values())


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


def _spread(choices: Mapping[str, Mapping[str, float]], count: int) -> list[dict[str, str]]:
    """Deal out settings in which every value occurs about as often as its prior says.

    A Latin design: each option's values are dealt into ``count`` places by their priors, at least
    one place each, and the options are shuffled against each other (always in the same way).
    """
    columns = {}
    for k, (option, shares) in enumerate(choices.items()):
        dealt = _deal(shares, max(count, len(shares)))
        order = np.random.default_rng(k).permutation(len(dealt))
        columns[option] = [dealt[i] for i in order]
    places = max((len(c) for c in columns.values()), default=0)
    return [{o: c[i % len(c)] for o, c in columns.items()} for i in range(places)]


def _deal(shares: Mapping[str, float], count: int) -> list[str]:
    """Values repeated by share, at least once each, ``count`` in all (largest remainder)."""
    wanted = {v: max(1.0, w * count) for v, w in shares.items()}
    whole = {v: int(w) for v, w in wanted.items()}
    rest = sorted(wanted, key=lambda v: (whole[v] - wanted[v], v))
    while sum(whole.values()) < count:
        whole[rest[0]] += 1
        rest = [*rest[1:], rest[0]]
    while sum(whole.values()) > count:
        whole[max(whole, key=lambda v: (whole[v], v))] -= 1
    return [v for v, n in whole.items() for _ in range(n)]


def _raked(
    kept: Sequence[Mapping[str, str]],
    weight: NDArray[np.float64],
    choices: Mapping[str, Mapping[str, float]],
) -> NDArray[np.float64]:
    weight = 0.5 * weight / weight.sum() + 0.5 / len(weight)
    for _ in range(RAKING_ROUNDS):
        for option, wanted in choices.items():
            for value, share in wanted.items():
                here = np.array([k[option] == value for k in kept])
                have = float(weight[here].sum())
                if have > 0.0:
                    weight = np.where(here, weight * share / have, weight)
        weight = weight / weight.sum()
    return weight
