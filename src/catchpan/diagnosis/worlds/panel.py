"""The panel: all that instruments read on a running circuit, in every world and any weather.

Readings taken off one circuit go together: they share the weather, how far the fault has gone,
and how this very unit differs from its kind. A world therefore has *nodes* (operating states with
weights, one for each degree of its faults), and each node has its readings tabulated over the
weather, from which mean and slope are interpolated for the weather of the visit.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from catchpan.diagnosis.worlds.panel_quantity import VARIABLES, WEATHER, Array, SaturationChart

RUNNING, STANDING = 0, 1
"""Kinds of states: a circuit that works, one at rest."""

LEAST_DEPRESSION_K: Final = 0.5


@dataclass(frozen=True, eq=False)
class Weather:
    """What is known of the weather of the visit: means and spreads, independent of each other.

    Parameters
    ----------
    mean_k, sd_k : array, shape (3,)
        Outdoor air, return air, return wet bulb [K].
    """

    mean_k: Array
    sd_k: Array

    def told(self, column: int, value_k: float, sd_k: float) -> "Weather":
        """Return it after a reading of one of the three."""
        mean, spread = self.mean_k.copy(), self.sd_k.copy()
        trust = spread[column] ** 2 / (spread[column] ** 2 + sd_k**2)
        mean[column] += trust * (value_k - mean[column])
        spread[column] *= np.sqrt(1.0 - trust)
        return Weather(mean, spread)


@dataclass(frozen=True, eq=False)
class Panel:
    """The panel of one demand.

    Parameters
    ----------
    demand : str
        What the thermostat asks for.
    axes : tuple of three arrays
        Nodes of outdoor temperature, wet bulb, and depression of the wet bulb [K].
    means : array, shape (states, nodes of the axes, variables)
        What each state reads at each node of the weather.
    kind, chart : array, shape (states,)
        Running or standing; which of the charts its pressures follow.
    beside : array, shape (states, 2)
        The states in which the same faults have gone one degree less far, and one farther; the
        state itself where there is none.
    charts : tuple of SaturationChart
        The chart of the nameplate first.
    node_state, node_weight : array, shape (nodes,)
        State and weight of each degree of a group, groups one after the other.
    group_start : array, shape (groups,)
        First node of each group.
    group_of : array, shape (worlds,)
        Group of each world; -1 for those outside the library.
    usual : Weather
        What is known of the weather before anything is read.
    """

    demand: str
    axes: tuple[Array, Array, Array]
    means: NDArray[np.float32]
    kind: NDArray[np.int8]
    chart: NDArray[np.int8]
    beside: NDArray[np.int32]
    charts: tuple[SaturationChart, ...]
    node_state: NDArray[np.int32]
    node_weight: Array
    group_start: NDArray[np.int32]
    group_of: NDArray[np.int32]
    usual: Weather

    @cached_property
    def node_group(self) -> NDArray[np.intp]:
        """Group of each node, shape (nodes,)."""
        sizes = np.diff(np.append(self.group_start, len(self.node_state)))
        return np.repeat(np.arange(len(sizes)), sizes)

    def by_world(self, by_group: Array, outside: Array | float) -> Array:
        """Spread what was found for groups over the worlds; ``outside`` for those outside."""
        found = by_group[np.maximum(self.group_of, 0)]
        found[self.group_of < 0] = outside
        return np.asarray(found)

    def readings(self, weather_k: Array) -> Array:
        """Return what every state reads in a weather (3,), shape (states, variables)."""
        weights = self._corner_weights(weather_k)
        used = np.flatnonzero(weights)
        return np.asarray(np.einsum("g,sgv->sv", weights[used], self.means[:, used], optimize=True))

    def slopes(self, weather: Weather) -> Array:
        """Return how readings change with the weather, shape (states, variables, 3).

        Over a spread of the weather on either side, so that a bend within it counts.
        """
        found = np.empty((*self.means.shape[::2], len(WEATHER)))
        for column in range(len(WEATHER)):
            step = np.zeros(len(WEATHER))
            step[column] = max(float(weather.sd_k[column]), 0.3)
            up, down = (self.readings(weather.mean_k + s) for s in (step, -step))
            found[:, :, column] = (up - down) / (2.0 * step[column])
        return found

    def degree_spread(self, readings: Array) -> Array:
        """Return how far readings move, one standard deviation, within each state's own degree.

        A degree stands for all those up to half way to the next: evenly spread over that stretch.
        ``readings`` is what every state reads, shape (states, variables), as is what comes back.
        """
        lighter, farther = self.beside.T
        own = np.arange(len(self.beside))
        steps = (lighter != own).astype(np.int64) + (farther != own)
        stretch = (readings[farther] - readings[lighter]) / np.maximum(steps, 1)[:, None]
        return np.asarray(stretch / np.sqrt(12.0))

    def _corner_weights(self, weather_k: Array) -> Array:
        """Weights of the nodes round a weather; beyond the last node it stays there."""
        outdoor, indoor, wet = weather_k
        place = (outdoor, wet, max(indoor - wet, LEAST_DEPRESSION_K))
        each = [_weights(axis, at) for axis, at in zip(self.axes, place, strict=True)]
        return np.asarray(np.einsum("i,j,k->ijk", *each).ravel())


def _weights(axis: Array, at: float) -> Array:
    weights = np.zeros(len(axis))
    place = np.interp(at, axis, np.arange(len(axis)))
    low = min(int(place), len(axis) - 2)
    weights[low], weights[low + 1] = 1.0 - (place - low), place - low
    return weights


def unit_covariance(kind: int) -> Array:
    """Return how this very unit may differ from the model of its kind, shape (variables,) twice.

    Four shared causes and a rest for each reading; see docs/models/refrigerant-and-cycle.md for
    where the figures come from.
    """
    rest = np.diag(np.array(_REST[kind]) ** 2)
    loads = np.array([[cause.get(name, 0.0) for name in VARIABLES] for cause in _SHARED[kind]])
    return np.asarray(rest + loads.T @ loads)


_SHARED: Final = {
    RUNNING: (
        {
            "evaporating_k": 2.5,
            "suction_line_k": 2.5,
            "discharge_k": 1.5,
            "indoor_leaving_k": 0.8,
            "indoor_leaving_wet_bulb_k": 0.5,
        },
        {"condensing_k": 2.0, "liquid_line_k": 2.0, "discharge_k": 3.0, "compressor_a": 0.5},
        {"suction_line_k": 2.5, "discharge_k": 3.0},
        {"liquid_line_k": -2.0},
    ),
    STANDING: ({"evaporating_k": 4.0, "condensing_k": 4.0},),
}
"""Larger or smaller coils indoors and outdoors, setting or size of the metering device, charge
within its tolerance; at rest, how warm the coldest spot of the circuit is [K, A]."""

_REST: Final = {
    RUNNING: (0.5, 0.5, 1.0, 1.0, 5.0, 1.0, 2.0, 1.2, 2.5e-4, 0.6, 0.5),
    STANDING: (1.0, 1.0, 5.0, 5.0, 15.0, 2.0, 4.0, 1.5, 2.0e-5, 1.0, 1.0),
}
