"""Expected cost of repairing from here on without looking further, for many beliefs at once.

The plan priced here: do the repairs in a good order, prove after each one, stop when the system
works or when going on costs more than leaving. It can be carried out, so its cost is an upper
bound of the best plan's; the planner looks one step ahead and values what follows with it.

Order: repairs by chance over cost within blocks, a block being a place or a cover that must be
paid for once (bottom-up p-over-C; optimal for one fault and independent repairs: Ottosen & Jensen,
UAI 2010). A world is mended when the last repair it needs is done; what no repair mends, or a
repair misses, costs the call-back. Stopping after the first k repairs for the best k: Heckerman,
Breese & Rommelse, CACM 38(3), 1995.

Everything works on *needs* (the conditions that must go) rather than on worlds: worlds with the
same needs cost the same. A row of masses need not be normalised; the cost scales with it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.planning.safety_order import cover_minutes, covers_of, needs_power_off

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from catchpan.diagnosis.planning.need import NeedTable
    from catchpan.diagnosis.planning.situation import Situation
    from catchpan.diagnosis.worlds.family import Family, RepairModel

DECIMALS: Final = 6
"""Dollars, and bits for a dollar, are compared rounded to so many decimals, then by kind and id: so
every machine chooses alike, in whatever order it forms its sums (about 1e-13 apart)."""


@dataclass(frozen=True, eq=False)
class Openings:
    """What must still be paid once per place and per cover, in dollars, for every row.

    ``places`` has shape (rows, n_places), ``covers`` shape (rows, n_covers), columns by sorted id.
    """

    places: NDArray[np.float64]
    covers: NDArray[np.float64]


def place_ids(family: Family) -> tuple[str, ...]:
    """Ids of the places, sorted; the columns of ``Openings.places``."""
    return tuple(sorted(family.places))


@lru_cache(maxsize=4)
def cover_ids(family: Family) -> tuple[str, ...]:
    """Ids of all covers that repairs ask for, sorted; the columns of ``Openings.covers``."""
    return tuple(sorted({c for r in family.repairs.values() for c in covers_of(r.requires)}))


def openings(family: Family, situations: list[Situation]) -> Openings:
    """Return the opening costs as they stand in each of the situations."""
    rate, sites, lids = family.dollars_per_minute, place_ids(family), cover_ids(family)
    travel = np.array([family.places[p].travel_minutes * rate for p in sites])
    lifting = np.array([cover_minutes(family, c) * rate for c in lids])
    away = [[s.place != p for p in sites] for s in situations]
    shut = [[c not in s.opened for c in lids] for s in situations]
    rows = len(situations)
    return Openings(
        np.array(away, dtype=np.float64).reshape(rows, len(sites)) * travel,
        np.array(shut, dtype=np.float64).reshape(rows, len(lids)) * lifting,
    )


def proof_cost(family: Family, repair: RepairModel) -> float:
    """Dollars to prove the repair: its own proofs, or the family's usual minutes."""
    known = [family.checks[p].minutes for p in repair.proofs if p in family.checks]
    return (sum(known) if known else family.proof_minutes) * family.dollars_per_minute


def repair_cost(family: Family, repair: RepairModel) -> float:
    """Dollars of the repair and its proof, without travel and covers."""
    minutes = repair.minutes + (family.power_minutes if needs_power_off(repair.requires) else 0.0)
    spent = minutes * family.dollars_per_minute + repair.dollars + repair.hazard_cost
    return spent + proof_cost(family, repair)


@dataclass(frozen=True, eq=False)
class Tail:
    """Costs of repairing on, one entry or row for each row of masses.

    ``leaving`` is the cost of leaving at once; ``cost`` the least over leaving and the first k
    repairs in ``order`` (shape (rows, n_repairs), positions into ``NeedTable.repairs``);
    ``count`` that k.
    """

    cost: NDArray[np.float64]
    leaving: NDArray[np.float64]
    order: NDArray[np.intp]
    count: NDArray[np.intp]


def free_repairs(needs: NeedTable, situations: list[Situation]) -> NDArray[np.bool_]:
    """Shape (rows, n_repairs): is the repair still to be had in that situation."""
    known: dict[frozenset[str], list[bool]] = {}
    for done in {s.done for s in situations}:
        known[done] = [r.id not in done for r in needs.repairs]
    rows = [known[s.done] for s in situations]
    return np.array(rows, dtype=np.bool_).reshape(len(situations), len(needs.repairs))


