"""Simulate visits, weigh each with and without gauges and nameplate, and write what came of it.

python -m benchmarks.identification [VISITS] > benchmarks/identification.md

draws the two plots beside the page as well.
"""

import sys
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from benchmarks.identification.drawing import confusion, draw
from benchmarks.identification.visits import CAUSES, SOUND, Visit, make, visits
from benchmarks.identification.weighing import CHART, by_chart, shares

Array = NDArray[np.float64]
Places = NDArray[np.int64]

SEED: Final = 20240701
EACH: Final = 25
BINS: Final = (0.0, 0.3, 0.5, 0.7, 0.9, 1.0)
INTRODUCTION: Final = """# Naming what is wrong with a running unit

`nice -n 19 python -m benchmarks.identification {count} > benchmarks/identification.md`, seed
{seed}.

{kept} simulated visits ({lost} more drawn, in which the unit trips on pressure or is not solved):
{makes} makes (2 to 5 tons, SEER 10 to 16.5, R-410A, R-22, R-32, R-454B, valve or orifice, own
coils, line set and charge), {each} installations each, weather, one of nine faults or none, all
equally likely, its severity drawn from a span. Ten causes: the toss of a coin names 10 % of them.

Simulator and model share the equations of the cycle, the property tables, the form of the
compressor map, the catalog's idea of how far faults go (spans, not degrees) and that there is one
fault. They do not share the unit: map scaled by 3 % and bent, conductances 10 % by make and 8 %
by installation, volumes 4 %, device 4 %, valve setting 1.5 K, airflow 8 % indoors and 6 %
outdoors, charge 4 %, barometer, voltage; nor the instruments: errors shared by all thermometers
and both gauges, which the belief takes as independent. All these spreads are assumed. It shows
what the belief makes of units that are not its own, not how far the equations are from machines.

*Without gauges*: eight thermometers, the wet bulb of the supply air, the drop along the liquid line
and the compressor's current. *With*: both pressures besides.
Refrigerant and metering device are known; tons are three unless the *nameplate* is read. SEER,
charge and line set are never told.
"""

FED_LESS: Final = ("liquid line restricted", "device starves")

CHART_WORDS: Final = """## Against the rule chart (Rossi and Braun 1997)

It knows five faults and none, for fixed orifices. Two questions, the same to both. *All ten*: the
{all} visits; what the chart has no rule for it gets wrong. *One of six*: the {within} visits to
units with one of its five faults or none, and both told so. The last column is ours on those visits
without being told, which is a harder question than the chart's. The chart gets the same sound unit
to compare with.
"""


