"""A system put together from its blueprint: one network, its parts, and its conditions' effects."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catchpan.physics.circuits.branch import (
    CLOSED,
    GROUND,
    OPEN,
    Branch,
    Circuit,
    Level,
    Transformer,
    resistive,
)
from catchpan.physics.circuits.network import Network
from catchpan.physics.conductors import copper_resistance_ohm
from catchpan.plant.blueprint import (
    Blueprint,
    BranchEffect,
    Effect,
    ShortEffect,
    ValueEffect,
    WireSpec,
)
from catchpan.plant.errors import UnknownPart
from catchpan.plant.part import Array, Part
from catchpan.plant.parts.registry import TYPES


@dataclass(frozen=True)
class Setup:
    """The conditions of a batch of B worlds, turned into levels and values.

    ``when_closed`` and ``when_open`` (B, branches) give the level a branch takes in each of its
    two positions; ``values`` maps every value's name to its figure in each world.
    """

    when_closed: NDArray[np.uint8]
    when_open: NDArray[np.uint8]
    values: Mapping[str, Array]

    @property
    def size(self) -> int:
        """Number of worlds in the batch."""
        return len(self.when_closed)


class Plant:
    """One system with its options settled, ready to be simulated under any conditions.

    Parameters
    ----------
    blueprint : Blueprint
        Parts and wires.
    effects : mapping of str to sequence of Effect
        What each condition does. A condition that touches anything this system does not have is
        left out; ``conditions`` lists those that apply.
    """

    def __init__(self, blueprint: Blueprint, effects: Mapping[str, Sequence[Effect]]) -> None:
        self.blueprint = blueprint
        self.parts: tuple[Part, ...] = tuple(self._part(spec) for spec in blueprint.parts)
        self.defaults = {k: v for part in self.parts for k, v in part.default_values().items()}
        branches = [br for part in self.parts for br in part.branches()]
        transformers = [t for part in self.parts for t in part.transformers()]
        branches += [_conductor(wire) for wire in blueprint.wires if wire.id]
        self.join = _join(blueprint.wires, branches, transformers)
        self.effects = {
            name: tuple(found)
            for name, found in effects.items()
            if self._touches_only_known(
                found, {br.id for br in branches} | {t.id for t in transformers}
            )
        }
        branches += self._shorts(branches)
        levels = _Levels({br.id: list(br.levels) for br in branches + _as_branches(transformers)})
        self._edits = {
            e: levels.edit(e)
            for found in self.effects.values()
            for e in found
            if not isinstance(e, ValueEffect)
        }
        self.network = Network(self._joined(branches, transformers, levels))
        self.column = self.network.column

    @property
    def conditions(self) -> tuple[str, ...]:
        """Conditions that can hold on this system."""
        return tuple(self.effects)

    def terminals(self) -> frozenset[str]:
        """All terminal names."""
        return frozenset(self.join)

    def _part(self, spec: object) -> Part:
        kind = getattr(spec, "type", "")
        if kind not in TYPES:
            raise UnknownPart("part type", str(kind), tuple(TYPES), self.blueprint.id)
        return TYPES[kind](spec)  # type: ignore[arg-type]

    def _touches_only_known(self, effects: Sequence[Effect], branch_ids: set[str]) -> bool:
        for effect in effects:
            if isinstance(effect, BranchEffect) and effect.branch not in branch_ids:
                return False
            if isinstance(effect, ValueEffect) and effect.name not in self.defaults:
                return False
            if isinstance(effect, ShortEffect):
                known = {*self.join, GROUND}
                if effect.a not in known or effect.b not in known:
                    return False
        return True

    def _shorts(self, branches: Sequence[Branch]) -> list[Branch]:
        there = {br.id for br in branches}
        shorts = {
            e.branch: e
            for found in self.effects.values()
            for e in found
            if isinstance(e, ShortEffect)
        }
        return [
            Branch(name, e.a, e.b, (OPEN, resistive(e.ohm)))
            for name, e in shorts.items()
            if name not in there
        ]

    def _joined(
        self, branches: Sequence[Branch], transformers: Sequence[Transformer], levels: "_Levels"
    ) -> Circuit:
        def node(name: str) -> str:
            return self.join.get(name, name)

        return Circuit(
            [
                Branch(
                    br.id,
                    node(br.a),
                    node(br.b),
                    tuple(levels.table[br.id]),
                    br.switches,
                    br.emf_v,
                    br.induced,
                )
                for br in branches
            ],
            [
                Transformer(
                    t.id,
                    (node(t.primary[0]), node(t.primary[1])),
                    (node(t.secondary[0]), node(t.secondary[1])),
                    t.ratio,
                    tuple(levels.table[t.id]),
                )
                for t in transformers
            ],
        )

    def set_up(self, worlds: Sequence[Iterable[str]]) -> Setup:
        """Turn each world's conditions into levels and values.

        Where two conditions touch the same branch, an open one wins over one held closed, and
        that over a changed resistance; where they touch the same value, it is set, then
        multiplied, then added to.

        Parameters
        ----------
        worlds : sequence of iterables of str
            Conditions of each world; those that do not apply to this system raise UnknownPart.
        """
        shape = (len(worlds), len(self.network.branches))
        switching = np.array([br.switches for br in self.network.branches])
        draft = Setup(
            np.zeros(shape, dtype=np.uint8),
            np.broadcast_to(switching.astype(np.uint8), shape).copy(),
            {name: np.full(len(worlds), v) for name, v in self.defaults.items()},
        )
        rows = self._members(worlds)
        ranked = ((_RANK[e.do], n, k) for n in rows for k, e in enumerate(self.effects[n]))
        for _, name, k in sorted(ranked):
            self._apply(self.effects[name][k], rows[name], draft)
        return draft

    def _members(self, worlds: Sequence[Iterable[str]]) -> dict[str, NDArray[np.intp]]:
        """Which worlds each condition holds in."""
        members: dict[str, list[int]] = {}
        for i, world in enumerate(worlds):
            for name in world:
                members.setdefault(name, []).append(i)
        for name in members:
            if name not in self.effects:
                raise UnknownPart("condition", name, tuple(self.effects), self.blueprint.id)
        return {name: np.array(rows, dtype=np.intp) for name, rows in members.items()}

    def _apply(self, effect: Effect, rows: NDArray[np.intp], draft: Setup) -> None:
        if isinstance(effect, ValueEffect):
            _change(draft.values[effect.name], rows, effect)
            return
        branch, when_closed, when_open = self._edits[effect]
        column = self.column[branch]
        if when_closed is not None:
            draft.when_closed[rows, column] = when_closed
        if when_open is not None:
            draft.when_open[rows, column] = when_open


_RANK = {
    "short": 0,
    "ohm": 0,
    "factor": 1,
    "stuck_closed": 2,
    "open": 3,
    "to": 0,
    "times": 1,
    "add": 2,
}
"""The order in which effects on the same thing are applied: the last one stands."""


def _change(figure: Array, rows: NDArray[np.intp], effect: ValueEffect) -> None:
    if effect.do == "to":
        figure[rows] = effect.value
    elif effect.do == "times":
        figure[rows] *= effect.value
    else:
        figure[rows] += effect.value


class _Levels:
    """Levels of each branch, growing as conditions ask for new ones."""

    def __init__(self, table: dict[str, list[Level]]) -> None:
        self.table = table
        self.resting = {
            name: levels[1] for name, levels in table.items() if levels[1:] and levels[1] != OPEN
        }

    def edit(self, effect: Effect) -> tuple[str, int | None, int | None]:
        """Branch, level when closed, level when open (None: unchanged)."""
        if isinstance(effect, ShortEffect):
            return (effect.branch, 1, 1)
        if isinstance(effect, ValueEffect):
            raise TypeError("a value effect has no level")
        name = effect.branch
        if effect.do == "open":
            return (name, self._add(name, OPEN), self._add(name, OPEN))
        if effect.do == "stuck_closed":
            return (name, 0, self._add(name, CLOSED))
        at_rest = self.resting.get(name)
        when_open = None if at_rest is None else self._add(name, _changed(at_rest, effect))
        return (name, self._add(name, _changed(self.table[name][0], effect)), when_open)

    def _add(self, name: str, level: Level) -> int:
        have = self.table[name]
        if level in have[1:]:
            return have.index(level, 1)
        have.append(level)
        return len(have) - 1


def _changed(level: Level, effect: BranchEffect) -> Level:
    """Level of a branch whose resistance is replaced or whose impedance is multiplied."""
    if effect.do == "ohm":
        return resistive(effect.value)
    return Level(level.impedance_ohm * effect.value, level.dc_ohm * effect.value)


def _conductor(wire: WireSpec) -> Branch:
    ohm = float(copper_resistance_ohm(wire.awg, wire.length_m))
    return Branch(wire.id, wire.a, wire.b, (resistive(ohm),))


def _as_branches(transformers: Sequence[Transformer]) -> list[Branch]:
    return [Branch(t.id, t.secondary[0], t.secondary[1], t.levels) for t in transformers]


def _join(
    wires: Sequence[WireSpec], branches: Sequence[Branch], transformers: Sequence[Transformer]
) -> dict[str, str]:
    """Terminal -> node, after wires without an id have joined their terminals."""
    parent: dict[str, str] = {}

    def find(name: str) -> str:
        parent.setdefault(name, name)
        while parent[name] != name:
            parent[name] = parent[parent[name]]
            name = parent[name]
        return name

    ends = [(w.a, w.b) for w in wires] + [(br.a, br.b) for br in branches]
    ends += [pair for t in transformers for pair in (t.primary, t.secondary)]
    for a, b in ends:
        find(a)
        find(b)
    for wire in wires:
        if not wire.id:
            a, b = find(wire.a), find(wire.b)
            if a != b:
                keep, drop = (a, b) if a == GROUND or (b != GROUND and a < b) else (b, a)
                parent[drop] = keep
    return {name: find(name) for name in parent}
