"""Compiling the panel: which states the worlds' circuits can be in, and what each state reads."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import Final, NamedTuple

import numpy as np

from catchpan.catalog.entry import FaultEntry, ObserveEntry
from catchpan.catalog.load import Catalog
from catchpan.diagnosis.worlds.bench import Conditions, surroundings
from catchpan.diagnosis.worlds.check_models import SettledWorlds
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.panel import RUNNING, STANDING, Panel, Weather
from catchpan.diagnosis.worlds.panel_chart import charts_of
from catchpan.diagnosis.worlds.panel_quantity import VARIABLES, Array
from catchpan.diagnosis.worlds.probe import Probe
from catchpan.plant.degrees import MOTORS, circuit_of, departures_at
from catchpan.plant.refrigeration import (
    COLUMN,
    Air,
    Nameplate,
    air_of,
    running,
    standing,
    warmed_wet_bulb_k,
)

PREFIX: Final = "panel:"
DEMANDS: Final = ("cool", "heat")

SIGNALS: Final = (
    *MOTORS,
    "cycle.given.runs",
    "cycle.given.cools",
    "cycle.given.other_refrigerant",
    "compressor.clamp_a",
    "supply.added_k",
    "air.flow_share",
)
"""What is taken from the settled worlds."""

AXES: Final = {
    "cool": ((288.15, 298.15, 307.15, 316.15), (285.15, 291.65, 298.15), (2.0, 11.0)),
    "heat": ((253.15, 266.15, 275.15, 284.15, 293.15), (281.15, 295.15), (1.0, 12.0)),
}
"""Nodes of outdoor air, wet bulb and its depression [K]: 15 to 43 degC outdoors in cooling, -20 to
20 degC in heating; 12 to 25 degC wet bulb (8 to 22 in heating, where a dry coil hardly minds it).
Between them readings go in straight lines."""

KNOWN_SD_K: Final = (3.0, 1.5, 2.0)
GUESSED_SD_K: Final = (5.0, 1.7, 2.5)
"""Spread of outdoor air, return air and its wet bulb where they were told (weather report,
thermostat) and where they were not (assumed)."""


def panel_probes(demands: Sequence[str]) -> dict[str, Probe]:
    """Return the probes that say how each world's circuit stands under each demand."""
    return {
        f"{PREFIX}{signal}:{demand}": Probe(
            ObserveEntry.model_validate({"quantity": "signal", "of": signal, "demand": demand})
        )
        for demand in DEMANDS
        if demand in demands
        for signal in SIGNALS
    }


def panels_of(
    description: Description,
    data: Catalog,
    settled: Sequence[SettledWorlds],
) -> dict[str, Panel]:
    """Return the panel of each demand that some check reads, if the circuit serves it.

    The last worlds are those outside the library, one for each setting.
    """
    read = {c.observe.demand for c in data.checks.values() if c.observe.quantity == "cycle"}
    heats = circuit_of(settled[0].bench.plant).plate.heat_pump
    demands = [d for d in DEMANDS if d in read and (d == "cool" or heats)]
    return {d: _Compiler(description, data.faults, d).panel(settled) for d in demands}


class _State(NamedTuple):
    """What makes an operating state; an empty circuit is one at rest."""

    plate: Nameplate
    circuit: tuple[float, ...]
    cools: bool
    is_other: bool
    added_k: float
    standing_a: float
    air_moves: bool