def tail_cost(
    needs: NeedTable,
    mass: NDArray[np.float64],
    opening: Openings,
    free: NDArray[np.bool_],
) -> Tail:
    """Price repairing on from each row of masses.

    Parameters
    ----------
    mass
        Shape (rows, n_needs), not negative; need not sum to 1, the cost scales with the sum.
    free
        Shape (rows, n_repairs): the repairs still to be had.
    """
    family, n = needs.family, len(needs.repairs)
    used = np.flatnonzero(mass[:, 1:].any(axis=0)) + 1
    held = np.take(mass, used, axis=1)
    faulty = held.sum(axis=1)
    owed = leaving_dollars(needs)
    leaving = held @ owed[used]
    if n == 0:
        nothing = np.zeros((len(mass), 1), dtype=np.intp)
        return Tail(leaving, leaving, nothing[:, :0], nothing[:, 0])
    cost = np.array([max(repair_cost(family, r), 1e-9) for r in needs.repairs])
    blocks = _blocks(needs, (held @ needs.credit[used]) * free, cost, opening)
    final = np.where(free, blocks.key, np.float32(-1.0))
    order = np.lexsort((-blocks.own, -blocks.inner, -final), axis=1)
    rank = np.empty_like(order)
    np.put_along_axis(rank, order, np.arange(n)[None, :], axis=1)
    paid = _with_covers(needs, rank, cost, opening)
    running = np.cumsum(
        np.take_along_axis(paid, order, axis=1) + _going(needs, order, opening), axis=1
    )
    at = _mended_at(needs, np.where(free, rank, n), used)
    ended = _mended(at, held * needs.lasting[used], n)
    spent = np.cumsum(ended * running, axis=1)
    left = np.maximum(faulty[:, None] - np.cumsum(ended, axis=1), 0.0)
    solved = _mended(at, held * needs.lasting[used] * owed[used], n)
    stops = spent + left * running + np.maximum(leaving[:, None] - np.cumsum(solved, axis=1), 0.0)
    stops[np.arange(n)[None, :] >= free.sum(axis=1)[:, None]] = np.inf
    stops = np.hstack([leaving[:, None], stops])
    count = stops.argmin(axis=1)
    return Tail(stops[np.arange(len(stops)), count], leaving, order, count)


def revealed_cost(
    needs: NeedTable,
    mass: NDArray[np.float64],
    opening: Openings,
    done: frozenset[str],
    *,
    again: bool = False,
) -> NDArray[np.float64]:
    """Cost of each row if the truth were told: only the repairs it needs, or the call-back.

    Shape (rows,). A lower bound of every plan's cost as long as one repair does not remove two
    conditions that are cheaper to remove together than apart, and none is made again where it
    missed. With ``again`` they are, once; then it is an estimate.
    """
    family = needs.family
    cost = np.array([repair_cost(family, r) for r in needs.repairs], dtype=np.float64)
    wanted = _wanted(needs)
    gone = wanted[:, [r.id in done for r in needs.repairs]].any(axis=1)
    lasting = np.where(gone, 0.0, needs.lasting)
    owed = leaving_dollars(needs)
    alone = (wanted @ cost) * lasting + owed * (1.0 - lasting)
    if again:
        missed = 1.0 - lasting
        alone = np.where(gone, owed, (wanted @ cost) * (1.0 + missed) + owed * missed**2)
    alone[0] = 0.0
    users, places, covers = _users(needs)
    weights = mass @ np.vstack([alone, owed, users]).T
    prices = np.hstack([opening.places[:, places], opening.covers[:, covers]])
    told = weights[:, 0] + np.einsum("ij,ij->i", weights[:, 2:], prices)
    result: NDArray[np.float64] = np.minimum(told, weights[:, 1])
    return result


