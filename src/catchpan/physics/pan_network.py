"""Vessels that fill, drain and spill into each other, exactly and many cases at once.

The model is quasi-steady. A vessel has straight walls. An opening lets out whatever reaches its
height, up to its capacity; the head above it is neglected. Between two moments at which a level
meets an opening or a watched height every flow is constant, so levels are straight lines and the
history is exact: the run steps from one such moment to the next, each case at its own pace.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from catchpan.units.errors import CatchpanError
from catchpan.units.span import FloatArray, within

LEVEL_TOLERANCE_M = 1e-9
"""Two heights closer than this are the same height."""

_STILL_M_S = 1e-15
_MOST_STEPS = 500


class NeverSettles(CatchpanError):  # noqa: N818 - reads as a claim where it is raised
    """The levels keep meeting openings far more often than a network of this size can."""

    def __init__(self, steps: int) -> None:
        super().__init__(
            f"the water levels still change after {steps} steps",
            hint="check that no opening leads back to a vessel above it",
            where="water network",
        )


@dataclass(frozen=True)
class Opening:
    """A place where water can leave a vessel.

    Parameters
    ----------
    name : str
        Unique in the network.
    vessel : int
        Index of the vessel it is in.
    leads_to : int or str
        Index of a later vessel, or the name of a place outside the network.
    height_m : array_like
        Height above the vessel's bottom [m]; infinite when absent.
    capacity_m3_s : array_like
        Most it can pass [m3/s]; infinite for a rim.
    """

    name: str
    vessel: int
    leads_to: int | str
    height_m: ArrayLike
    capacity_m3_s: ArrayLike


@dataclass(frozen=True)
class Watch:
    """A height to be noticed, such as a float switch.

    Parameters
    ----------
    name : str
        Unique in the network.
    vessel : int
        Index of the vessel it is in.
    height_m : array_like
        Height above the vessel's bottom [m]; infinite when absent.
    stops_supply : array_like of bool
        Whether reaching it ends all supply for good.
    """

    name: str
    vessel: int
    height_m: ArrayLike
    stops_supply: ArrayLike = False


@dataclass(frozen=True)
class Network:
    """Vessels with their openings and watched heights; water only runs to later vessels.

    Parameters
    ----------
    area_m2 : sequence of array_like
        Plan area of each vessel [m2], above 0.
    openings : sequence of Opening
        All openings, rims included.
    watches : sequence of Watch
        All watched heights.
    """

    area_m2: Sequence[ArrayLike]
    openings: Sequence[Opening]
    watches: Sequence[Watch] = ()


@dataclass(frozen=True)
class History:
    """What happened in a network; the leading shape is that of the cases.

    Parameters
    ----------
    time_s : FloatArray
        Moments [s], shape (moments, *cases); increasing, then repeated once a case is done.
    level_m : FloatArray
        Levels at those moments [m], shape (moments, *cases, vessels).
    opening_time_s, watch_time_s : dict
        By name: when water first ran or the height was reached [s]; infinite if never.
    volume_m3 : dict
        By opening: what ran through until the end [m3].
    flow_m3_s : dict
        By opening: what runs at the end [m3/s].
    """

    time_s: FloatArray
    level_m: FloatArray
    opening_time_s: dict[str, FloatArray]
    watch_time_s: dict[str, FloatArray]
    volume_m3: dict[str, FloatArray]
    flow_m3_s: dict[str, FloatArray]

    def level_at(self, time_s: float) -> FloatArray:
        """Return the levels at one moment.

        Parameters
        ----------
        time_s : float
            The moment [s], 0 to the end of the run; later moments return the last levels.

        Returns
        -------
        FloatArray
            Levels [m], shape (*cases, vessels).
        """
        level: FloatArray = self.level_m[0]
        for step in range(1, len(self.time_s)):
            start, end = self.time_s[step - 1], self.time_s[step]
            share = np.clip((time_s - start) / np.where(end > start, end - start, np.inf), 0, 1)
            level = level + share[..., None] * (self.level_m[step] - self.level_m[step - 1])
        return level


def run_water(
    network: Network, supply_m3_s: Sequence[ArrayLike], start_m: Sequence[ArrayLike], end_s: float
) -> History:
    """Fill, drain and spill from time 0 to the end under a constant supply.

    Parameters
    ----------
    network : Network
        The vessels and openings.
    supply_m3_s : sequence of array_like
        Water supplied to each vessel [m3/s], not negative.
    start_m : sequence of array_like
        Level in each vessel at time 0 [m], not negative. A level above an opening of infinite
        capacity is lowered to it: that water is outside already.
    end_s : float
        How long to follow it [s], above 0 and finite.

    Returns
    -------
    History
        Exact times, levels and volumes, by broadcasting all inputs against each other.

    Raises
    ------
    OutOfRange
        If a supply, level or duration is outside its span.
    NeverSettles
        If the levels never come to rest (only possible with a wrongly built network).

    Notes
    -----
    Between events dh/dt = (inflow - outflow)/area. An opening below the level passes its
    capacity; one at the level passes what is left over, up to its capacity.

    Source: [ours] mass balance with constant flows; capacity limits stand in for heads.
    """
    within("duration", end_s, 1e-9, 1e12, "s")
    run = _Run(network, supply_m3_s, start_m, end_s)
    for _ in range(_MOST_STEPS):
        if not run.step():
            return run.history()
    raise NeverSettles(_MOST_STEPS)


class _Run:
    """The moving state of one run."""

    def __init__(
        self,
        network: Network,
        supply_m3_s: Sequence[ArrayLike],
        start_m: Sequence[ArrayLike],
        end_s: float,
    ) -> None:
        self.network, self.end_s = network, end_s
        vessels, openings, watches = _stack(network, supply_m3_s, start_m)
        self.area, self.supply, start = vessels
        self.height, self.capacity = openings
        self.watched, self.stops = watches[0], watches[1].astype(bool)
        self.cases = start.shape[:-1]
        self.level = self._spilled(start)
        self.time = np.zeros(self.cases)
        self.opening_time = np.full(self.height.shape, np.inf)
        self.watch_time = np.full(self.watched.shape, np.inf)
        self.volume = np.zeros(self.height.shape)
        self.flow = np.zeros(self.height.shape)
        self.times, self.levels = [self.time], [self.level]

    def _spilled(self, start: FloatArray) -> FloatArray:
        level = start.copy()
        for index, opening in enumerate(self.network.openings):
            rim = np.where(np.isinf(self.capacity[..., index]), self.height[..., index], np.inf)
            level[..., opening.vessel] = np.minimum(level[..., opening.vessel], rim)
        return level

    def step(self) -> bool:
        """Go to the next event of every case; say whether any case moved."""
        self._note_watches()
        rate = self._rates()
        newly = (self.flow > 0) & np.isinf(self.opening_time)
        self.opening_time = np.where(newly, self.time[..., None], self.opening_time)
        left = self.end_s - self.time
        span = np.minimum(self._time_to_event(rate), left)
        self.volume = self.volume + self.flow * span[..., None]
        self.time = np.where(span >= left, self.end_s, self.time + span)
        self.level = self._snapped(self.level + rate * span[..., None])
        self.times.append(self.time)
        self.levels.append(self.level)
        return bool((span < left).any())

    def _note_watches(self) -> None:
        for index, watch in enumerate(self.network.watches):
            reached = self.level[..., watch.vessel] >= self.watched[..., index] - LEVEL_TOLERANCE_M
            newly = reached & np.isinf(self.watch_time[..., index])
            self.watch_time[..., index][newly] = self.time[newly]
        stopped = (self.stops & np.isfinite(self.watch_time)).any(axis=-1)
        self.supply = np.where(stopped[..., None], 0.0, self.supply)

    def _rates(self) -> FloatArray:
        """Flows through every opening; returns the rise of every level, m/s."""
        rest = self.supply.copy()
        self.flow = np.zeros(self.height.shape)
        for vessel in range(rest.shape[-1]):
            mine = [
                i for i, opening in enumerate(self.network.openings) if opening.vessel == vessel
            ]
            for index in mine:
                gap = self.level[..., vessel] - self.height[..., index]
                self._pass(index, gap > LEVEL_TOLERANCE_M, self.capacity[..., index], rest)
            for index in mine:
                gap = self.level[..., vessel] - self.height[..., index]
                most = np.minimum(np.maximum(rest[..., vessel], 0), self.capacity[..., index])
                self._pass(index, np.abs(gap) <= LEVEL_TOLERANCE_M, most, rest)
        return rest / self.area

    def _pass(self, index: int, when: np.ndarray, flow: FloatArray, rest: FloatArray) -> None:
        opening = self.network.openings[index]
        passed = np.where(when, flow, 0.0)
        self.flow[..., index] += passed
        rest[..., opening.vessel] -= passed
        if isinstance(opening.leads_to, int):
            rest[..., opening.leads_to] += passed

    def _time_to_event(self, rate: FloatArray) -> FloatArray:
        soonest = np.full(self.cases, np.inf)
        for vessel, height in self._breakpoints():
            gap = height - self.level[..., vessel]
            speed = rate[..., vessel]
            moves = (np.abs(gap) > LEVEL_TOLERANCE_M) & (np.abs(speed) > _STILL_M_S)
            ahead = moves & (np.sign(gap) == np.sign(speed))
            wait = np.where(ahead, gap, np.inf) / np.where(ahead, speed, 1.0)
            soonest = np.minimum(soonest, wait)
        return soonest

    def _snapped(self, level: FloatArray) -> FloatArray:
        for vessel, height in self._breakpoints():
            near = np.abs(level[..., vessel] - height) <= LEVEL_TOLERANCE_M
            level[..., vessel] = np.where(near, height, level[..., vessel])
        return level

    def _breakpoints(self) -> list[tuple[int, FloatArray]]:
        openings = enumerate(self.network.openings)
        watches = enumerate(self.network.watches)
        return [(opening.vessel, self.height[..., i]) for i, opening in openings] + [
            (watch.vessel, self.watched[..., i]) for i, watch in watches
        ]

    def history(self) -> History:
        openings = [opening.name for opening in self.network.openings]
        watches = [watch.name for watch in self.network.watches]
        return History(
            np.stack(self.times),
            np.stack(self.levels),
            _named(openings, self.opening_time),
            _named(watches, self.watch_time),
            _named(openings, self.volume),
            _named(openings, self.flow),
        )


def _named(names: Sequence[str], values: FloatArray) -> dict[str, FloatArray]:
    return {name: values[..., index] for index, name in enumerate(names)}


def _stack(
    network: Network, supply_m3_s: Sequence[ArrayLike], start_m: Sequence[ArrayLike]
) -> tuple[list[FloatArray], list[FloatArray], list[FloatArray]]:
    """Check every number and give all of them the shape of the cases."""
    rows = [
        [within("plan area", value, 1e-9, 1e9, "m2") for value in network.area_m2],
        [within("water supply", value, 0.0, 1e3, "m3/s") for value in supply_m3_s],
        [within("starting level", value, 0.0, 1e3, "m") for value in start_m],
        [within("opening height", o.height_m, 0.0, np.inf, "m") for o in network.openings],
        [within("opening capacity", o.capacity_m3_s, 0, np.inf, "m3/s") for o in network.openings],
        [within("watched height", w.height_m, 0.0, np.inf, "m") for w in network.watches],
        [np.asarray(w.stops_supply, dtype=bool) for w in network.watches],
    ]
    cases = np.broadcast_shapes(*(value.shape for row in rows for value in row))
    stacked = [_stacked(row, cases) for row in rows]
    return stacked[:3], stacked[3:5], stacked[5:]


def _stacked(row: Sequence[np.ndarray], cases: tuple[int, ...]) -> np.ndarray:
    if not row:
        return np.zeros((*cases, 0))
    return np.stack([np.broadcast_to(value, cases) for value in row], axis=-1)
