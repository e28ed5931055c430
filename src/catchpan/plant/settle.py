"""Bringing a plant to a consistent state: circuits, controls, air, water, pass by pass."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catchpan.physics.circuits.network import Solution
from catchpan.plant.part import Array, Mask, Surroundings, View
from catchpan.plant.plant import Plant, Setup

MOST_PASSES = 40
"""More passes than the longest sequence of operation takes; what still moves then, chatters."""


@dataclass(frozen=True)
class State:
    """The settled state of B worlds under one demand.

    ``chatters`` marks the worlds in which some contact never comes to rest; ``chattering`` names
    the branches that do it, per branch id.
    """

    plant: Plant
    around: Surroundings
    setup: Setup
    solution: Solution
    signals: Mapping[str, Array]
    chattering: Mapping[str, Mask]

    @property
    def chatters(self) -> Mask:
        """Worlds in which something chatters, shape (B,)."""
        found = np.zeros(self.setup.size, dtype=bool)
        for mask in self.chattering.values():
            found |= mask
        return found


def settle(plant: Plant, setup: Setup, around: Surroundings) -> State:
    """Solve circuits and let every part decide until nothing changes any more.

    Parameters
    ----------
    plant : Plant
        The system.
    setup : Setup
        Conditions of the worlds, from ``plant.set_up``.
    around : Surroundings
        Demand and weather.
    """
    view = _at_rest(plant, setup, around)
    moved = np.zeros(view.closed.shape, dtype=np.int16)
    levels = _levels(setup, view.closed)
    for _ in range(MOST_PASSES):
        before_switch = view.closed.copy()
        before = dict(view.signals)
        view.solution = plant.network.solve(levels)
        for part in plant.parts:
            part.act(view)
        moved += view.closed != before_switch
        levels = _levels(setup, view.closed)
        if _at_peace(view, before, before_switch):
            break
    unstable = (view.closed != before_switch).any(axis=0)
    column = plant.column["contactor.coil"]
    view.write("contactor.chatters", view.closed[:, column] != before_switch[:, column])
    return State(
        plant,
        around,
        setup,
        plant.network.solve(levels),
        view.signals,
        _chattering(plant, view, before_switch, unstable),
    )


def _at_rest(plant: Plant, setup: Setup, around: Surroundings) -> View:
    closed = np.ones(setup.when_closed.shape, dtype=bool)
    for i, branch in enumerate(plant.network.branches):
        if branch.switches:
            closed[:, i] = False
    return View(setup.size, around, setup.values, plant.column, closed, plant.join)


def _levels(setup: Setup, closed: Mask) -> NDArray[np.uint8]:
    return np.where(closed, setup.when_closed, setup.when_open)


def _at_peace(view: View, before: Mapping[str, Array], before_switch: Mask) -> bool:
    if not np.array_equal(view.closed, before_switch):
        return False
    return all(
        name in before and np.allclose(before[name], now, rtol=1e-6, atol=1e-9)
        for name, now in view.signals.items()
    )


def _chattering(
    plant: Plant, view: View, before_switch: Mask, unstable: Mask
) -> dict[str, Mask]:
    moving = view.closed != before_switch
    return {
        plant.network.branches[i].id: moving[:, i] for i in np.flatnonzero(unstable)
    }
