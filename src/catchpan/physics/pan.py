"""Drain pans: the primary pan at the coil, the auxiliary pan below, the pump's reservoir.

Which way the water goes::

    coil -> primary pan --outlet------> reservoir --pump--> drain
                |  |                        '--rim, leak--> floor
                |  '--secondary outlet----> secondary line
                '--rim, leak--> auxiliary pan --outlet----> auxiliary line
                                      '--rim, leak--------> below

Without a pump the primary outlet leads straight to the drain; without an auxiliary pan what
leaves the primary pan over its rim goes below, to the ceiling or the floor.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from catchpan.physics.pan_network import History, Network, Opening, Watch, run_water
from catchpan.units.errors import UnknownName
from catchpan.units.span import FloatArray, within

PLACES: Final = ("drain", "secondary line", "auxiliary line", "floor", "below")
"""Where water can end up outside the pans."""

VESSELS: Final = ("primary", "auxiliary", "reservoir")
"""The pans, in the order of the levels' last axis."""

_WIDE_OPEN_M3_S: Final = 1e-3
"""A share of an unlimited capacity is a share of this (about 16 gal/min)."""


@dataclass(frozen=True)
class Pan:
    """One pan or reservoir; every number may be an array of cases.

    Heights are measured from the bottom. An absent outlet, hole or switch has an infinite height.

    Parameters
    ----------
    area_m2 : array_like
        Plan area [m2], above 0.
    depth_m : array_like
        Height of the rim [m], 0 or more; 0 means there is no pan and water runs on at once.
    outlet_height_m : array_like, optional
        Where the drain (or the pump's start level) takes water [m].
    outlet_capacity_m3_s : array_like, optional
        What the drain or pump can carry when clear [m3/s].
    outlet_blocked : array_like, optional
        Share of that capacity lost to a clog, 0 to 1.
    secondary_height_m, secondary_capacity_m3_s, secondary_blocked : array_like, optional
        The same for the overflow outlet.
    leak_height_m, leak_capacity_m3_s : array_like, optional
        A crack or rust hole [m], [m3/s].
    switch_height_m : array_like, optional
        Level at which the float switch trips [m].
    switch_stops_supply : array_like of bool, optional
        Whether that switch is wired so that no more condensate is made.
    """

    area_m2: ArrayLike
    depth_m: ArrayLike
    outlet_height_m: ArrayLike = np.inf
    outlet_capacity_m3_s: ArrayLike = np.inf
    outlet_blocked: ArrayLike = 0.0
    secondary_height_m: ArrayLike = np.inf
    secondary_capacity_m3_s: ArrayLike = np.inf
    secondary_blocked: ArrayLike = 0.0
    leak_height_m: ArrayLike = np.inf
    leak_capacity_m3_s: ArrayLike = 0.0
    switch_height_m: ArrayLike = np.inf
    switch_stops_supply: ArrayLike = False


NO_AUXILIARY_PAN: Final = Pan(area_m2=1.0, depth_m=0.0)
"""Stands for a missing auxiliary pan: water runs on below at once."""

NO_PUMP: Final = Pan(area_m2=1.0, depth_m=1.0, outlet_height_m=0.0)
"""Stands for a drain by gravity: water runs on to the drain at once."""


@dataclass(frozen=True)
class PanSystem:
    """The pans of one installation (or of many cases of it).

    Parameters
    ----------
    primary : Pan
        The pan under the coil.
    auxiliary : Pan, optional
        The pan under the whole unit.
    reservoir : Pan, optional
        The condensate pump's tank.
    """

    primary: Pan
    auxiliary: Pan = field(default=NO_AUXILIARY_PAN)
    reservoir: Pan = field(default=NO_PUMP)


@dataclass(frozen=True)
class PanHistory:
    """When water reached what, and where it is at the end.

    Parameters
    ----------
    time_s : mapping
        Seconds until an event first happened, infinite if it did not, shape of the cases. Events
        are ``"<pan> outlet"``, ``"<pan> secondary"``, ``"<pan> leak"``, ``"<pan> rim"`` (water
        begins to run there) and ``"<pan> switch"`` (the switch trips).
    volume_m3 : mapping
        Water that reached each of `PLACES` [m3].
    flow_m3_s : mapping
        Water still running to each of `PLACES` at the end [m3/s].
    level_m : mapping
        Level in each of `VESSELS` at the end [m].
    """

    time_s: Mapping[str, FloatArray]
    volume_m3: Mapping[str, FloatArray]
    flow_m3_s: Mapping[str, FloatArray]
    level_m: Mapping[str, FloatArray]
    _history: History

    def hours_to(self, event: str) -> FloatArray:
        """Return the hours until an event; infinite if it does not happen in the run.

        Parameters
        ----------
        event : str
            Such as ``"primary rim"``; see ``time_s``.

        Returns
        -------
        FloatArray
            Time [h], shape of the cases.

        Raises
        ------
        UnknownName
            If there is no such event.
        """
        if event not in self.time_s:
            raise UnknownName("pan event", event, self.time_s)
        return self.time_s[event] / 3600.0

    def level_at(self, vessel: str, time_s: float) -> FloatArray:
        """Return the level in one pan at one moment of the run.

        Parameters
        ----------
        vessel : str
            One of `VESSELS`.
        time_s : float
            The moment [s].

        Returns
        -------
        FloatArray
            Level [m], shape of the cases.

        Raises
        ------
        UnknownName
            If there is no such pan.
        """
        if vessel not in VESSELS:
            raise UnknownName("pan", vessel, VESSELS)
        return self._history.level_at(time_s)[..., VESSELS.index(vessel)]


