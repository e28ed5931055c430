"""The wiring as a ladder: every load, how the current gets to it and back, what a meter shows.

Made from the plant's own network, not drawn by hand: a rung is the shortest way from the hot side
through switches and conductors to a load and back to the other side. Beside each point stands
what a voltmeter shows there, with everything in order and with given conditions.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from catchpan.calls.ladder_words import branch_words, point_words
from catchpan.catalog.load import Catalog, catalog
from catchpan.catalog.system import archetype, build_plant
from catchpan.diagnosis.worlds.bench import surroundings
from catchpan.physics.circuits.branch import GROUND, Branch
from catchpan.plant.settle import State, settle
from catchpan.units.errors import UnknownName

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import numpy as np
    from numpy.typing import NDArray

    from catchpan.diagnosis.worlds.description import Description
    from catchpan.plant.plant import Plant

SERIES_OHM: Final = 1.5
"""A branch below this carries current on; above it, it is a load."""

NO_PATH_OHM: Final = 1.0e6
"""Above this a branch is open, or the insulation of something."""

LOAD_WEIGHT: Final = 1000.0
DIFFERS_V: Final = 1.5
"""Two readings further apart than this are marked (assumed: beyond an ordinary meter's doubt)."""


@dataclass(frozen=True)
class Line:
    """One line of a ladder.

    Parameters
    ----------
    depth : int
        How deep the rung branches off.
    words : str
        What is passed, and the point reached.
    kind : str
        ``source``, ``series``, ``load`` or ``return``.
    position : tuple of str
        ``closed``, ``open`` or empty: in order, and with the conditions.
    volts : tuple of float
        From the point to the other side, or across a load [V]: in order, and with the conditions.
    """

    depth: int
    words: str
    kind: str
    position: tuple[str, str]
    volts: tuple[float, float]

    @property
    def differs(self) -> bool:
        """Whether the conditions change what is seen here."""
        apart = abs(self.volts[0] - self.volts[1]) > DIFFERS_V
        return apart or self.position[0] != self.position[1]


@dataclass(frozen=True)
class Ladder:
    """One circuit: its title, to what its voltages are measured, and its lines."""

    title: str
    against: str
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Row:
    """One line of a drawing, before anything is measured there.

    Parameters
    ----------
    depth, words, kind
        As for ``Line``.
    branch : str
        The branch that is passed; empty at a source.
    between : tuple of str
        The nodes a voltmeter is held to.
    """

    depth: int
    words: str
    kind: str
    branch: str
    between: tuple[str, str]


@dataclass(frozen=True)
class Drawing:
    """One circuit as it is drawn: its title, to what its voltages are measured, and its rows."""

    title: str
    against: str
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class _Circuit:
    title: str
    against: str
    hot: tuple[str, ...]
    back: tuple[str, ...]
    zero: str
    avoid: frozenset[str]


@dataclass(frozen=True)
class _Rung:
    """Branch ids from the hot side, the load, and back; with the node after each."""

    source: str
    way: tuple[tuple[str, str], ...]
    load: str
    ends: tuple[str, str]
    home: tuple[tuple[str, str], ...]


def ladders(
    description: Description,
    conditions: Iterable[str] = (),
    demand: str = "cool",
    data: Catalog | None = None,
) -> tuple[Ladder, ...]:
    """Return the control circuit and the line circuit of a system.

    Parameters
    ----------
    description : Description
        With a value for every option that is wired or piped.
    conditions : iterable of str
        What the second column of readings assumes to be wrong.
    demand : str
        What the thermostat asks for.
    data : Catalog, optional
        By default the one that comes with catchpan.

    Raises
    ------
    UnknownName
        For an archetype, demand or condition this system does not know.
    """
    shipped = data or catalog()
    known = archetype(description.archetype, shipped).demands
    if demand not in known:
        raise UnknownName("demand", demand, known)
    plant = build_plant(description.archetype, description.options, data)
    wrong = tuple(sorted(conditions))
    for condition in wrong:
        if condition not in plant.conditions:
            raise UnknownName("fault of this system", condition, plant.conditions)
    state = settle(plant, plant.set_up([(), wrong]), surroundings(description, demand))
    return tuple(
        Ladder(found.title, found.against, tuple(_line(plant, state, row) for row in found.rows))
        for found in drawings(plant)
    )


def _line(plant: Plant, state: State, row: Row) -> Line:
    shown = volts(plant, state, row)
    before, then = positions(plant, state, row)[:2]
    together = ("", "") if then == "" else (before or "closed", then)
    return Line(row.depth, row.words, row.kind, together, (float(shown[0]), float(shown[1])))


def drawings(plant: Plant) -> tuple[Drawing, ...]:
    """Return the circuits of a plant as they are drawn, whatever is wrong."""
    return tuple(_drawn(plant, circuit) for circuit in _circuits(plant))


def volts(plant: Plant, state: State, row: Row) -> NDArray[np.float64]:
    """Return what a voltmeter shows at a row in each world of a state, shape (worlds,) [V]."""
    shown: NDArray[np.float64] = plant.network.voltmeter(state.solution, *row.between)
    return shown


def positions(plant: Plant, state: State, row: Row) -> list[str]:
    """Return ``open``, ``closed`` or nothing for a row in each world, the first being in order.

    Of switches always, of conductors and fuses where they are broken, there or in order.
    """
    if not row.branch:
        return [""] * state.setup.size
    column = plant.column[row.branch]
    found = plant.network.branches[column]
    ohm = [abs(level.impedance_ohm) for level in found.levels]
    broken = [ohm[k] > NO_PATH_OHM for k in state.solution.levels[:, column]]
    always = found.switches and ohm[0] <= SERIES_OHM
    return [("open" if one else "closed") if always or one or broken[0] else "" for one in broken]


def _circuits(plant: Plant) -> tuple[_Circuit, ...]:
    node = plant.join
    legs = (node["service.L1"], node["service.L2"])
    feeds = [
        _Circuit(
            "Control circuit, 24 V", "to C", (t.secondary[0],), (t.secondary[1],),
            t.secondary[1], frozenset({t.id}),
        )
        for t in plant.network.transformers
    ]  # fmt: skip
    line = _Circuit(
        "Line circuit", "to ground", legs, (*legs[::-1], GROUND), GROUND,
        frozenset(t.id for t in plant.network.transformers),
    )  # fmt: skip
    return (*feeds, line)


def _drawn(plant: Plant, circuit: _Circuit) -> Drawing:
    rungs = sorted(_rungs(plant, circuit), key=lambda r: [b for b, _ in r.way])
    drawing = _Drawer(plant, circuit)
    for source in circuit.hot:
        mine = [r for r in rungs if r.source == source]
        if mine:
            drawing.start(source)
            drawing.draw(mine, 0, 0)
    return Drawing(circuit.title, circuit.against, tuple(drawing.rows))


def _rungs(plant: Plant, circuit: _Circuit) -> list[_Rung]:
    edges = _edges(plant, circuit)
    found = []
    for branch in plant.network.branches:
        if branch.id in circuit.avoid or not _is_load(branch):
            continue
        for source in circuit.hot:
            rung = _rung(edges, branch, source, circuit)
            if rung is not None:
                found.append(rung)
                break
    return _without_parts_of_others(found)


def _without_parts_of_others(rungs: list[_Rung]) -> list[_Rung]:
    """Leave out a load that another rung already passes on its way (a capacitor, a winding)."""
    passed = {b for r in rungs for b, _ in (*r.way, *r.home)}
    return [r for r in rungs if r.load not in passed]


def _rung(
    edges: Mapping[str, list[tuple[str, str, float]]],
    load: Branch,
    source: str,
    circuit: _Circuit,
) -> _Rung | None:
    """Return the cheaper of the two ways round, or None where the load is in another circuit."""
    homes = frozenset(circuit.back) - {source}
    best: tuple[float, _Rung] | None = None
    for near, far in ((load.a, load.b), (load.b, load.a)):
        if near in homes:
            continue
        there = _way(edges, source, frozenset({near}), homes | {far}, load.id)
        back = _way(edges, far, homes, frozenset({source, near}), load.id)
        if there is None or back is None:
            continue
        cost = there[0] + back[0]
        if best is None or cost < best[0]:
            best = (cost, _Rung(source, there[1], load.id, (near, far), back[1]))
    return None if best is None or best[0] > 2.5 * LOAD_WEIGHT else best[1]


def _way(
    edges: Mapping[str, list[tuple[str, str, float]]],
    start: str,
    ends: frozenset[str],
    avoid: frozenset[str],
    load: str,
) -> tuple[float, tuple[tuple[str, str], ...]] | None:
    """Shortest way, as (branch, node after it); loads count as far longer than conductors."""
    queue: list[tuple[float, str, tuple[tuple[str, str], ...]]] = [(0.0, start, ())]
    seen: set[str] = set()
    while queue:
        cost, node, way = heapq.heappop(queue)
        if node in ends:
            return cost, way
        if node in seen or (node in avoid and node != start):
            continue
        seen.add(node)
        for branch, other, weight in edges.get(node, ()):
            if branch != load and other not in seen:
                heapq.heappush(queue, (cost + weight, other, (*way, (branch, other))))
    return None


def _edges(plant: Plant, circuit: _Circuit) -> dict[str, list[tuple[str, str, float]]]:
    found: dict[str, list[tuple[str, str, float]]] = {}
    for branch in plant.network.branches:
        ohm = abs(branch.levels[0].impedance_ohm)
        if ohm > NO_PATH_OHM or branch.id in circuit.avoid or branch.emf_v:
            continue
        weight = 1.0 if ohm < SERIES_OHM else LOAD_WEIGHT
        found.setdefault(branch.a, []).append((branch.id, branch.b, weight))
        found.setdefault(branch.b, []).append((branch.id, branch.a, weight))
    return found


def _is_load(branch: Branch) -> bool:
    ohm = abs(branch.levels[0].impedance_ohm)
    return SERIES_OHM <= ohm <= NO_PATH_OHM and not branch.emf_v


class _Drawer:
    """Writes rungs as rows, what several rungs share only once."""

    def __init__(self, plant: Plant, circuit: _Circuit) -> None:
        self.circuit = circuit
        self.rows: list[Row] = []
        self.shown: set[str] = set()
        self.names: dict[str, list[str]] = {}
        for terminal, node in plant.join.items():
            self.names.setdefault(node, []).append(terminal)

    def start(self, source: str) -> None:
        """Write the point a tree of rungs starts from."""
        self._add(0, point_words(self.names[source]) or source, "source", "", source)

    def draw(self, rungs: list[_Rung], passed: int, depth: int) -> None:
        """Write rungs that share their first ``passed`` branches."""
        ending = [r for r in rungs if len(r.way) == passed]
        going: dict[tuple[str, str], list[_Rung]] = {}
        for rung in rungs:
            if len(rung.way) > passed:
                going.setdefault(rung.way[passed], []).append(rung)
        deeper = depth + (len(going) + len(ending) > 1)
        for rung in ending:
            self._load(rung, deeper)
        for (branch, node), members in going.items():
            self._series(branch, node, deeper)
            self.draw(members, passed + 1, deeper)

    def _series(self, branch: str, node: str, depth: int, kind: str = "series") -> None:
        words, point = branch_words(branch), point_words(self.names.get(node, []))
        self._add(depth, f"{words} > {point}" if point else words, kind, branch, node)

    def _load(self, rung: _Rung, depth: int) -> None:
        self.rows.append(Row(depth, branch_words(rung.load), "load", rung.load, rung.ends))
        before = rung.ends[1]
        for branch, node in rung.home:
            if branch in self.shown:
                self._add(depth, "back: on as above", "return", "", before)
                break
            self.shown.add(branch)
            self._add(depth, f"back: {branch_words(branch)}", "return", branch, before)
            before = node

    def _add(self, depth: int, words: str, kind: str, branch: str, node: str) -> None:
        self.rows.append(Row(depth, words, kind, branch, (node, self.circuit.zero)))
