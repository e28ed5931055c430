"""What a perfect planner pays beside one who is told the cause.

Obtained with ``python -m benchmarks.planner.floor``. Nobody can do without looking, so the cost
with the cause known is no mark to reach. How far above it the optimum lies is known where it is
solved exactly: on the open benchmark, and on real families cut down until ``exact.py`` can solve
them. Writes ``floor.md``.
"""

from __future__ import annotations

from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np

from benchmarks.planner.calls.settings import SAYS, SETTINGS, SIZE, Setting
from benchmarks.planner.distance import kept
from benchmarks.planner.exact import solve
from benchmarks.planner.instances import Instance
from catchpan.catalog.load import catalog
from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.planning.expected_cost import repair_cost
from catchpan.diagnosis.planning.need import need_table
from catchpan.diagnosis.planning.safety_order import prepare
from catchpan.diagnosis.planning.situation import Situation
from catchpan.diagnosis.worlds.compiled import compiled
from catchpan.diagnosis.worlds.family import PHONE
from catchpan.store.family_shelf import FolderShelf

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from catchpan.diagnosis.worlds.family import CheckModel, Family

PAGE: Final = Path(__file__).parent / "floor.md"
SHELF: Final = Path(".cache/planner/families")
MOST_FAULTS: Final = 8
MOST_CHECKS: Final = 6


def told_cost(instance: Instance) -> float:
    """Return what is paid on the mean by one who goes to the cause and mends it."""
    each = zip(instance.prior, instance.repair_place, instance.repair_cost, strict=True)
    return sum(p * (instance.going[place] + cost) for p, place, cost in each)


def cut_down(setting: Setting, shelf: FolderShelf) -> Instance:
    """Return a small problem with the rates, looks and prices of a real family.

    A fault is all that one repair mends alone: the likeliest of these, each as its worlds are on
    the mean after the complaint. A look says one of two things, by the split of its answers that
    tells most; those that tell most for their price are taken one after the other. Preparing is
    part of a price, a repair always works, and going there is paid as in the family.
    """
    family = compiled(setting.description(catalog()), size=SIZE, shelf=shelf)
    belief = Belief.prior(family).observe(Reading(setting.complaint, SAYS, reporter="caller"))
    repairs, weights = _faults(family, belief)
    prior = weights.sum(axis=1)
    looks = _looks(family, belief, weights)
    sites = sorted(family.places)
    rate = family.dollars_per_minute
    return Instance(
        prior=tuple((prior / prior.sum()).tolist()),
        going=tuple(family.places[s].travel_minutes * rate for s in sites),
        yes=tuple(tuple(yes.tolist()) for _, _, yes in looks),
        check_cost=tuple(dollars for _, dollars, _ in looks),
        check_place=tuple(sites.index(check.place) for check, _, _ in looks),
        repair_cost=tuple(repair_cost(family, family.repairs[r]) for r in repairs),
        repair_place=tuple(sites.index(family.repairs[r].place) for r in repairs),
    )


def _faults(family: Family, belief: Belief) -> tuple[list[str], NDArray[np.float64]]:
    """Return the repairs that mend most alone, and the weights of the worlds each mends."""
    needs, chance = need_table(family), belief.probabilities()
    taken = needs.of_world == 0
    by_repair: dict[str, NDArray[np.float64]] = {}
    mends = needs.targets[:, needs.of_world] == 0
    order = sorted(range(len(needs.repairs)), key=lambda j: -float(chance[mends[j]].sum()))
    for j in order:
        repair = needs.repairs[j]
        if repair.place in family.places and not repair.refer:
            by_repair[repair.id] = np.where(mends[j] & ~taken, chance, 0.0)
            taken = taken | mends[j]
    best = sorted(by_repair, key=lambda r: -float(by_repair[r].sum()))[:MOST_FAULTS]
    return best, np.array([by_repair[r] for r in best])


