"""The worlds of one settled system: nothing wrong, single roots, pairs, with what they left.

A root that has been there for minutes has left other traces than one of days; each single root is
therefore followed through the stages of time, and each stage that differs is a world of its own.
Pairs are taken at the stage of hours. What a consequence leaves behind with a chance below one is
split off into a world of its own for single roots; of what is left behind now and then, the
likeliest ones, one at a time.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import NamedTuple

import numpy as np

from catchpan.catalog.entry import FaultEntry
from catchpan.diagnosis.worlds.bench import AFTER, Bench, Conditions, chance_of
from catchpan.diagnosis.worlds.description import Description
from catchpan.plant.blueprint import ValueEffect

STAGE_SHARE = (0.06, 0.24, 0.40, 0.30)
"""How long a root has been there when the call comes: at once, minutes, hours, days (assumed)."""

PAIR_STAGE = 2
SPLIT_AT_MOST = 2
CHAIN = 6
"""A consequence that brings a consequence: at most so many links."""

ALMOST_SURE = 0.97

SELDOM_AT_MOST = 2
"""At most so many of what is left behind now and then; their chances sum to less than 1."""

LIKELY = 0.5
"""From this chance on a consequence is followed to what it brings in turn."""


@dataclass(frozen=True)
class Weighted:
    """A set of conditions with its roots and prior weight within the system.

    ``calm``: what comes and goes among them does not show just now.
    """

    conditions: Conditions
    roots: Conditions
    weight: float
    calm: bool = False

    def showing(self, wavering: Iterable[str]) -> Conditions:
        """Return the conditions that show just now; ``wavering`` are all that come and go."""
        return self.conditions.difference(wavering) if self.calm else self.conditions


def rate_of(fault: FaultEntry, description: Description) -> float:
    """Relative frequency of a root on this very system: its rate and what is known of the site."""
    rate = fault.rate.value if fault.rate is not None else 0.0
    for more in fault.more_likely:
        applies = True
        if more.age_over_years is not None:
            applies &= (description.age_years or 0.0) > more.age_over_years
        if more.location:
            applies &= description.options.get("location") in more.location
        if more.climate:
            applies &= description.climate in more.climate
        if more.season:
            applies &= description.season in more.season
        if applies:
            rate *= more.times.value
    return rate


def _touched(bench: Bench, condition: str) -> frozenset[str]:
    return frozenset(
        e.name if isinstance(e, ValueEffect) else e.branch for e in bench.plant.effects[condition]
    )


class End(NamedTuple):
    """What a set of conditions has become by its stage of time.

    Parameters
    ----------
    conditions : frozenset of str
        With all that is more likely left behind than not.
    seldom : tuple of str
        What is left behind now and then, the likeliest first, at most ``SELDOM_AT_MOST``: a fuse
        that blows before the motor's own overload opens, a thermostat damaged by a short.
    """

    conditions: Conditions
    seldom: tuple[str, ...] = ()


def chains(bench: Bench, starts: Sequence[tuple[Conditions, int]]) -> list[End]:
    """Follow each set of conditions to what it leaves behind by its stage of time.

    Parameters
    ----------
    bench : Bench
        The system.
    starts : sequence of (conditions, stage)
        ``stage`` is a position in ``AFTER``: what takes longer has not happened yet.
    """
    names = list(bench.consequences)
    chance = np.array([chance_of(f) for f in bench.consequences.values()])
    likely = chance >= LIKELY
    found = [conditions for conditions, _ in starts]
    seldom: list[set[str]] = [set() for _ in starts]
    active = list(range(len(found)))
    for _ in range(CHAIN):
        if not active:
            break
        after = bench.after([found[i] for i in active])
        stage = np.array([starts[i][1] for i in active])
        arises = after <= stage[:, None]
        moved = []
        for k in np.flatnonzero(arises.any(axis=1)):
            i = active[k]
            seldom[i] |= {names[j] for j in np.flatnonzero(arises[k] & ~likely)}
            new = {names[j] for j in np.flatnonzero(arises[k] & likely)} - found[i]
            if new:
                found[i] |= new
                moved.append(i)
        active = moved
    return [End(c, _likeliest(bench, s - c)) for c, s in zip(found, seldom, strict=True)]


def grown(bench: Bench, sets: Sequence[Conditions]) -> list[Conditions]:
    """Return what each set of conditions becomes when the system is run on with it for days."""
    return [end.conditions for end in chains(bench, [(s, len(AFTER) - 1) for s in sets])]


def _likeliest(bench: Bench, names: Iterable[str]) -> tuple[str, ...]:
    known = sorted((-chance_of(bench.consequences[name]), name) for name in names)
    return tuple(name for _, name in known[:SELDOM_AT_MOST])


def root_starts(roots: Mapping[str, FaultEntry]) -> list[tuple[Conditions, int]]:
    """Return every single root at every stage of time, stage by stage."""
    return [(frozenset({name}), stage) for stage in range(len(AFTER)) for name in roots]


def singles(
    bench: Bench,
    roots: Mapping[str, FaultEntry],
    description: Description,
    ends: Sequence[End],
) -> list[Weighted]:
    """Every single root at every stage that differs, with weights that sum to 1 over all roots.

    ``ends`` is what ``chains`` made of ``root_starts(roots)``.
    """
    rates = {name: rate_of(f, description) for name, f in roots.items()}
    total = sum(rates.values())
    found: list[Weighted] = []
    for k, name in enumerate(roots):
        weights: dict[Conditions, float] = {}
        for stage, share in enumerate(STAGE_SHARE):
            for conditions, part in _branches(bench, ends[stage * len(roots) + k], name):
                weights[conditions] = weights.get(conditions, 0.0) + share * part
        own = frozenset({name})
        found += [Weighted(c, own, rates[name] / total * w) for c, w in weights.items()]
    return found


def _branches(bench: Bench, end: End, root: str) -> list[tuple[Conditions, float]]:
    """Branch over what is not sure to be left behind, and over what is left behind seldom."""
    branches = _split(bench, end.conditions, root)
    found = []
    rest = 1.0
    for name in end.seldom:
        chance = chance_of(bench.consequences[name])
        found += [(c | {name}, w * chance) for c, w in branches]
        rest -= chance
    return found + [(c, w * rest) for c, w in branches]


def _split(bench: Bench, conditions: Conditions, root: str) -> list[tuple[Conditions, float]]:
    """Branch over the consequences that are not almost sure, the least sure first."""
    unsure = sorted(
        (chance_of(bench.consequences[c]), c)
        for c in conditions
        if c != root and chance_of(bench.consequences[c]) < ALMOST_SURE
    )[:SPLIT_AT_MOST]
    branches = [(conditions, 1.0)]
    for chance, name in unsure:
        branches = [
            item
            for c, w in branches
            for item in ((c, w * chance), (c - {name}, w * (1.0 - chance)))
        ]
    return branches


def in_both_states(worlds: Sequence[Weighted], seen_share: Mapping[str, float]) -> list[Weighted]:
    """Split every world that holds something intermittent: it shows now, or it does not.

    Parameters
    ----------
    worlds : sequence of Weighted
        As enumerated, all showing.
    seen_share : mapping of str to float
        Share of moments at which an intermittent condition shows; the least often seen one of a
        world decides for all of it.
    """
    found = []
    for world in worlds:
        share = min((seen_share[c] for c in world.conditions if c in seen_share), default=1.0)
        found.append(replace(world, weight=world.weight * share))
        if share < 1.0:
            found.append(replace(world, weight=world.weight * (1.0 - share), calm=True))
    return found


@dataclass(frozen=True)
class Pair:
    """Two roots together, before they are simulated."""

    roots: Conditions
    weight: float


def pairs(bench: Bench, roots: Mapping[str, FaultEntry], description: Description) -> list[Pair]:
    """Every compatible pair of roots, weighted by the product of rates, summing to 1."""
    rates = {name: rate_of(f, description) for name, f in roots.items()}
    touched = {name: _touched(bench, name) for name in roots}
    found = [
        Pair(frozenset({a, b}), rates[a] * rates[b])
        for a, b in combinations(roots, 2)
        if not touched[a] & touched[b]
    ]
    total = sum(p.weight for p in found)
    return [Pair(p.roots, p.weight / total) for p in found]