def main() -> None:
    """Print the page."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    random = np.random.default_rng(SEED)
    found: list[Visit] = []
    lost = makes = 0
    while len(found) < count:
        some, gone = visits(make(random), random.integers(0, len(CAUSES), EACH), random)
        found, lost, makes = [*found, *some], lost + gone, makes + 1
    found = found[:count]
    print(
        INTRODUCTION.format(
            count=count, seed=SEED, kept=len(found), lost=lost, makes=makes, each=EACH
        )
    )
    print("\n".join(page(found)))


def page(found: Sequence[Visit]) -> Iterable[str]:
    """Yield the tables."""
    truth = np.array([CAUSES.index(v.cause) for v in found])
    ways = [(g, n) for g in (False, True) for n in (False, True)]
    weighed = {
        way: np.array([shares(v, gauges=way[0], nameplate=way[1]) for v in found]) for way in ways
    }
    chart = {way: [by_chart(v, gauges=way[0], nameplate=way[1]) for v in found] for way in ways}
    yield from _overall(truth, weighed)
    yield from _against_chart(found, truth, weighed, chart)
    shown = {_way((gauges, True)): weighed[gauges, True] for gauges in (False, True)}
    draw(truth, shown)
    yield "![What is named for what](identification/confusion.svg)\n"
    yield "![How far chances can be believed](identification/calibration.svg)\n"
    for gauges in (False, True):
        yield from _confusion(truth, weighed[gauges, True], gauges=gauges)
        yield from _reliability(truth, weighed[gauges, True])


def _way(way: tuple[bool, bool]) -> str:
    return f"{'with' if way[0] else 'without'} gauges, {'nameplate' if way[1] else 'three tons'}"


def _overall(truth: Places, weighed: dict[tuple[bool, bool], Array]) -> Iterable[str]:
    yield (
        f"## All causes\n\nThe last column takes *{FED_LESS[0]}* and *{FED_LESS[1]}* for one cause:"
        " only the drop along the liquid line, and how far each of them usually goes, tells them"
        " apart.\n"
    )
    yield "| | top 1 | top 2 | Brier (0 to 2) | log score, nats | top 1, those two as one |"
    yield "|---|---|---|---|---|---|"
    rows = np.arange(len(truth))
    for way, chance in weighed.items():
        order = np.argsort(-chance, axis=1)
        first = (order[:, 0] == truth).mean()
        second = (order[:, :2] == truth[:, None]).any(axis=1).mean()
        miss = ((chance - np.eye(len(CAUSES))[truth]) ** 2).sum(axis=1).mean()
        log = np.log(np.maximum(chance[rows, truth], 1e-12)).mean()
        told = f"{first:.1%} | {second:.1%} | {miss:.3f} | {log:.3f} | {_joined(truth, chance):.1%}"
        yield f"| {_way(way)} | {told} |"
    yield f"| knowing nothing | 10.0% | 20.0% | 0.900 | {-np.log(len(CAUSES)):.3f} | |\n"


def _joined(truth: Places, chance: Array) -> float:
    """Return how often the first is right when the two that starve the coil are one cause."""
    one, other = (CAUSES.index(cause) for cause in FED_LESS)
    merged = chance.copy()
    merged[:, one] += merged[:, other]
    merged[:, other] = 0.0
    return float((merged.argmax(axis=1) == np.where(truth == other, one, truth)).mean())


def _against_chart(
    found: Sequence[Visit],
    truth: Places,
    weighed: dict[tuple[bool, bool], Array],
    chart: dict[tuple[bool, bool], list[Sequence[str]]],
) -> Iterable[str]:
    known = {SOUND, *CHART}
    within = np.array([v.cause in known for v in found])
    fixed = np.array([not v.make.is_valve for v in found])
    columns = np.array([CAUSES.index(c) for c in CAUSES if c in known])
    yield CHART_WORDS.format(within=within.sum(), all=len(found))
    yield "| | all ten: chart | ours | one of six: chart | top 2 | ours | top 2 | ours of ten |"
    yield "|---|---|---|---|---|---|---|---|"
    for way, chance in weighed.items():
        named = [[CAUSES.index(cause) for cause in ranked[:2]] for ranked in chart[way]]
        by_rules = np.array(named) == truth[:, None]
        six = columns[np.argsort(-chance[:, columns], axis=1)] == truth[:, None]
        ours = chance.argmax(axis=1) == truth
        for what, mask in (("", fixed | ~fixed), (", orifice only", fixed)):
            some = mask & within
            shares = (
                *(by_rules[mask, 0].mean(), ours[mask].mean()),
                *(by_rules[some, 0].mean(), by_rules[some].any(axis=1).mean()),
                *(six[some, 0].mean(), six[some, :2].any(axis=1).mean(), ours[some].mean()),
            )
            yield f"| {_way(way)}{what} | " + " | ".join(f"{x:.1%}" for x in shares) + " |"
    yield ""


def _confusion(truth: Places, chance: Array, *, gauges: bool) -> Iterable[str]:
    yield f"## {'With' if gauges else 'Without'} gauges, nameplate known\n"
    yield "Rows: what it is; columns: what is named first, % of the row.\n"
    yield "| | " + " | ".join(CAUSES) + " |\n|" + "---|" * (len(CAUSES) + 1)
    for i, row in enumerate(confusion(truth, chance)):
        shares = " | ".join(f"{100.0 * x:.0f}" for x in row)
        yield f"| {CAUSES[i]} ({(truth == i).sum()}) | {shares} |"
    yield ""


def _reliability(truth: Places, chance: Array) -> Iterable[str]:
    yield "| chance given to the first | visits | mean chance | right |\n|---|---|---|---|"
    top, right = chance.max(axis=1), chance.argmax(axis=1) == truth
    for low, high in pairwise(BINS):
        mask = (top > low) & (top <= high)
        if mask.any():
            yield (
                f"| {low:.0%} to {high:.0%} | {mask.sum()} | {top[mask].mean():.1%} "
                f"| {right[mask].mean():.1%} |"
            )
    yield ""


if __name__ == "__main__":
    main()
