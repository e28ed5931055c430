"""Looking further ahead: what the best candidates come to when they are followed by good steps.

Every value is the cost of a plan that can be carried out, so it only falls as the search goes
deeper: a belief is worth the price of repairing on (``expected_cost.tail_cost``), or what its best
act found so far comes to, whichever is less. A few acts are followed from each belief, in the
order of their one-step price; an act is dropped where even the cost with the truth told
(``expected_cost.revealed_cost``) cannot beat what is at hand. Beliefs are priced level by level,
the candidates in turns, those with the widest gap between the two bounds first, until a counted
budget is spent: the same belief gets the same answer on every machine.

One rollout of a one-step policy: Bertsekas & Castanon, J. Heuristics 5, 1999 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.planning.expected_cost import (
    DECIMALS,
    Openings,
    revealed_cost,
    tail_cost,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from catchpan.diagnosis.planning.field import Act, Field, Spot
    from catchpan.diagnosis.planning.situation import Situation


@dataclass(frozen=True)
class Budget:
    """How far to look ahead; counted, not timed.

    Parameters
    ----------
    worlds, checks
        How many worlds and checks a field holds.
    candidates
        How many steps are followed from here.
    widths
        How many acts are followed from a belief at each depth below; the last holds from there on.
    beliefs
        How many beliefs are priced at most.
    cells
        How many masses (outcomes times needs) are priced at most.
    """

    worlds: int = 160
    checks: int = 24
    candidates: int = 8
    widths: tuple[int, ...] = (3, 2, 1)
    beliefs: int = 400
    cells: int = 200_000


FULL: Final = Budget()
LEAST_GAP: Final = 1e-4
"""A belief whose bounds lie closer than this share of the whole cost is not looked into."""


@dataclass(eq=False)
class _Node:
    weights: NDArray[np.float64]
    situation: Situation
    high: float
    low: float
    branch: int  # which candidate it follows
    ways: list[_Way] = field(default_factory=list)

    @property
    def value(self) -> float:
        return min([self.high, *(way.value for way in self.ways)])


@dataclass(eq=False)
class _Way:
    act: Act
    spent: float
    one_step: float
    nodes: list[_Node]

    @property
    def value(self) -> float:
        return self.spent + sum(node.value for node in self.nodes)


def savings(
    reduced: Field, situation: Situation, candidates: Sequence[str], budget: Budget
) -> dict[str, float]:
    """Return by how much each candidate is cheaper than its one-step price, in dollars.

    Parameters
    ----------
    candidates
        Targets of checks, repairs or ``SYSTEM``; one that the field does not hold is left out.
    """
    root = _Node(reduced.start, situation, np.inf, 0.0, -1)
    search = _Search(reduced, budget)
    search.spots[situation] = reduced.spot(situation, frozenset(candidates))
    search.run(root)
    return {way.act.target: max(way.one_step - way.value, 0.0) for way in root.ways}


def _in_turns(level: list[_Node]) -> list[_Node]:
    """Return the widest gaps first, every candidate in its turn: none is favoured by its depth."""
    places: dict[int, int] = {}
    turns = []
    for node in sorted(level, key=lambda n: -round(n.high - n.low, DECIMALS)):
        places[node.branch] = places.get(node.branch, -1) + 1
        turns.append((places[node.branch], node.branch, node))
    return [node for *_, node in sorted(turns, key=lambda turn: turn[:2])]


class _Search:
    """A search under way: the situations prepared so far and what is left of the budget."""

    def __init__(self, reduced: Field, budget: Budget) -> None:
        self.field, self.budget = reduced, budget
        self.spots: dict[Situation, Spot] = {}
        self.beliefs, self.cells = budget.beliefs, budget.cells
        self.least_gap = 0.0

    def run(self, root: _Node) -> None:
        level, width = [root], self.budget.candidates
        depth = 0
        while level:
            chosen = self._affordable(level)
            self._price(chosen, width)
            if depth == 0:
                self.least_gap = LEAST_GAP * min((way.one_step for way in root.ways), default=0.0)
            level = [n for node in chosen for way in node.ways for n in way.nodes]
            level = [n for n in level if n.high - n.low > self.least_gap]
            width = self.budget.widths[min(depth, len(self.budget.widths) - 1)]
            depth += 1

    def _affordable(self, level: list[_Node]) -> list[_Node]:
        """Return those with the widest gaps that the budget allows, and pay for them."""
        chosen: list[_Node] = []
        for node in _in_turns(level):
            cells = self._spot(node.situation).rows * len(self.field.needs.sets)
            if self.beliefs < 1 or (chosen and cells > self.cells):
                break
            self.beliefs -= 1
            self.cells -= cells
            chosen.append(node)
        return chosen if self.cells > 0 or level[0].high == np.inf else []

    def _spot(self, situation: Situation) -> Spot:
        if situation not in self.spots:
            self.spots[situation] = self.field.spot(situation)
        return self.spots[situation]

    def _price(self, nodes: list[_Node], width: int) -> None:
        """Price every act from every belief at once and keep the best ways."""
        spots = [self._spot(node.situation) for node in nodes]
        if not spots or not sum(spot.rows for spot in spots):
            return
        needs = self.field.needs
        mass = np.vstack(
            [self.field.masses(n.weights, spot) for n, spot in zip(nodes, spots, strict=True)]
        )
        opening = Openings(
            np.vstack([spot.opening.places for spot in spots]),
            np.vstack([spot.opening.covers for spot in spots]),
        )
        high = tail_cost(needs, mass, opening, np.vstack([spot.free for spot in spots])).cost
        low = np.minimum(revealed_cost(needs, mass, opening, frozenset()), high)
        ends = np.cumsum([spot.rows for spot in spots])
        for node, spot, end in zip(nodes, spots, ends, strict=True):
            rows = slice(end - spot.rows, end)
            node.ways = self._best_ways(node, spot, high[rows], low[rows], width)

    def _best_ways(
        self,
        node: _Node,
        spot: Spot,
        high: NDArray[np.float64],
        low: NDArray[np.float64],
        width: int,
    ) -> list[_Way]:
        if not spot.acts:
            return []
        total = float(node.weights.sum())
        firsts = [act.rows.start for act in spot.acts]
        own = np.array([act.dollars * total for act in spot.acts])
        price = own + np.add.reduceat(high, firsts)
        hoped = own + np.add.reduceat(low, firsts)
        order = np.lexsort((np.arange(len(price)), np.round(price, DECIMALS)))
        best = min(node.high, float(price[order[0]]))
        ways: list[_Way] = []
        for k in order[:width]:
            if hoped[k] > best + 10.0**-DECIMALS:
                continue
            act = spot.acts[k]
            after = self.field.outcomes(node.weights, act, spot)
            bounds = zip(high[act.rows], low[act.rows], strict=True)
            branch = node.branch if node.branch >= 0 else len(ways)
            nodes = [
                _Node(weights, act.after, float(h), float(lo), branch)
                for weights, (h, lo) in zip(after, bounds, strict=True)
            ]
            ways.append(_Way(act, float(own[k]), float(price[k]), nodes))
        return ways
