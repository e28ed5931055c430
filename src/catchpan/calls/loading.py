"""What to load into the truck, and an honest range of cost and time; both over all worlds.

Every world asks for the cheapest repairs that remove its conditions. What they need is loaded by
how likely it is to be used; what they cost, with the looking it takes to find out, gives the range.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.inference.telling import LEAST_BITS, telling_of_conditions, told_bits
from catchpan.diagnosis.planning.expected_cost import proof_cost
from catchpan.diagnosis.planning.safety_order import covers_of, needs_power_off
from catchpan.diagnosis.worlds.family import LATENT, OTHER

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from catchpan.calls.guide import Guide
    from catchpan.catalog.entry import RepairEntry
    from catchpan.catalog.load import Catalog
    from catchpan.diagnosis.inference.belief import Belief
    from catchpan.diagnosis.worlds.family import CheckModel, Family

WORTH_LOADING: Final = 0.02
"""Chance of use from which a thing is worth its place in the truck (assumed)."""

TELLS_NOTHING: Final = 1e-9
"""Bits for a dollar that are the last digits of nothing: what is certain needs no tool."""


@dataclass(frozen=True)
class Item:
    """Something to load, and the chance that this call uses it."""

    name: str
    chance: float
    kind: str


@dataclass(frozen=True)
class CostRange:
    """What is still to come: expected, and from the 10th to the 90th percentile of the worlds.

    Minutes include driving while the call is on the phone; dollars include minutes and parts.
    ``handed_over`` is the share of worlds whose repair this catalog leaves to someone else.
    """

    minutes: float
    minutes_low: float
    minutes_high: float
    dollars: float
    dollars_low: float
    dollars_high: float
    handed_over: float


def cost_range(guide: Guide) -> CostRange:
    """Return what the call will still take, as the worlds now stand.

    The spread is that of the causes alone: minutes and prices are the catalog's own figures. What
    it takes to find out which cause it is, is spread evenly over the worlds. Proofs still owed are
    made in every world, and no call comes to less than its next step.
    """
    family, chance = guide.family, guide.belief.probabilities()
    rate, bills = family.dollars_per_minute, _bills(family)
    owed = sum(family.checks[p].minutes for p in sorted(guide.situation.unproven))
    looking = _looking_dollars(guide, float(chance @ bills.dollars) + owed * rate)
    always = owed + (family.dispatch_minutes if guide.situation.on_phone else 0.0)
    minutes = bills.minutes + np.where(family.lasts, 0.0, looking / rate) + always
    dollars = bills.dollars + np.where(family.lasts, 0.0, looking) + always * rate
    low, high = (_percentile(minutes, chance, p) for p in (0.1, 0.9))
    least, most = (_percentile(dollars, chance, p) for p in (0.1, 0.9))
    next_step = _next_dollars(guide)
    return CostRange(
        minutes=float(chance @ minutes),
        minutes_low=low,
        minutes_high=high,
        dollars=max(float(chance @ dollars), next_step),
        dollars_low=max(least, next_step),
        dollars_high=max(most, next_step),
        handed_over=float(chance[bills.handed_over].sum()),
    )


def _next_dollars(guide: Guide) -> float:
    """Return what the next step costs by itself; nothing where there is none."""
    steps = [s for s in guide.plan.steps if s.target not in {"leave", "danger"}]
    return max((s.own_cost for s in steps[:1]), default=0.0)


def _looking_dollars(guide: Guide, told: float) -> float:
    """Return what finding out is expected to cost.

    The bits still open, at what the best checks ask for a bit; at most what the plan expects
    beyond the bare repairs and the proofs owed.
    """
    rate = guide.family.dollars_per_minute
    drive = guide.family.dispatch_minutes * rate if guide.situation.on_phone else 0.0
    steps = [s for s in guide.plan.steps if s.target not in {"leave", "danger"}]
    ahead = [s.total_cost - drive for s in steps[:1]]
    most = max(0.0, min([*ahead, guide.plan.repair_now]) - told)
    return min(most, _open_bits(guide) * _dollars_per_bit(guide))


def _open_bits(guide: Guide) -> float:
    """Return the entropy of what has to be repaired, in bits."""
    shares: dict[frozenset[str], float] = {}
    chance = guide.belief.probabilities().tolist()
    for need, share in zip(guide.family.needs, chance, strict=True):
        shares[need] = shares.get(need, 0.0) + share
    found = np.array([s for s in shares.values() if s > 0.0])
    return float(-(found * np.log2(found)).sum())


def _dollars_per_bit(guide: Guide) -> float:
    """Return what the five best checks ask for a bit, on average."""
    checks, bits = guide.family.checks, told_bits(guide.belief)
    prices = sorted(
        _check_cost(guide.family, checks[name]) / told
        for name, told in bits.items()
        if told >= LEAST_BITS and not checks[name].proof
    )
    return float(np.mean(prices[:5])) if prices else 0.0


def _percentile(values: NDArray[np.float64], chance: NDArray[np.float64], share: float) -> float:
    order = np.argsort(values, kind="stable")
    position = int(np.searchsorted(np.cumsum(chance[order]), share))
    return float(values[order[min(position, len(order) - 1)]])


@dataclass(frozen=True, eq=False)
class _Bills:
    """Shape (n_worlds,) each: minutes and dollars of the bare repairs, and what is handed over."""

    minutes: NDArray[np.float64]
    dollars: NDArray[np.float64]
    handed_over: NDArray[np.bool_]


@lru_cache(maxsize=4)
def _bills(family: Family) -> _Bills:
    minutes, dollars, handed = [], [], []
    chosen = cheapest_repairs(family)
    for world, need in zip(family.worlds, family.needs, strict=True):
        repairs = sorted({chosen[c] for c in need if c in chosen})
        missing = OTHER in world.conditions or any(c not in chosen for c in need)
        spent, parts = _work(family, repairs)
        extra = family.call_back_dollars if missing else 0.0
        minutes.append(spent + (family.refer_minutes if missing else 0.0))
        dollars.append(spent * family.dollars_per_minute + parts + extra)
        handed.append(missing or any(family.repairs[r].refer for r in repairs))
    return _Bills(np.array(minutes), np.array(dollars), np.array(handed, dtype=np.bool_))


def _work(family: Family, repair_ids: list[str]) -> tuple[float, float]:
    """Minutes and parts of some repairs, each place and cover paid once."""
    repairs = [family.repairs[r] for r in repair_ids]
    places = {r.place for r in repairs if r.place in family.places}
    lids = {c for r in repairs for c in covers_of(r.requires)}
    minutes = sum(family.places[p].travel_minutes for p in places)
    minutes += sum(m for p in family.places.values() for c, m in p.covers.items() if c in lids)
    minutes += sum(r.minutes + proof_cost(family, r) / family.dollars_per_minute for r in repairs)
    minutes += family.power_minutes if any(needs_power_off(r.requires) for r in repairs) else 0.0
    return minutes, sum(r.dollars for r in repairs)


@lru_cache(maxsize=4)
def cheapest_repairs(family: Family) -> dict[str, str]:
    """Return for every condition the repair that removes it at least expense."""
    found: dict[str, tuple[float, str]] = {}
    for repair in family.repairs.values():
        cost = (repair.minutes * family.dollars_per_minute + repair.dollars) / repair.success
        for condition in repair.fixes:
            if condition not in found or (cost, repair.id) < found[condition]:
                found[condition] = (cost, repair.id)
    return {condition: repair for condition, (_, repair) in found.items()}


def load_list(guide: Guide) -> tuple[Item, ...]:
    """Return what to load, the likeliest to be used first."""
    family, chance = guide.family, guide.belief.probabilities()
    chosen, telling = cheapest_repairs(family), telling_checks(guide.belief, guide.data)
    uses: dict[tuple[str, str], NDArray[np.bool_]] = {}
    for column, condition in enumerate(family.conditions):
        if condition == OTHER or family.kinds.get(condition) == LATENT:
            continue
        holds = family.membership[:, column]
        for item in _wanted(guide, condition, chosen, telling):
            uses[item] = uses.get(item, np.zeros(len(chance), dtype=np.bool_)) | holds
    items = [Item(name, float(chance[worlds].sum()), kind) for (name, kind), worlds in uses.items()]
    worth = [i for i in items if i.chance >= WORTH_LOADING]
    return tuple(sorted(worth, key=lambda i: (-round(i.chance, 3), i.kind, i.name)))


def _wanted(
    guide: Guide, condition: str, chosen: dict[str, str], telling: dict[str, str]
) -> list[tuple[str, str]]:
    found = []
    if condition in chosen:
        repair = guide.data.repairs[chosen[condition]]
        found += [(name, "part") for name in repair.load]
        found += [(name, "tool") for name in tools_of(repair, guide.data)]
    if condition in telling:
        found.append((guide.data.checks[telling[condition]].tool, "tool"))
    return found


def tools_of(repair: RepairEntry, data: Catalog) -> tuple[str, ...]:
    """Return what a repair and its proofs are made with, without what stays in the house."""
    proofs = (data.proofs[name].tool for name in repair.proofs if name in data.proofs)
    return tuple(dict.fromkeys([*repair.tools, *(tool for tool in proofs if tool)]))


def telling_checks(belief: Belief, data: Catalog) -> dict[str, str]:
    """Return for each condition the check with a tool that tells it best for its cost.

    As the belief stands: what the interview has settled needs no tool to tell it from anything.
    """
    family, checks = belief.family, data.checks
    names, bits = telling_of_conditions(belief)
    tooled = [j for j, name in enumerate(names) if name in checks and checks[name].tool]
    best: dict[str, tuple[float, str]] = {}
    for j in tooled:
        # equal but for the last bits is equal, so that every machine names the same check
        gain = (bits[:, j] / _check_cost(family, family.checks[names[j]])).astype(np.float32)
        for column in np.flatnonzero(gain > TELLS_NOTHING).tolist():
            condition, value = family.conditions[column], (float(gain[column]), names[j])
            if value > best.get(condition, (0.0, "")):
                best[condition] = value
    return {condition: check_id for condition, (_, check_id) in best.items()}


def _check_cost(family: Family, check: CheckModel) -> float:
    minutes = check.minutes + 3.0 * len(covers_of(check.requires))
    minutes += family.power_minutes if needs_power_off(check.requires) else 0.0
    return minutes * family.dollars_per_minute + check.hazard_cost + 1.0
