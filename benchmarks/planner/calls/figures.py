"""Figures of many calls: costs of each policy, paired differences, what was promised."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from numpy.typing import NDArray

    from catchpan.diagnosis.rehearsal.record import Record

Key = tuple[str, str, int]
"""Departure, setting and number of a call."""

RESAMPLES: Final = 2000
SEED: Final = 5


@dataclass(frozen=True)
class Figures:
    """What a policy's calls cost.

    Parameters
    ----------
    minutes
        Mean, median, 90th and 99th percentile.
    to_fix
        Mean minutes until it is fixed, with a second visit where the call did not do it.
    dollars
        Mean of parts, and mean of everything with what leaving it unfixed costs.
    trips
        Mean number of changes of place on site.
    wrong_parts, call_backs, never_fixed
        In a hundred calls; a call-back was closed as done, ``never_fixed`` holds those too.
    promised
        Mean of what the first step was said to cost until a proven fix.
    """

    calls: int
    minutes: tuple[float, ...]
    to_fix: float
    parts: float
    dollars: float
    trips: float
    wrong_parts: float
    wrong_tries: float
    call_backs: float
    never_fixed: float
    too_long: float
    promised: float


def figures(records: Sequence[Record]) -> Figures:
    """Return the figures of one policy's calls, at least one."""
    minutes = np.array([r.minutes for r in records])
    return Figures(
        calls=len(records),
        minutes=(
            float(minutes.mean()),
            *(float(np.percentile(minutes, q)) for q in (50, 90, 99)),
        ),
        to_fix=_mean(r.minutes_to_fix for r in records),
        parts=_mean(r.parts_dollars for r in records),
        dollars=_mean(r.cost_dollars for r in records),
        trips=_mean(r.trips for r in records),
        wrong_parts=100.0 * _mean(r.wrong_parts for r in records),
        wrong_tries=100.0 * _mean(r.wrong_tries for r in records),
        call_backs=100.0 * _mean(r.call_back for r in records),
        never_fixed=100.0 * _mean(not r.fixed for r in records),
        too_long=100.0 * _mean(r.end == "too long" for r in records),
        promised=_mean(r.promised_dollars for r in records),
    )


def _mean(values: Iterable[float]) -> float:
    return float(np.mean(list(values)))


Plays = dict[str, dict[Key, "Record"]]
"""Records by policy and call."""


def paired(plays: Plays) -> tuple[Plays, int]:
    """Return the calls that every policy played, and how many were left out for danger.

    A call in which any policy's questions about danger were answered with yes on the phone ends
    there; it is left out for all. A policy that played less than half as many calls as another is
    left out itself.
    """
    most = max(len(found) for found in plays.values())
    plays = {name: found for name, found in plays.items() if 2 * len(found) >= most}
    keys = set.intersection(*(set(found) for found in plays.values()))
    danger = {k for k in keys if any(found[k].end == "danger" for found in plays.values())}
    kept = sorted(keys - danger)
    return {name: {k: found[k] for k in kept} for name, found in plays.items()}, len(danger)


@dataclass(frozen=True)
class Interval:
    """An estimate with the ends of its 95 % bootstrap interval."""

    value: float
    low: float
    high: float

    def text(self, digits: int = 0, unit: str = "") -> str:
        """Return it for a table."""
        shown = [f"{x:.{digits}f}" for x in (self.value, self.low, self.high)]
        return f"{shown[0]}{unit} ({shown[1]} to {shown[2]})"


def ratio(
    ours: Sequence[Record], theirs: Sequence[Record], what: Callable[[Record], float]
) -> Interval:
    """Return the ratio of two means over the same calls, calls drawn anew together."""
    a = np.array([what(r) for r in ours], dtype=np.float64)
    b = np.array([what(r) for r in theirs], dtype=np.float64)
    drawn = np.random.default_rng(SEED).integers(len(a), size=(RESAMPLES, len(a)))
    below = np.maximum(b[drawn].mean(axis=1), 1e-12)
    return _interval(a[drawn].mean(axis=1) / below, a.mean() / max(b.mean(), 1e-12))


def difference(
    ours: Sequence[Record], theirs: Sequence[Record], what: Callable[[Record], float]
) -> Interval:
    """Return the mean of the paired differences, ours less theirs."""
    gap = np.array([what(a) - what(b) for a, b in zip(ours, theirs, strict=True)])
    drawn = np.random.default_rng(SEED).integers(len(gap), size=(RESAMPLES, len(gap)))
    return _interval(gap[drawn].mean(axis=1), gap.mean())


def _interval(resampled: NDArray[np.float64], value: float) -> Interval:
    low, high = np.percentile(resampled, [2.5, 97.5])
    return Interval(float(value), float(low), float(high))
