"""Evenly spaced tables, read by straight lines between the nodes; whole arrays at once."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from struct import Struct
from typing import Any

import numpy as np
from numpy.typing import NDArray

from catchpan.physics.elementwise import is_plain
from catchpan.units.span import FloatArray


@dataclass(frozen=True)
class Line:
    """Several quantities against one evenly spaced variable.

    Parameters
    ----------
    start, step : float
        First node and distance between nodes.
    values : FloatArray
        Shape (nodes, quantities).
    """

    start: float
    step: float
    values: FloatArray

    @property
    def nodes(self) -> FloatArray:
        """Where the nodes are."""
        return evenly(self.start, self.step, self.values.shape[0])

    def at(self, x: FloatArray | float) -> tuple[FloatArray, ...]:
        """Return every quantity at ``x``; beyond the ends, the straight line goes on.

        Parameters
        ----------
        x : FloatArray
            Any shape.

        Returns
        -------
        tuple of FloatArray
            One array a quantity, shaped like ``x``.
        """
        if is_plain(x):
            return self._at_one(x)
        low, share = _place(x, self.start, self.step, self.values.shape[0])
        first = self.values.take(low, axis=0)
        value = self.values.take(low + 1, axis=0)
        value -= first
        value *= share[..., None]
        value += first
        return _columns(value)

    def _at_one(self, x: Any) -> tuple[Any, ...]:
        nodes, wide = self.values.shape
        low, share = _place_of_one(x, self.start, self.step, nodes)
        both = _floats(2 * wide)(self.values, 8 * wide * low)
        return tuple([a + share * (b - a) for a, b in zip(both[:wide], both[wide:], strict=True)])


@dataclass(frozen=True)
class Sheet:
    """Several quantities against two evenly spaced variables.

    Parameters
    ----------
    x_start, x_step, y_start, y_step : float
        First nodes and distances between nodes.
    values : FloatArray
        Shape (x nodes, y nodes, quantities).
    """

    x_start: float
    x_step: float
    y_start: float
    y_step: float
    values: FloatArray

    @property
    def y_nodes(self) -> FloatArray:
        """Where the nodes of the second variable are."""
        return evenly(self.y_start, self.y_step, self.values.shape[1])

    def at(self, x: FloatArray, y: FloatArray | float) -> tuple[FloatArray, ...]:
        """Return every quantity at ``(x, y)``; held at the border outside.

        Parameters
        ----------
        x, y : FloatArray
            Any shapes that broadcast.

        Returns
        -------
        tuple of FloatArray
            One array a quantity.
        """
        if is_plain(x) and is_plain(y):
            return self._at_one(x, y)
        i, u = _place_within(x, self.x_start, self.x_step, self.values.shape[0])
        j, v = _place_within(y, self.y_start, self.y_step, self.values.shape[1])
        wide = self.values.shape[1]
        flat = self.values.reshape(-1, self.values.shape[2])
        corner, both = i * wide + j, u * v
        value = flat.take(corner, axis=0) * (1.0 - u - v + both)[..., None]
        for step, weight in ((1, v - both), (wide, u - both), (wide + 1, both)):
            part = flat.take(corner + step, axis=0)
            part *= weight[..., None]
            value += part
        return _columns(value)

    def _at_one(self, x: Any, y: Any) -> tuple[Any, ...]:
        tall, wide, depth = self.values.shape
        i, u = _place_of_one(x, self.x_start, self.x_step, tall)
        j, v = _place_of_one(y, self.y_start, self.y_step, wide)
        u = 0.0 if u < 0.0 else min(u, 1.0)
        v = 0.0 if v < 0.0 else min(v, 1.0)
        pair, corner = _floats(2 * depth), 8 * depth * (i * wide + j)
        near, far = pair(self.values, corner), pair(self.values, corner + 8 * depth * wide)
        both, right, beyond = u * v, v * (1.0 - u), u * (1.0 - v)
        own = 1.0 - both - right - beyond
        columns = zip(near[:depth], near[depth:], far[:depth], far[depth:], strict=True)
        return tuple([own * p + right * q + beyond * r + both * s for p, q, r, s in columns])


@cache
def _floats(count: int) -> Callable[[Any, int], tuple[Any, ...]]:
    """Return what reads so many plain floats off an array in one piece, from a byte on."""
    return Struct(f"{count}d").unpack_from


def _columns(value: FloatArray) -> tuple[FloatArray, ...]:
    """Return the last axis as separate arrays, each in one piece of memory."""
    flat = np.ascontiguousarray(value.reshape(-1, value.shape[-1]).T)
    return tuple(flat.reshape(flat.shape[0], *value.shape[:-1]))


def evenly(start: float, step: float, nodes: int) -> FloatArray:
    """Return so many values from ``start``, each ``step`` after the last."""
    return np.asarray(start + step * np.arange(nodes), dtype=np.float64)


def _place_of_one(x: float, start: float, step: float, nodes: int) -> tuple[int, float]:
    scaled = (x - start) / step
    low = 0 if scaled < 0.0 else nodes - 2 if scaled >= nodes - 2 else int(scaled)
    return low, scaled - low


def _place(
    x: FloatArray | float, start: float, step: float, nodes: int
) -> tuple[NDArray[np.intp], FloatArray]:
    """Return the node below each point, and how far it is past it."""
    scaled = (np.asarray(x, dtype=np.float64) - start) / step
    low = np.minimum(np.maximum(scaled, 0.0), nodes - 2.0).astype(np.intp)
    return low, scaled - low


def _place_within(
    x: FloatArray | float, start: float, step: float, nodes: int
) -> tuple[NDArray[np.intp], FloatArray]:
    """Return the same, points beyond the border taken back to it."""
    scaled = (np.asarray(x, dtype=np.float64) - start) / step
    scaled = np.minimum(np.maximum(scaled, 0.0), nodes - 1.0)
    low = np.minimum(scaled, nodes - 2.0).astype(np.intp)
    return low, scaled - low