@lru_cache(maxsize=4)
def _users(needs: NeedTable) -> tuple[NDArray[np.float64], list[int], list[int]]:
    """Say which needs use each place and cover, shape (n_places + n_covers, n_needs).

    With the columns of those places and of those covers.
    """
    wanted = _wanted(needs)
    places, covers = _cluster_members(needs)
    rows = [wanted[:, m].any(axis=1) for m in (*places.values(), *covers.values())]
    table = np.array(rows, dtype=np.float64).reshape(len(rows), len(needs.sets))
    return table, list(places), list(covers)


@lru_cache(maxsize=4)
def leaving_dollars(needs: NeedTable) -> NDArray[np.float64]:
    """Return what leaving with each of the needs unmet costs, shape (n_needs,).

    The call-back, and where the family says so the repair, which somebody has to be paid for.
    """
    family = needs.family
    result = np.full(len(needs.sets), family.call_back_dollars)
    if family.repair_still_owed:
        cost = np.array([repair_cost(family, r) for r in needs.repairs], dtype=np.float64)
        result += _wanted(needs) @ cost
    result[0] = 0.0
    return result


@lru_cache(maxsize=4)
def _wanted(needs: NeedTable) -> NDArray[np.bool_]:
    """Shape (n_needs, n_repairs): the cheapest repair for each condition that must go."""
    family, n = needs.family, len(needs.repairs)
    cost = np.array([repair_cost(family, r) for r in needs.repairs], dtype=np.float64)
    wanted = np.zeros((len(needs.sets), n), dtype=np.bool_)
    choice = [int(np.where(row, cost, np.inf).argmin()) if row.any() else n for row in needs.fixed]
    padded = np.vstack([np.eye(n, dtype=np.bool_), np.zeros((1, n), dtype=np.bool_)])
    for column in needs.members.T:
        wanted |= padded[np.append(choice, n).astype(np.intp)[column]]
    return wanted


def entropy_bits(mass: NDArray[np.float64]) -> NDArray[np.float64]:
    """Entropy of each row times its sum, in bits; shape (rows,)."""
    held = mass[:, mass.any(axis=0)]
    total = held.sum(axis=1)
    tiny = np.finfo(np.float64).tiny
    logs = np.einsum("ij,ij->i", held, np.log2(np.maximum(held, tiny)))
    result: NDArray[np.float64] = total * np.log2(np.maximum(total, tiny)) - logs
    return result


def _mended_at(
    needs: NeedTable, rank: NDArray[np.intp], used: NDArray[np.intp]
) -> NDArray[np.intp]:
    """Position of the order at which each of the needs ``used`` is mended, shape (rows, used).

    Row r counts from r (n_repairs + 1); the last position of a row stands for never.
    """
    rows, n = rank.shape
    padded = np.hstack([rank, np.full((rows, 1), n)]).astype(np.int16)
    by_condition = np.take(padded, needs.fixers[:, 0], axis=1)
    for column in needs.fixers.T[1:]:
        np.minimum(by_condition, np.take(padded, column, axis=1), out=by_condition)
    by_condition = np.hstack([by_condition, np.full((rows, 1), -1, dtype=np.int16)])
    members = needs.members[used].T
    last = np.take(by_condition, members[0], axis=1)
    for column in members[1:]:
        np.maximum(last, np.take(by_condition, column, axis=1), out=last)
    result: NDArray[np.intp] = last + (n + 1) * np.arange(rows)[:, None]
    return result


def _mended(at: NDArray[np.intp], mass: NDArray[np.float64], n: int) -> NDArray[np.float64]:
    """Mass mended at each of the n positions of the order, shape (rows, n).

    ``mass`` has a column for each of the needs that ``at`` has.
    """
    size = len(mass) * (n + 1)
    ended = np.bincount(at.ravel(), mass.ravel(), minlength=size).astype(np.float64)
    return ended.reshape(len(mass), n + 1)[:, :n]


def _with_covers(
    needs: NeedTable, rank: NDArray[np.intp], cost: NDArray[np.float64], opening: Openings
) -> NDArray[np.float64]:
    """Cost of every repair with each cover put on its first user."""
    paid = np.tile(cost, (len(rank), 1))
    rows = np.arange(len(rank))
    for j, members in _cluster_members(needs)[1].items():
        first = np.asarray(members)[rank[:, members].argmin(axis=1)]
        paid[rows, first] += opening.covers[:, j]
    return paid