@dataclass
class _Compiler:
    """One demand's panel in the making: states, groups of nodes, and who belongs to which."""

    description: Description
    faults: Mapping[str, FaultEntry]
    demand: str
    _states: dict[_State, int] = field(default_factory=dict)
    _groups: dict[tuple[tuple[int, float], ...], int] = field(default_factory=dict)
    _beside: dict[int, tuple[int, int]] = field(default_factory=dict)

    def panel(self, settled: Sequence[SettledWorlds]) -> Panel:
        group_of = np.concatenate([*(self._groups_of(w) for w in settled), [-1] * len(settled)])
        nodes = [node for group in self._groups for node in group]
        sizes = [len(group) for group in self._groups]
        keys = list(self._states)
        return Panel(
            demand=self.demand,
            axes=tuple(np.array(a) for a in AXES[self.demand]),  # type: ignore[arg-type]
            means=self._readings(keys).astype(np.float32),
            kind=np.array([RUNNING if k.circuit else STANDING for k in keys], dtype=np.int8),
            chart=np.array([k.is_other for k in keys], dtype=np.int8),
            beside=np.array([self._beside.get(s, (s, s)) for s in range(len(keys))], np.int32),
            charts=charts_of(keys[0].plate),
            node_state=np.array([s for s, _ in nodes], dtype=np.int32),
            node_weight=np.array([w for _, w in nodes]),
            group_start=np.cumsum([0, *sizes[:-1]]).astype(np.int32),
            group_of=group_of.astype(np.int32),
            usual=self._weather(),
        )

    def _weather(self) -> Weather:
        around = surroundings(self.description, self.demand)
        air = air_of(around.outdoor_c, around.indoor_c, around.indoor_rh)
        known = (
            self.description.outdoor_c is not None
            and abs(self.description.outdoor_c - around.outdoor_c) < 0.1,
            self.description.indoor_c is not None,
            self.description.indoor_c is not None,
        )
        spread = [KNOWN_SD_K[k] if told else GUESSED_SD_K[k] for k, told in enumerate(known)]
        mean = np.array([air.outdoor_k, air.indoor_k, air.indoor_wet_bulb_k], dtype=np.float64)
        return Weather(mean, np.array(spread))

    def _groups_of(self, worlds: SettledWorlds) -> Array:
        """Group of each world of a setting: the nodes of what shows just now."""
        found = []
        for nodes in self._nodes_of(worlds, worlds.showing):
            weight: dict[int, float] = {}
            for state, share in nodes:
                weight[state] = weight.get(state, 0.0) + share
            group = tuple(sorted((s, round(w, 9)) for s, w in weight.items() if w > 0.0))
            found.append(self._groups.setdefault(group, len(self._groups)))
        return np.array(found, dtype=np.float64)

    def _nodes_of(
        self, worlds: SettledWorlds, sets: Sequence[Conditions]
    ) -> list[list[tuple[int, float]]]:
        """States and weights of each set of conditions, one for each degree of its faults."""
        signals = self._signals(worlds, sets)
        rows: list[int] = []
        shares: list[Mapping[str, float]] = []
        weights: list[float] = []
        for i, conditions in enumerate(sets):
            for share, weight in self._degrees(conditions):
                rows.append(i)
                shares.append(share)
                weights.append(weight)
        place = np.array(rows)
        plant = worlds.bench.plant
        motors = {n: signals[n][place] for n in MOTORS if n in signals}
        around = surroundings(self.description, self.demand)
        given = departures_at(plant, [sets[i] for i in rows], shares, motors, around)
        states = self._state_numbers(circuit_of(plant).plate, given, signals, place)
        found: list[list[tuple[int, float]]] = [[] for _ in sets]
        for i, state, weight in zip(rows, states, weights, strict=True):
            found[i].append((state, weight))
        for nodes in found:
            self._put_beside([state for state, _ in nodes])
        return found

    def _put_beside(self, degrees: Sequence[int]) -> None:
        """Note which states lie next to each other on the way of some faults, light to far."""
        for lighter, state, farther in zip(
            [*degrees[:1], *degrees], degrees, [*degrees[1:], *degrees[-1:]], strict=False
        ):
            if (lighter, farther) != (state, state):
                self._beside.setdefault(state, (lighter, farther))

    def _signals(self, worlds: SettledWorlds, sets: Sequence[Conditions]) -> dict[str, Array]:
        found = {}
        for name in SIGNALS:
            shown = worlds.shown(f"{PREFIX}{name}:{self.demand}", sets)
            if shown is not None:
                found[name] = shown
        return found

    def _degrees(self, conditions: Conditions) -> list[tuple[Mapping[str, float], float]]:
        """Degrees of a world's faults together: each fault light, medium or far at the same time.

        Two faults in one world are rare, and their degrees are taken to go together (assumed).
        """
        graded = [(n, self.faults[n].degrees) for n in sorted(conditions) if n in self.faults]
        graded = [(n, d) for n, d in graded if d]
        if not graded:
            return [({}, 1.0)]
        longest = max((d for _, d in graded), key=len)
        total = sum(d.weight for d in longest)
        return [
            (
                {n: d[min(k * len(d) // len(longest), len(d) - 1)].share for n, d in graded},
                degree.weight / total,
            )
            for k, degree in enumerate(longest)
        ]

    def _state_numbers(
        self, plate: Nameplate, given: Array, signals: Mapping[str, Array], place: Array
    ) -> list[int]:
        """Return the number of the state of each row; rows that read the same share one."""
        runs = signals["cycle.given.runs"][place] > 0.5
        cools = signals["cycle.given.cools"][place] > 0.5
        other = signals["cycle.given.other_refrigerant"][place] > 0.5
        added = np.round(signals["supply.added_k"][place], 1)
        amps = np.where(runs, 0.0, np.round(signals["compressor.clamp_a"][place], 1))
        moving = signals["air.flow_share"][place] > 0.03
        found = []
        for k, row in enumerate(np.round(given, 3)):
            circuit = tuple(row.tolist()) if runs[k] else ()
            key = _State(
                plate,
                circuit,
                bool(cools[k]),
                bool(other[k]),
                float(added[k]),
                float(amps[k]),
                bool(moving[k]),
            )
            found.append(self._states.setdefault(key, len(self._states)))
        return found

    def _readings(self, keys: Sequence[_State]) -> Array:
        """Return what every state reads over the weather, shape (states, nodes, variables)."""
        weather = _weather_nodes(self.demand)
        count = np.size(weather.outdoor_k)
        columns = [COLUMN[name] for name in VARIABLES]
        means = np.tile(standing(weather, count)[:, columns], (len(keys), 1, 1))
        for rows, heating in _batches(keys):
            circuits = np.array([keys[i].circuit for i in rows])
            distinct, place = np.unique(circuits, axis=0, return_inverse=True)
            air = Air(*(np.tile(a, len(distinct)) for a in vars(weather).values()))
            each = np.repeat(distinct, count, axis=0)
            read = running(keys[rows[0]].plate, air, each, heating=heating)
            means[rows] = read[:, columns].reshape(len(distinct), count, -1)[place.ravel()]
        for i, state in enumerate(keys):
            if not state.circuit:
                means[i, :, VARIABLES.index("compressor_a")] = state.standing_a
            _put_supply(means[i], state, weather)
        return means


def _put_supply(means: Array, state: _State, weather: Air) -> None:
    """Warm the supply air by what furnace or strips add; still air is the room's."""
    dry, wet = (VARIABLES.index(n) for n in ("indoor_leaving_k", "indoor_leaving_wet_bulb_k"))
    if not state.air_moves:
        means[:, dry], means[:, wet] = weather.indoor_k, weather.indoor_wet_bulb_k
    elif state.added_k:
        means[:, wet] = warmed_wet_bulb_k(means[:, dry], means[:, wet], state.added_k)
        means[:, dry] += state.added_k


def _batches(keys: Sequence[_State]) -> list[tuple[list[int], bool]]:
    """Return running states that can be solved together: of one unit and one mode."""
    found: dict[tuple[Nameplate, bool], list[int]] = {}
    for i, state in enumerate(keys):
        if state.circuit:
            found.setdefault((state.plate, not state.cools), []).append(i)
    return [(rows, heating) for (_, heating), rows in found.items()]


def _weather_nodes(demand: str) -> Air:
    """Return the air at every node of the axes, the last axis fastest."""
    nodes = np.array(list(product(*AXES[demand])))
    outdoor, wet, depression = nodes.T
    return Air(outdoor, wet + depression, wet)
