"""Evenly spaced tables, read by straight lines between the nodes; whole arrays at once."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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

    def at(self, x: FloatArray) -> tuple[FloatArray, ...]:
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
        low, share = _place(x, self.start, self.step, self.values.shape[0])
        first = self.values[low]
        value = first + share[..., None] * (self.values[low + 1] - first)
        return _columns(value)


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

    def at(self, x: FloatArray, y: FloatArray) -> tuple[FloatArray, ...]:
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
        i, u = _place(x, self.x_start, self.x_step, self.values.shape[0])
        j, v = _place(y, self.y_start, self.y_step, self.values.shape[1])
        u, v = np.clip(u, 0.0, 1.0)[..., None], np.clip(v, 0.0, 1.0)[..., None]
        wide = self.values.shape[1]
        flat = self.values.reshape(-1, self.values.shape[2])
        corner = i * wide + j
        near = flat[corner] * (1.0 - v) + flat[corner + 1] * v
        corner = corner + wide
        far = flat[corner] * (1.0 - v) + flat[corner + 1] * v
        value = near * (1.0 - u) + far * u
        return _columns(value)


def _columns(value: FloatArray) -> tuple[FloatArray, ...]:
    """Return the last axis as separate arrays, each in one piece of memory."""
    flat = np.ascontiguousarray(value.reshape(-1, value.shape[-1]).T)
    return tuple(flat.reshape(flat.shape[0], *value.shape[:-1]))


def evenly(start: float, step: float, nodes: int) -> FloatArray:
    """Return so many values from ``start``, each ``step`` after the last."""
    return np.asarray(start + step * np.arange(nodes), dtype=np.float64)


def _place(
    x: FloatArray, start: float, step: float, nodes: int
) -> tuple[NDArray[np.intp], FloatArray]:
    """Return the node below each point, and how far it is past it."""
    scaled = (np.asarray(x, dtype=np.float64) - start) / step
    low = np.clip(scaled, 0.0, nodes - 2.0).astype(np.intp)
    return low, scaled - low