def _looks(
    family: Family, belief: Belief, weights: NDArray[np.float64]
) -> list[tuple[CheckModel, float, NDArray[np.float64]]]:
    """Return the looks taken, with their dollars and the chance of one of the two answers."""
    prior = weights.sum(axis=1)
    known = []
    for check in family.checks.values():
        if check.proof or check.place == PHONE or check.place not in family.places:
            continue
        ready = prepare(
            family, Situation(place=check.place), check.place, check.requires, check.group
        )
        dollars = (ready.minutes + check.minutes) * family.dollars_per_minute + check.hazard_cost
        answers = weights @ belief.table(check) / prior[:, None]
        known.append((check, dollars, _split(prior, answers)))
    taken: list[tuple[CheckModel, float, NDArray[np.float64]]] = []
    states = (prior / prior.sum())[None, :]
    for _ in range(MOST_CHECKS):
        best = max(known, key=lambda look: _told(states, look[2]) / look[1])
        taken.append(best)
        known = [look for look in known if look[0].id != best[0].id]
        states = np.vstack([states * best[2], states * (1.0 - best[2])])
    return taken


def _split(prior: NDArray[np.float64], answers: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the chance of "yes" under each fault, for the split of the answers that tells most."""
    columns = range(answers.shape[1])
    parts = [p for n in range(1, max(len(columns), 2)) for p in combinations(columns, n)]
    options = [answers[:, list(part)].sum(axis=1).clip(0.0, 1.0) for part in parts]
    states = (prior / prior.sum())[None, :]
    return max(options, key=lambda yes: _told(states, yes))


def _told(states: NDArray[np.float64], yes: NDArray[np.float64]) -> float:
    """Return the bits one more look tells after what was told, on the mean."""
    return _bits(states) - _bits(states * yes) - _bits(states * (1.0 - yes))


def _bits(states: NDArray[np.float64]) -> float:
    total = states.sum(axis=1, keepdims=True)
    tiny = np.finfo(np.float64).tiny
    return float(-(states * np.log2(np.maximum(states, tiny) / np.maximum(total, tiny))).sum())


def page() -> Iterator[str]:
    """Yield the lines of the page."""
    yield "# What a perfect planner pays beside one who is told the cause"
    yield ""
    yield "Obtained with `python -m benchmarks.planner.floor`. The clairvoyant of the simulated"
    yield "calls looks at nothing; no planner can. Here the optimum is known exactly, so its ratio"
    yield "to that cost says what can be reached at all."
    yield ""
    yield "## On the open benchmark"
    yield ""
    yield "| group | instances | optimum over cost when told |"
    yield "|---|---|---|"
    groups: dict[str, list[tuple[float, float]]] = {}
    for group, instance, optimum in kept():
        groups.setdefault(group, []).append((optimum, told_cost(instance)))
    for group, costs in groups.items():
        yield f"| {group} | {len(costs)} | {_ratio(costs):.2f} |"
    yield ""
    yield "## On real families, cut down"
    yield ""
    yield f"The {MOST_FAULTS} likeliest repairs that mend a system alone, {MOST_CHECKS} looks of"
    yield "two answers, real prices and places; repairs always work, the drive is paid in both. The"
    yield "full families hold some hundred times as many causes: more has to be found out in them."
    yield ""
    yield "| setting | bits open | optimum, $ | told, $ | ratio |"
    yield "|---|---|---|---|---|"
    yield from _families(SETTINGS, FolderShelf(SHELF))


def _families(settings: Sequence[Setting], shelf: FolderShelf) -> Iterator[str]:
    found = []
    for setting in settings:
        instance = cut_down(setting, shelf)
        family = compiled(setting.description(catalog()), size=SIZE, shelf=shelf)
        drive = family.dispatch_minutes * family.dollars_per_minute
        costs = (solve(instance).optimum + drive, told_cost(instance) + drive)
        found.append(costs)
        bits = _bits(np.array(instance.prior)[None, :])
        cells = f"{bits:.1f} | {costs[0]:.0f} | {costs[1]:.0f} | {costs[0] / costs[1]:.2f}"
        yield f"| {setting.name.replace('.', ': ')} | {cells} |"
    yield f"| all | | | | {_ratio(found):.2f} |"


def _ratio(costs: Sequence[tuple[float, float]]) -> float:
    return sum(a for a, _ in costs) / sum(b for _, b in costs)


if __name__ == "__main__":
    PAGE.write_text("\n".join(page()) + "\n", encoding="utf-8")