def pan_history(
    system: PanSystem,
    condensate_m3_s: ArrayLike,
    duration_s: float,
    *,
    start_level_m: Mapping[str, ArrayLike] | None = None,
) -> PanHistory:
    """Follow the condensate through the pans from time 0 on.

    Use it for how long a clog takes to trip a switch or to wet a ceiling, and (with a long
    duration) for where the water stands in the end. Not for the seconds-long cycle of a pump:
    the pump works on average, see `catchpan.physics.pan_pump`.

    Parameters
    ----------
    system : PanSystem
        The pans.
    condensate_m3_s : array_like
        Condensate made while running [m3/s], 0 or more.
    duration_s : float
        How long [s], above 0.
    start_level_m : mapping of str to array_like, optional
        Level at time 0 in any of `VESSELS` [m]; empty pans by default.

    Returns
    -------
    PanHistory
        Times, volumes, flows and levels, shaped by broadcasting all inputs.

    Raises
    ------
    OutOfRange
        If a number is outside its span.
    UnknownName
        If ``start_level_m`` names a pan that does not exist.

    Notes
    -----
    Straight walls; an outlet passes what arrives up to its capacity; a tripped switch that stops
    the supply stops it for good (someone has to look). Evaporation and the water held in the
    pipe are left out.

    Source: [ours] mass balance; see ``docs/models/water-and-air.md``.
    """
    start = dict(start_level_m or {})
    for name in start:
        if name not in VESSELS:
            raise UnknownName("pan", name, VESSELS)
    network = _network(system)
    history = run_water(
        network,
        [condensate_m3_s, 0.0, 0.0],
        [start.get(name, 0.0) for name in VESSELS],
        duration_s,
    )
    return _pan_history(network, history)


_LEADS: Final[tuple[dict[str, int | str], ...]] = (
    {"outlet": 2, "secondary": "secondary line", "leak": 1, "rim": 1},
    {"outlet": "auxiliary line", "secondary": "auxiliary line", "leak": "below", "rim": "below"},
    {"outlet": "drain", "secondary": "drain", "leak": "floor", "rim": "floor"},
)


def _network(system: PanSystem) -> Network:
    pans = (system.primary, system.auxiliary, system.reservoir)
    openings = [
        Opening(f"{VESSELS[index]} {what}", index, lead[what], height, capacity)
        for index, (pan, lead) in enumerate(zip(pans, _LEADS, strict=True))
        for what, height, capacity in _ways_out(pan)
    ]
    watches = [
        Watch(f"{VESSELS[index]} switch", index, pan.switch_height_m, pan.switch_stops_supply)
        for index, pan in enumerate(pans)
    ]
    return Network([pan.area_m2 for pan in pans], openings, watches)


def _ways_out(pan: Pan) -> list[tuple[str, ArrayLike, ArrayLike]]:
    depth = within("pan depth", pan.depth_m, 0.0, 10.0, "m")
    outlet = _unblocked(pan.outlet_capacity_m3_s, pan.outlet_blocked)
    secondary = _unblocked(pan.secondary_capacity_m3_s, pan.secondary_blocked)
    return [
        ("outlet", pan.outlet_height_m, outlet),
        ("secondary", pan.secondary_height_m, secondary),
        ("leak", pan.leak_height_m, pan.leak_capacity_m3_s),
        ("rim", depth, np.inf),
    ]


def _unblocked(capacity_m3_s: ArrayLike, blocked: ArrayLike) -> FloatArray:
    share = within("blocked share", blocked, 0.0, 1.0, "")
    capacity = within("outlet capacity", capacity_m3_s, 0.0, np.inf, "m3/s")
    plain = np.where(np.isinf(capacity) & (share > 0), _WIDE_OPEN_M3_S, capacity)
    return np.where(share >= 1.0, 0.0, plain * (1.0 - np.where(share >= 1.0, 0.0, share)))


def _pan_history(network: Network, history: History) -> PanHistory:
    zero = np.zeros(history.time_s.shape[1:])
    volume, flow = dict.fromkeys(PLACES, zero), dict.fromkeys(PLACES, zero)
    for opening in network.openings:
        if isinstance(opening.leads_to, str):
            volume[opening.leads_to] = volume[opening.leads_to] + history.volume_m3[opening.name]
            flow[opening.leads_to] = flow[opening.leads_to] + history.flow_m3_s[opening.name]
    times = {**history.opening_time_s, **history.watch_time_s}
    level = {name: history.level_m[-1][..., index] for index, name in enumerate(VESSELS)}
    return PanHistory(times, volume, flow, level, history)
