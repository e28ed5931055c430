"""The worlds that still move, and what the passes before looked like."""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from catchpan.plant.part import Array, Mask, View
from catchpan.plant.plant import Setup

LONGEST_CIRCLE = 8
"""Passes looked back for a repetition; a longer circle runs to the last pass and ends there."""


@dataclass
class Passes:
    """The view of the worlds that still move, and their recent past.

    ``worlds`` are their numbers in the whole batch. The past holds switches (W, branches) and
    signals (W, names) after each of the last passes, newest first.
    """

    view: View
    worlds: NDArray[np.intp] = field(init=False)
    _past: list[tuple[Mask, Array]] = field(init=False, default_factory=list)
    _circle: NDArray[np.intp] = field(init=False)

    def __post_init__(self) -> None:
        self.worlds = np.arange(self.view.size)
        self._past = [self._now()]
        self._circle = np.zeros(self.view.size, dtype=np.intp)

    def _now(self) -> tuple[Mask, Array]:
        names = sorted(self.view.signals)
        table = np.empty((self.view.size, len(names)))
        for i, name in enumerate(names):
            table[:, i] = self.view.signals[name]
        return self.view.closed.copy(), table

    def setup_of(self, setup: Setup) -> Setup:
        """Cut the setup down to the worlds that still move."""
        if len(self.worlds) == setup.size:
            return setup
        return Setup(setup.when_closed[self.worlds], setup.when_open[self.worlds], self.view.values)

    def finished(self, passes_left: int) -> Mask:
        """Worlds that need no more passes, after recording the one just made.

        A world that goes round leaves at the moment of its circle that the last pass would show.
        """
        self._past = [self._now(), *self._past[:LONGEST_CIRCLE]]
        self._circle = np.zeros(self.view.size, dtype=np.intp)
        for period in range(1, len(self._past)):
            same = self._repeats(period) & (self._circle == 0)
            self._circle[same] = period
        fits = passes_left % np.maximum(self._circle, 1) == 0
        return np.asarray(((self._circle > 0) & fits) | (passes_left == 0), dtype=bool)

    def _repeats(self, period: int) -> Mask:
        now, before = self._past[0], self._past[period]
        if now[1].shape != before[1].shape:
            return np.zeros(self.view.size, dtype=bool)
        still = (now[0] == before[0]).all(axis=1) & (now[1] == before[1]).all(axis=1)
        return np.asarray(still, dtype=bool)

    def moved(self) -> Mask:
        """Switches that moved within each world's circle (in the last pass if it has none)."""
        found = np.zeros(self.view.closed.shape, dtype=bool)
        span = np.maximum(self._circle, 1)
        for back in range(min(int(span.max(initial=1)), len(self._past) - 1)):
            step = self._past[back][0] != self._past[back + 1][0]
            found |= step & (span > back)[:, None]
        return found

    def worst(self, name: str) -> Array:
        """Largest a signal gets within each world's circle, shape (W,)."""
        column = sorted(self.view.signals).index(name)
        worst: Array = self._past[0][1][:, column].copy()
        for back in range(1, int(self._circle.max(initial=1))):
            inside = self._circle > back
            worst[inside] = np.maximum(worst[inside], self._past[back][1][inside, column])
        return worst

    def without(self, done: Mask) -> "Passes":
        """Leave out the worlds that are done."""
        stay = ~done
        view = self.view
        rest = Passes(
            replace(
                view,
                size=int(stay.sum()),
                values={name: figure[stay] for name, figure in view.values.items()},
                closed=view.closed[stay],
                solution=None,
                signals={name: figure[stay] for name, figure in view.signals.items()},
            )
        )
        rest.worlds = self.worlds[stay]
        rest._past = [(closed[stay], table[stay]) for closed, table in self._past]
        return rest
