"""Bringing a plant to a consistent state: circuits, controls, air, water, pass by pass."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from catchpan.physics.circuits.network import Solution
from catchpan.plant.part import Array, Mask, Surroundings, View
from catchpan.plant.passes import Passes
from catchpan.plant.plant import Plant, Setup

MOST_PASSES = 40
"""More passes than the longest sequence of operation takes; what still moves then, chatters."""

CHATTER_SIGNAL = "contactor.chatters"

FELT_AT_WORST = ".overload"
"""Signals of this name are the worst moment's while a world chatters: a fuse or a breaker does not
wait for the better one."""


@dataclass(frozen=True)
class State:
    """The settled state of B worlds under one demand.

    ``chatters`` marks the worlds in which some contact never comes to rest; ``chattering`` names
    the branches that do it, per branch id. The solution and the signals of such a world are those
    of one moment of its cycle, the same whatever other worlds are in the batch. ``powered`` tells
    whether the sources were live.
    """

    plant: Plant
    around: Surroundings
    setup: Setup
    solution: Solution
    signals: Mapping[str, Array]
    chattering: Mapping[str, Mask]
    powered: bool = True

    @cached_property
    def without_power(self) -> "State":
        """The same worlds and demand with every source dead."""
        if not self.powered:
            return self
        return settle(self.plant, self.setup, self.around, powered=False)

    @property
    def chatters(self) -> Mask:
        """Worlds in which something chatters, shape (B,)."""
        found = np.zeros(self.setup.size, dtype=bool)
        for mask in self.chattering.values():
            found |= mask
        return found


@dataclass(frozen=True)
class _Result:
    """Where each world ended: switches, signals, and the switches that never came to rest."""

    closed: Mask
    restless: Mask
    signals: dict[str, Array]

    def keep(self, passes: Passes, done: Mask) -> None:
        """Write down the worlds that are done."""
        rows = passes.worlds[done]
        self.closed[rows] = passes.view.closed[done]
        self.restless[rows] = passes.moved()[done]
        for name, now in passes.view.signals.items():
            whole = self.signals.setdefault(name, np.zeros(len(self.closed)))
            felt = passes.worst(name) if name.endswith(FELT_AT_WORST) else now
            whole[rows] = felt[done]


def settle(plant: Plant, setup: Setup, around: Surroundings, *, powered: bool = True) -> State:
    """Solve circuits and let every part decide until nothing changes any more.

    A world is left alone as soon as it repeats an earlier pass exactly: the pass just before
    means it is at rest, an older one that it goes round in a circle, that is, chatters.

    Parameters
    ----------
    plant : Plant
        The system.
    setup : Setup
        Conditions of the worlds, from ``plant.set_up``.
    around : Surroundings
        Demand and weather.
    powered : bool
        Whether the sources are live; without, no branch carries anything and what is held closed
        by current has dropped out.
    """
    solve = plant.network.solve if powered else plant.network.dead
    result = _result_of(plant, setup, around, solve)
    levels = _levels(setup, result.closed)
    names = [branch.id for branch in plant.network.branches]
    restless = np.flatnonzero(result.restless.any(axis=0))
    chattering = {names[i]: result.restless[:, i] for i in restless}
    coil = plant.column.get("contactor.coil")
    if coil is not None:
        result.signals[CHATTER_SIGNAL] = result.restless[:, coil].astype(np.float64)
    return State(plant, around, setup, solve(levels), result.signals, chattering, powered)


def _result_of(
    plant: Plant,
    setup: Setup,
    around: Surroundings,
    solve: Callable[[NDArray[np.uint8]], Solution],
) -> _Result:
    shape = setup.when_closed.shape
    result = _Result(np.zeros(shape, dtype=bool), np.zeros(shape, dtype=bool), {})
    passes = Passes(_at_rest(plant, setup, around))
    for number in range(1, MOST_PASSES + 1):
        if not len(passes.worlds):
            break
        mine = passes.setup_of(setup)
        passes.view.solution = solve(_levels(mine, passes.view.closed))
        for part in plant.parts:
            part.act(passes.view)
        done = passes.finished(MOST_PASSES - number)
        if done.any():
            result.keep(passes, done)
            passes = passes.without(done)
    return result


def _at_rest(plant: Plant, setup: Setup, around: Surroundings) -> View:
    closed = np.ones(setup.when_closed.shape, dtype=bool)
    for i, branch in enumerate(plant.network.branches):
        if branch.switches:
            closed[:, i] = False
    return View(setup.size, around, setup.values, plant.column, closed, plant.join)


def _levels(setup: Setup, closed: Mask) -> NDArray[np.uint8]:
    return np.where(closed, setup.when_closed, setup.when_open)
