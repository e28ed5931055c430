"""Where the minutes go, policy by policy, and where the promise and the outcome part."""

from __future__ import annotations

from typing import TYPE_CHECKING, get_args

import numpy as np

from benchmarks.planner.calls.policies import CLAIRVOYANT, OURS
from catchpan.diagnosis.rehearsal.record import For

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from benchmarks.planner.calls.figures import Plays
    from catchpan.diagnosis.rehearsal.record import Record

NONE_OF_THESE = "none-of-these"


def minutes_lines(plays: Plays) -> Iterator[str]:
    """Yield the table of mean minutes by what they were spent on, the clairvoyant's subtracted.

    The first column is what the clairvoyant spends; the others are what comes on top of it.
    """
    told = plays.get(CLAIRVOYANT)
    if not told:
        return
    others = [name for name in plays if name != CLAIRVOYANT]
    yield f"| minutes for | {CLAIRVOYANT} | {' | '.join(f'{n}, over that' for n in others)} |"
    yield "|---" * (len(others) + 2) + "|"
    spent = {name: _minutes(list(found.values())) for name, found in plays.items()}
    for what, base in spent[CLAIRVOYANT].items():
        over = " | ".join(f"{spent[n][what] - base:+.1f}" for n in others)
        yield f"| {what} | {base:.1f} | {over} |"


def _minutes(records: Sequence[Record]) -> dict[str, float]:
    """Return mean minutes by what they were spent on, and all of them."""
    found = {w: float(np.mean([r.minutes_for.get(w, 0.0) for r in records])) for w in get_args(For)}
    return found | {"all": _mean(records, lambda r: r.minutes)}


def costs_lines(plays: Plays) -> Iterator[str]:
    """Yield the table of all costs in dollars: mean and percentiles, policy by policy."""
    yield "| policy | all costs, $: mean | median | 90th | 99th |"
    yield "|---" * 5 + "|"
    for name, found in plays.items():
        dollars = np.array([r.cost_dollars for r in found.values()])
        cells = [dollars.mean(), *(np.percentile(dollars, q) for q in (50, 90, 99))]
        yield f"| {name} | {' | '.join(f'{float(x):.0f}' for x in cells)} |"


def promise_lines(plays: Plays) -> Iterator[str]:
    """Yield what was promised and what came, by how the call ended and what was there."""
    ours = list(plays[OURS].values())
    kinds: dict[str, Callable[[Record], bool]] = {
        "fixed, one condition there": lambda r: r.fixed and len(r.there) == 1,
        "fixed, more than one": lambda r: r.fixed and len(r.there) > 1,
        "closed as done, and it is not": lambda r: r.call_back,
        "handed over or out of steps": lambda r: not r.fixed and not r.call_back,
    }
    yield "| calls that ended so | calls | promised, $ | actual, $ | adds to the mean gap, $ |"
    yield "|---|---|---|---|---|"
    for name, belongs in kinds.items():
        mine = [r for r in ours if belongs(r)]
        if not mine:
            continue
        promised = _mean(mine, lambda r: r.promised_dollars)
        actual = _mean(mine, lambda r: r.cost_dollars)
        added = len(mine) * (actual - promised) / len(ours)
        yield f"| {name} | {len(mine)} | {promised:.0f} | {actual:.0f} | {added:+.0f} |"


def unknown_lines(ours: Sequence[Record]) -> Iterator[str]:
    """Say how often "none of these" led at the end, rightly and wrongly."""
    played = [r for r in ours if r.end != "danger"]
    inside = [r for r in played if not r.outside]
    wrongly = [r for r in inside if r.leading == NONE_OF_THESE and not r.fixed]
    theirs = [r for r in played if r.outside]
    unfixed = [r for r in theirs if not r.fixed]
    named = [r for r in unfixed if r.leading == NONE_OF_THESE]
    mean = sum(r.other for r in unfixed) / max(len(unfixed), 1)
    shut = sum(r.call_back for r in theirs)
    yield f"a root outside the library was there in {len(theirs)} of {len(played)} calls;"
    yield f"{len(theirs) - len(unfixed)} of them were fixed all the same, by a repair that serves"
    yield "more than one fault, or because another root was to blame. Of the others"
    yield f'({len(unfixed)}) "none of these" led at the end in {len(named)}, with a share of'
    yield f"{mean:.2f} on the mean; {shut} were closed as done and come back. Of the {len(inside)}"
    yield f"with every root in the library, {len(wrongly)} were not fixed with"
    yield '"none of these" in the lead at the end: that is what its protection costs.'


def _mean(records: Sequence[Record], what: Callable[[Record], float]) -> float:
    return float(np.mean([what(r) for r in records]))