def _going(needs: NeedTable, order: NDArray[np.intp], opening: Openings) -> NDArray[np.float64]:
    """Dollars of going from place to place, at each position of the order."""
    column, travel = _place_of_repairs(needs)
    where, rows = column[order], np.arange(len(order))
    at_all = where < len(travel) - 1
    last = np.maximum.accumulate(np.where(at_all, np.arange(order.shape[1]), -1), axis=1)
    moved = at_all.copy()
    before = np.take_along_axis(where, np.maximum(last[:, :-1], 0), axis=1)
    moved[:, 1:] &= (where[:, 1:] != before) | (last[:, :-1] < 0)
    result = np.where(moved, travel[where], 0.0)
    first = at_all.argmax(axis=1)
    outset = np.hstack([opening.places, np.zeros((len(order), 1))])
    result[rows, first] = outset[rows, where[rows, first]]
    return result


@lru_cache(maxsize=4)
def _place_of_repairs(needs: NeedTable) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Column of each repair's place, the last for none, and the dollars of going to each."""
    family, known = needs.family, place_ids(needs.family)
    column = [known.index(r.place) if r.place in known else len(known) for r in needs.repairs]
    travel = [family.places[p].travel_minutes * family.dollars_per_minute for p in known]
    return np.array(column, dtype=np.intp), np.array([*travel, 0.0])


@lru_cache(maxsize=4)
def _cluster_members(needs: NeedTable) -> tuple[dict[int, list[int]], dict[int, list[int]]]:
    """Repair positions by place column and by cover column."""
    family = needs.family
    places: dict[int, list[int]] = {}
    covers: dict[int, list[int]] = {}
    column = {p: j for j, p in enumerate(place_ids(family))}
    lid = {c: j for j, c in enumerate(cover_ids(family))}
    for j, repair in enumerate(needs.repairs):
        if repair.place in column:
            places.setdefault(column[repair.place], []).append(j)
        for cover in covers_of(repair.requires):
            covers.setdefault(lid[cover], []).append(j)
    return places, covers


@dataclass(frozen=True, eq=False)
class _Blocks:
    """Arrays of shape (rows, n_repairs).

    ``own`` is chance over cost of the repair alone, ``inner`` that of its block behind a cover,
    ``key`` that of its block in a place; repairs go by key, then inner, then own, then position.
    The three are single precision: what differs in the last bits of a sum alone is equal, so that
    every machine finds the same order.
    """

    chance: NDArray[np.float64]
    price: NDArray[np.float64]
    own: NDArray[np.float32]
    inner: NDArray[np.float32]
    key: NDArray[np.float32]

    def absorb(self, members: list[int], opening: NDArray[np.float64]) -> None:
        """Let an opening cost absorb members while chance over cost rises; changes the arrays.

        The opening is then carried by the first member, so that a place sees a cover's cost once.
        """
        order = np.lexsort((-self.own[:, members], -self.key[:, members]), axis=1)
        cols, rows = np.asarray(members)[order], np.arange(len(order))
        self.price[rows, cols[:, 0]] += opening
        won = np.cumsum(np.take_along_axis(self.chance, cols, axis=1), axis=1)
        paid = np.cumsum(np.take_along_axis(self.price, cols, axis=1), axis=1)
        ratio = (won / paid).astype(np.float32)
        best = ratio.argmax(axis=1)
        inside = np.arange(len(members))[None, :] <= best[:, None]
        own_key = np.take_along_axis(self.key, cols, axis=1)
        kept = np.where(inside, ratio[rows, best][:, None], own_key)
        np.put_along_axis(self.key, cols, kept, axis=1)


def _blocks(
    needs: NeedTable, chance: NDArray[np.float64], cost: NDArray[np.float64], opening: Openings
) -> _Blocks:
    """Chance over cost of the block each repair belongs to."""
    own = (chance / cost).astype(np.float32)
    blocks = _Blocks(chance, np.tile(cost, (len(chance), 1)), own, own.copy(), own.copy())
    places, covers = _cluster_members(needs)
    for j, members in covers.items():
        blocks.absorb(members, opening.covers[:, j])
    blocks.inner[:] = blocks.key
    for j, members in places.items():
        blocks.absorb(members, opening.places[:, j])
    return blocks
