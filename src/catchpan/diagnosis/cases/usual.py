"""What every check shows on a sound system, read off the plant: the answers nobody remarks on."""

from collections.abc import Iterator

import numpy as np

from catchpan.catalog.entry import CheckEntry
from catchpan.catalog.lint import settings_of
from catchpan.catalog.load import Catalog
from catchpan.catalog.system import build_plant
from catchpan.diagnosis.worlds.bench import surroundings
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.likelihood import answers_table
from catchpan.diagnosis.worlds.probe import Probe
from catchpan.plant.settle import State, settle

NOT_SEEN = {"history", "reset", "option"}


def usual_answers(data: Catalog) -> dict[str, str]:
    """Return the answer that a sound system gives to each check that looks at the plant.

    Parameters
    ----------
    data : Catalog
        Every archetype in it is tried in its likeliest setting; the first that has what a check
        looks at decides. A check that none has is left out.
    """
    found: dict[str, str] = {}
    for kind in data.archetypes:
        for demand, state in _sound_states(kind, data):
            signals = frozenset(state.signals)
            for check in data.checks.values():
                if check.id not in found and _fits(check, demand, state, signals):
                    found |= _answer(check, state)
    return found


def _sound_states(kind: str, data: Catalog) -> Iterator[tuple[str, State]]:
    plant = build_plant(kind, next(settings_of(kind, data)), data)
    for demand in data.archetypes[kind].demands:
        weather = surroundings(Description(kind), demand)
        yield demand, settle(plant, plant.set_up([()]), weather)


def _fits(check: CheckEntry, demand: str, state: State, signals: frozenset[str]) -> bool:
    look = check.observe
    if look.quantity in NOT_SEEN or look.demand != demand:
        return False
    return Probe(look).fits(state.plant, signals)


def _answer(check: CheckEntry, state: State) -> dict[str, str]:
    shown = np.asarray(Probe(check.observe).read(state), dtype=np.float64)
    if np.isnan(shown).any():
        return {}
    blur = check.blur.value if check.blur is not None else 0.0
    chance = answers_table(shown, check.answers, blur)[0]
    return {check.id: check.answers[int(chance.argmax())].id}
